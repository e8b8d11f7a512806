"""What a motor is worth on an axis."""

from __future__ import annotations

import math

import numpy as np
import pytest

from coilbench.motion.axis.axis import Axis, Load, Motor
from coilbench.motion.axis.fit import Asked, Asking, Proof, Shafts, Worth, Worths
from coilbench.motion.axis.screw import Screw
from coilbench.motion.axis.wheel import Wheel

LIFT = Load(mass_kilogram=2.0, incline_degree=90)
ASKING = Asking(2.5, steady_newton_metre=0.08, on_top_newton_metre=0.02, shaft_rad_per_s2=0.0, hold_newton_metre=0.05)


def worth_of(asking: Asking, pulls: float, motor: Motor, proof: Proof | None = None) -> Worth:
    """Of one motor, with one beside it that is worth nothing."""
    worths, modelled = Worths(asking, Shafts.of([(motor, proof), (Motor(), None)])), np.array([pulls, 0.0])
    found = worths.of(0, modelled)
    assert list(worths.margins(modelled)) == [found.margin, 0.0]
    return found


def asked_of(axis: Axis, motor: Motor, speed: float, acceleration: float | None) -> Asked:
    return worth_of(Asking.of(axis, speed, acceleration), 1.0, motor).asked


def holding(newton_metre: float) -> Motor:
    return Motor(holding_newton_metre=newton_metre)


def test_a_drum_that_lifts_has_to_be_held() -> None:
    axis, motor = Axis(Wheel(0.02), LIFT), Motor(rotor_inertia_kilogram_metre2=5e-6)
    found = asked_of(axis, motor, 0.1, 1.0)
    weight = 2.0 * 9.80665
    assert found.steady_newton_metre == pytest.approx(weight * 0.01)
    assert found.hold_newton_metre == pytest.approx(weight * 0.01)
    assert found.rate_sps == pytest.approx(200 * 0.1 / (math.pi * 0.02))
    # The mass and the rotor: (m a) r + J a / r.
    assert found.total_newton_metre == pytest.approx(weight * 0.01 + 2.0 * 0.01 + 5e-6 / 0.01)


def test_a_thread_that_holds_asks_for_no_holding() -> None:
    rod = Axis(Screw(0.007188, 0.00125, 0.2, 30.0), LIFT)
    assert asked_of(rod, Motor(), 0.005, None).hold_newton_metre == 0.0


def test_two_motors_share_the_work() -> None:
    one, two = (asked_of(Axis(Wheel(0.02), LIFT, motors=count), Motor(), 0.1, None) for count in (1, 2))
    assert two.steady_newton_metre == pytest.approx(one.steady_newton_metre / 2)


def test_the_lesser_of_pull_and_hold_counts() -> None:
    assert worth_of(ASKING, 0.3, holding(0.4)).margin == pytest.approx(3.0)
    assert worth_of(ASKING, 0.3, holding(0.1)).margin == pytest.approx(2.0)
    idle = Asking(0.05, 0.0, 0.0, 0.0, 0.0)
    assert worth_of(idle, 0.3, holding(0.3)).margin > 100 and worth_of(idle, 0.0, holding(0.3)).margin == 0.0


@pytest.mark.parametrize(
    ("proof", "pulls", "proved"),
    [
        (None, 0.3, None),
        (Proof(800), 0.3, True),  # a bare shaft's run says that the rate can be run, and nothing of torque
        (Proof(800, 0.35), 0.35, True),
        (Proof(800, 0.2), 0.3, True),
        (Proof(400, 0.2), 0.2, False),
        (Proof(400), 0.0, False),  # above what the bare shaft ran nothing is left
        (Proof(400, 0.5), 0.3, False),
    ],
)
def test_what_a_trial_measured_outweighs_the_model(proof: Proof | None, pulls: float, proved: bool | None) -> None:
    found = worth_of(ASKING, 0.3, holding(0.4), proof)
    assert (found.pulls_newton_metre, found.proved) == (pulls, proved)
