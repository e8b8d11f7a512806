"""An axis keeps the balance of energy, whatever it is made of."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from coilbench.motion.axis.axis import Axis, Load, Motor, move_seconds
from coilbench.motion.axis.screw import Screw
from coilbench.motion.axis.shaft_limits import ENDS, shaft_limits
from coilbench.motion.axis.wheel import Wheel

frictions = st.floats(0.0, 0.3)
loads = st.floats(0.1, 5000.0)
shares = st.floats(0.05, 1.0)


@st.composite
def screws(draw: st.DrawFn) -> Screw:
    diameter = draw(st.floats(0.003, 0.06))
    return Screw(
        diameter, draw(st.floats(0.02, 1.0)) * diameter, draw(frictions), draw(st.sampled_from((0.0, 15.0, 30.0)))
    )


@given(screws(), loads)
def test_without_friction_what_goes_in_comes_out(screw: Screw, load: float) -> None:
    free = Screw(screw.pitch_diameter_metre, screw.lead_metre, 0.0, screw.half_angle_degree)
    assert free.torque(load) * 2 * math.pi == approx(load * screw.lead_metre)
    assert free.torque_back(load) == approx(-free.torque(load))


@given(screws(), loads)
def test_a_thread_that_holds_is_less_than_half_efficient(screw: Screw, load: float) -> None:
    efficiency = load * screw.lead_metre / (2 * math.pi * screw.thread_torque(load))
    assert 0 < efficiency <= 1 + 1e-9
    assert screw.holds_itself == (screw.thread_torque_back(load) > 0)
    if screw.holds_itself:
        assert efficiency < 0.5


@given(screws(), loads, shares, st.floats(0.2, 50.0), st.integers(1, 3))
def test_force_and_torque_go_both_ways(screw: Screw, load: float, share: float, gear: float, motors: int) -> None:
    axis = Axis(screw, Load(force_newton=load), gear, share, 0.01, motors)
    assert axis.force_at(axis.steady_newton_metre) == approx(load)


@given(st.floats(0.0, 90.0), frictions, st.floats(0.01, 100.0))
def test_up_costs_the_weight_and_the_friction_down_gives_the_rest_back(angle: float, mu: float, mass: float) -> None:
    load = Load(mass_kilogram=mass, friction=mu, incline_degree=angle)
    weight = mass * 9.80665
    assert load.against_newton + load.back_newton == approx(
        2 * weight * math.sin(math.radians(angle)), abs=1e-9 * mass
    )
    assert load.against_newton - load.back_newton == approx(2 * mu * weight * math.cos(math.radians(angle)), abs=1e-9)


@given(st.floats(0.01, 10.0), st.floats(0.005, 0.2), st.floats(0.01, 10.0))
def test_a_mass_on_a_wheel_is_its_inertia(mass: float, diameter: float, acceleration: float) -> None:
    axis = Axis(Wheel(diameter), Load(mass_kilogram=mass))
    assert axis.inertia_kilogram_metre2 == approx(mass * diameter**2 / 4)
    turning = axis.turns(acceleration) * 2 * math.pi
    assert axis.acceleration_newton_metre(acceleration) == approx(axis.inertia_kilogram_metre2 * turning)


@given(st.floats(0.001, 1.0), st.floats(0.001, 1.0), st.floats(0.001, 10.0))
def test_a_move_covers_its_distance(distance: float, speed: float, acceleration: float) -> None:
    seconds, ramp = move_seconds(distance, speed, acceleration)
    top = ramp * acceleration
    assert top <= speed * (1 + 1e-9)
    assert top * (seconds - ramp) == approx(distance)


def test_more_than_it_holds_slips() -> None:
    motor = Motor(holding_newton_metre=0.2)
    assert motor.load_angle_steps(0.2) == approx(1.0) and motor.load_angle_steps(0.201) == math.inf


def test_the_printed_speed_factors_are_those_of_a_steel_beam() -> None:
    # First bending frequencies of a uniform beam, (beta L)^2, Blevins: Formulas for Natural Frequency and Mode Shape,
    # table 8-1 (from memory); E 206 GPa, 7850 kg/m3, 0.8 of it.
    for ends, beta in zip(ENDS, (1.8751, math.pi, 3.9266, 4.7300), strict=True):
        root, length = 0.010, 0.5
        hertz = beta**2 / (2 * math.pi * length**2) * root / 4 * math.sqrt(206e9 / 7850)
        assert shaft_limits(root, length, ends).critical_rpm == approx(0.8 * 60 * hertz, rel=0.015)


def test_the_printed_push_factors_are_half_of_euler_s() -> None:
    # Euler's load with the end factors 0.25, 1, 2, 4 and E 206 GPa; the print rounds 1.25 to 1.3.
    for ends, factor in zip(ENDS, (0.25, 1, 2, 4), strict=True):
        root, length = 0.010, 0.5
        euler = factor * math.pi**2 * 206e9 * math.pi * root**4 / 64 / length**2
        assert shaft_limits(root, length, ends).buckling_newton == approx(0.5 * euler, rel=0.045)
