"""What a hand on a virtual motor feels of two slow stretches: on which of them the shaft shook worse."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import pairwise
from statistics import fmean
from typing import Any

from coilbench.motion.swing import TOLD_APART
from coilbench.motion.trials import ALIKE, BACK_WORSE, OUT_WORSE, Outcome

# How far the shaft had turned and how far it was told to, full steps, at even times.
Felt = Sequence[tuple[float, float]]
_FEEL_S = 1e-3
_BUILDING_UP = 0.3  # of a stretch


@contextmanager
def hand_on(motor: Any) -> Iterator[Felt]:
    """What is felt of a virtual motor (``board.virtual.running_motor``) while it is carried on."""
    felt: list[tuple[float, float]] = []
    run = motor.run

    def felt_run(until_s: float, position: Any, **how: Any) -> list[Any]:
        edges: list[Any] = []
        while motor.time_s < until_s:
            edges += run(min(until_s, motor.time_s + _FEEL_S), position, **how)
            felt.append((motor.full_steps_turned, position(motor.time_s) / motor.drive.microsteps))
        return edges

    motor.run = felt_run
    try:
        yield felt
    finally:
        del motor.run


def felt_worse(felt: Felt) -> Outcome:
    """Out and back by what was ``felt``: the worse one shook more, or stalled."""
    told = [each[1] for each in felt]
    turn = told.index(max(told, key=lambda at: abs(at - told[0])))
    out, back = (_shaken(stretch) for stretch in (felt[: turn + 1], felt[turn:]))
    if math.isclose(out, back, rel_tol=math.expm1(TOLD_APART)):
        return ALIKE
    return OUT_WORSE if out > back else BACK_WORSE


def _shaken(stretch: Felt) -> float:
    """The speed's root mean square about the rate, once it has built up; a stall counts as more than any shaking."""
    moves = [at for at, (one, other) in enumerate(pairwise(stretch)) if one[1] != other[1]]
    if not moves:
        return 0.0
    felt = stretch[moves[0] + round(_BUILDING_UP * (moves[-1] - moves[0])) : moves[-1] + 1]
    turned, told = (felt[-1][which] - felt[0][which] for which in (0, 1))
    if abs(turned - told) > abs(told) / 2:
        return math.inf
    even = told / (len(felt) - 1)
    return math.sqrt(fmean((other[0] - one[0] - even) ** 2 for one, other in pairwise(felt)))
