"""What a motor is worth on an axis: what it pulls and holds there over what is asked of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbench.motion.axis.axis import Axis, Motor

NOTHING_ASKED = 1000.0  # the margin where next to nothing is asked; keeps comparisons and JSON finite


@dataclass(frozen=True, slots=True)
class Asked:
    """What one motor's shaft has to do: a steady rate in full steps a second, a torque for the load at that speed and
    in all while it speeds up, and a torque that it has to hold at rest."""

    rate_sps: float
    steady_newton_metre: float
    total_newton_metre: float
    hold_newton_metre: float


@dataclass(frozen=True, slots=True)
class Proof:
    """What a trial found: up to ``rate_sps`` it ran with ``load_newton_metre`` on its shaft, above it skipped."""

    rate_sps: float
    load_newton_metre: float = 0.0


@dataclass(frozen=True, slots=True)
class Worth:
    """Torque there over torque asked, on the move and at rest; the lesser one is the ``margin``."""

    asked: Asked
    pulls_newton_metre: float
    run: float
    hold: float
    proved: bool | None

    @property
    def margin(self) -> float:
        return min(self.run, self.hold)


def asked_of(axis: Axis, motor: Motor, speed: float, acceleration: float | None) -> Asked:
    """Of one motor of the axis; speed and acceleration along it in metre and second (of a table, in radian)."""
    steady = axis.steady_newton_metre
    on_top = 0.0
    if acceleration is not None:
        rotor = (motor.rotor_inertia_kilogram_metre2 or 0.0) * axis.turns(acceleration) * 2 * math.pi
        on_top = axis.acceleration_newton_metre(acceleration) + rotor
    return Asked(
        rate_sps=axis.turns(speed) * motor.steps_per_turn,
        steady_newton_metre=steady,
        total_newton_metre=steady + on_top,
        hold_newton_metre=max(-axis.back_newton_metre, 0.0),
    )


def worth_of(asked: Asked, modelled_newton_metre: float, holding_newton_metre: float, proof: Proof | None) -> Worth:
    """``modelled_newton_metre`` is the pull-out torque at the rate asked.

    What a trial measured outweighs it: pull-out torque falls with speed, so up to the rate that was run it is at
    least the trial's load, and above at most that.
    """
    pulls, proved = modelled_newton_metre, None
    if proof is not None:
        proved = asked.rate_sps <= proof.rate_sps
        pulls = max(pulls, proof.load_newton_metre) if proved else min(pulls, proof.load_newton_metre)
    return Worth(
        asked=asked,
        pulls_newton_metre=pulls,
        run=_over(pulls, asked.total_newton_metre),
        hold=_over(holding_newton_metre, asked.hold_newton_metre),
        proved=proved,
    )


def _over(there: float, needed: float) -> float:
    if there <= 0:
        return 0.0
    return there / needed if needed * NOTHING_ASKED > there else NOTHING_ASKED
