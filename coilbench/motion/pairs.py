"""Whether two motors can share an axis: both have to pull alike at every speed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

# Two that came off one machine lie within these; data sheets print 10 % on resistance, 20 % on inductance (common
# practice). What one pulls more than the other is lost to the axis, and racks it.
OHM_WITHIN = 0.10
HENRY_WITHIN = 0.20
CONSTANT_WITHIN = 0.10
STEP_WITHIN = 0.001
TOLERANCES = (
    f"resistance within {OHM_WITHIN:.0%}, inductance {HENRY_WITHIN:.0%}, torque constant {CONSTANT_WITHIN:.0%}, the "
    "same step angle"
)


@dataclass(frozen=True, slots=True)
class Like:
    """What has to be alike, per winding as it is driven; None where it wasn't measured."""

    ohm: float
    steps_per_turn: float
    henry: float | None = None
    newton_metre_per_ampere: float | None = None


_COMPARED = (
    ("steps_per_turn", STEP_WITHIN),
    ("ohm", OHM_WITHIN),
    ("henry", HENRY_WITHIN),
    ("newton_metre_per_ampere", CONSTANT_WITHIN),
)


def matching(motors: Sequence[Like]) -> npt.NDArray[np.bool_]:
    """Which of them match which, as far as is known; shape (motors, motors)."""
    match = np.ones((len(motors), len(motors)), dtype=bool)
    for key, within in _COMPARED:
        value = np.array([getattr(each, key) for each in motors], dtype=float)  # None becomes nan: it parts nobody
        one, other = value[:, None], value[None, :]
        match &= ~(np.abs(one - other) > within * np.minimum(one, other))
    return match


def not_compared(one: Like, other: Like) -> tuple[str, ...]:
    """What nobody measured of both."""
    wanted = (
        ("inductance", one.henry, other.henry),
        ("torque constant", one.newton_metre_per_ampere, other.newton_metre_per_ampere),
    )
    return tuple(what for what, a, b in wanted if a is None or b is None)
