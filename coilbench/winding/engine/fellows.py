"""Sets of a loom beside their fellows: a coil with shorted turns, and what is no coil of this motor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from coilbench.winding.engine.catalogue import UNKNOWN
from coilbench.winding.engine.verdict import Verdict
from coilbench.winding.readings.reading import Reading
from coilbench.winding.readings.repeats import agree

_ALIKE = 0.14  # coils of one motor, drift between the readings included, are no further apart
_LEAST_LEFT = 0.25  # what shorted turns leave of a coil at the least: below, it is something else's


@dataclass(frozen=True)
class Odd:
    """A set unlike its fellows: its resistance as a share of theirs (None: it is like nothing known), and the pair to
    be taken again before that is believed."""

    part: Verdict
    share: float | None
    again: tuple[str, str] | None

    @property
    def shorted(self) -> bool:
        return self.share is not None and _LEAST_LEFT < self.share < 1


def odd_ones(parts: Sequence[Verdict], readings: Sequence[Reading]) -> tuple[Odd, ...]:
    """At most one of at least three alike that differs from all others, and the sets that are nothing known."""
    strange = [Odd(part, None, None) for part in parts if part.arrangement == UNKNOWN]
    kinds: dict[tuple[str, int], list[Verdict]] = {}
    for part in parts:
        if part.arrangement != UNKNOWN and part.coils and part.coils[0].ohm is not None:
            kinds.setdefault((part.arrangement, len(part.leads)), []).append(part)
    for alike in kinds.values():
        if len(alike) < 3:
            continue
        usual = median(_ohm(part) for part in alike)
        unlike = [part for part in alike if abs(_ohm(part) - usual) > _ALIKE * usual + 0.25]
        if len(unlike) == 1:
            strange.append(Odd(unlike[0], _ohm(unlike[0]) / usual, _once(unlike[0], readings)))
    return tuple(strange)


def _ohm(part: Verdict) -> float:
    return part.coils[0].ohm or 0.0


def _once(part: Verdict, readings: Sequence[Reading]) -> tuple[str, str] | None:
    """The pair across the coil, if no two readings of it agree."""
    ends = part.coils[0].ends
    values = [reading.ohm for reading in readings if {reading.a, reading.b} == set(ends)]
    twice = any(agree(one, other) for k, one in enumerate(values) for other in values[k + 1 :])
    return None if twice or len(values) > 3 else ends
