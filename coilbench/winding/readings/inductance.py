"""What rising currents tell: inductances between leads, what they come to for the coils of a motor, and kicks."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple, Protocol

KickAnswer = Literal["plus", "minus", "none", "unsure"]

IRON_SD = 0.075  # ``readings.rise`` has where it comes from
_TOGETHER = (1.5, 2.3)  # what two ends of one phase have, to two of different phases: 2, less what leaks
_ALIKE = 0.25  # of these, for all that the phases have of each other


@dataclass(frozen=True)
class Timed:
    """The inductance between two leads. ``jig_sd`` is what the jig doesn't know, ``henry_sd`` that and the iron."""

    a: str
    b: str
    henry: float
    jig_sd: float

    @property
    def henry_sd(self) -> float:
        return math.hypot(self.jig_sd, IRON_SD * self.henry)


@dataclass(frozen=True)
class NotTimed:
    """Two leads whose inductance the jig can't tell, and why."""

    a: str
    b: str
    why: str


@dataclass(frozen=True)
class Kick:
    """What the half that starts with ``reference`` does to that which starts with ``touched``: ``plus`` where current
    into the one makes the other positive, too. Of five leads the halves are those from the common."""

    reference: str
    touched: str
    answer: KickAnswer


class Between(Protocol):
    """An inductance between two leads."""

    @property
    def a(self) -> str: ...

    @property
    def b(self) -> str: ...

    @property
    def henry(self) -> float: ...

    @property
    def henry_sd(self) -> float: ...


class Inductance(NamedTuple):
    """Henry, and how well it is known."""

    henry: float
    sd: float


def of_coils(
    coils: Sequence[tuple[str, str]], common: str | None, found: Iterable[Between]
) -> dict[tuple[str, str], Inductance]:
    """The inductance of each coil, by its ends, as far as it is told; with a ``common`` they are those from it."""
    between = {frozenset((one.a, one.b)): one for one in found}
    if common is not None:
        half = _half_of_five([a if b == common else b for a, b in coils], between)
        return {} if half is None else dict.fromkeys(coils, half)
    told = {ends: between[frozenset(ends)] for ends in coils if frozenset(ends) in between}
    return {ends: Inductance(one.henry, one.henry_sd) for ends, one in told.items()}


def _half_of_five(ends: Sequence[str], between: Mapping[frozenset[str], Between]) -> Inductance | None:
    """One of four half-windings that meet in a common lead: two of different phases have the inductance of both."""
    found = apart_and_together([one for pair, one in between.items() if pair <= set(ends)])
    if found is None:
        return None
    apart, _ = found
    return Inductance(sum(one.henry for one in apart) / 8, sum(one.henry_sd for one in apart) / 8)


def apart_and_together(pairs: Sequence[Between]) -> tuple[Sequence[Between], Sequence[Between]] | None:
    """Of the six pairs of four ends that meet in a common lead: four of two phases, and two of one phase each,
    whose halves share their flux. None where these are no such six."""
    ranked = sorted(pairs, key=lambda one: one.henry)
    apart, together = ranked[:4], ranked[4:]
    if len(pairs) != 6 or len({end for one in together for end in (one.a, one.b)}) != 4:
        return None
    mean = sum(one.henry for one in apart) / 4
    alike = all(abs(one.henry / mean - 1) < _ALIKE for one in apart)
    shared = all(_TOGETHER[0] <= one.henry / mean <= _TOGETHER[1] for one in together)
    return (apart, together) if alike and shared else None
