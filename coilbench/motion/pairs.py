"""Whether two motors can share an axis: both have to pull alike at every speed."""

from __future__ import annotations

from dataclasses import dataclass

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


def differences(one: Like, other: Like) -> tuple[str, ...]:
    """What is too different, in words; nothing where they match as far as is known."""
    compared = (
        ("step angle", one.steps_per_turn, other.steps_per_turn, STEP_WITHIN),
        ("resistance", one.ohm, other.ohm, OHM_WITHIN),
        ("inductance", one.henry, other.henry, HENRY_WITHIN),
        ("torque constant", one.newton_metre_per_ampere, other.newton_metre_per_ampere, CONSTANT_WITHIN),
    )
    return tuple(
        f"{what} {abs(a - b) / min(a, b):.0%} apart"
        for what, a, b, within in compared
        if a is not None and b is not None and abs(a - b) > within * min(a, b)
    )


def not_compared(one: Like, other: Like) -> tuple[str, ...]:
    """What nobody measured of both."""
    wanted = (
        ("inductance", one.henry, other.henry),
        ("torque constant", one.newton_metre_per_ampere, other.newton_metre_per_ampere),
    )
    return tuple(what for what, a, b in wanted if a is None or b is None)
