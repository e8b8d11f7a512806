"""The virtual motor against closed formulas, and against what makes a stepper motor one."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from coilbench.board.virtual.crate import port_motor
from coilbench.board.virtual.demo_motors import DEMO_MOTORS
from coilbench.board.virtual.mechanics import ChopperDrive, MotorBody
from coilbench.board.virtual.port_motors import PORT_MOTORS
from coilbench.board.virtual.running_motor import TIME_STEP_S, RunningMotor
from coilbench.motion.pullout import MotorFigures, pull_out_torque, small_swing_hz, speed_rad_s
from coilbench.motion.ramp import plan_move

# TRINAMIC: QMOT QSH4218 motor manual, QSH4218-51-10-049: 0.49 N m, 1.0 A, 5 ohm, 8 mH;
# inertia 82 g cm2 (from memory).
QSH4218 = MotorFigures(0.49, 1.0, 5.0, 8e-3)
IDEAL = MotorBody(QSH4218, 82e-7)


def moved(motor: RunningMotor, steps: int, start: float, run: float, gain: float) -> float:
    """Full steps that the rotor is short of ``steps`` after a move and a rest."""
    profile = plan_move(steps, start, run, gain)
    began = motor.time_s
    motor.run(began + profile.duration_s, lambda now: int(profile.position_at(now - began) + 1e-6))
    motor.run(motor.time_s + 0.5, lambda now: steps)
    return steps - motor.full_steps_turned


def test_small_swings_have_the_frequency_of_the_formula() -> None:
    motor = RunningMotor(IDEAL, ChopperDrive(24.0, 1.0))
    motor.run(0.02, lambda now: 0)
    motor.angle_rad += 0.002
    crossings, before = [], motor.full_steps_turned
    while motor.time_s < 0.2:
        motor.run(motor.time_s + TIME_STEP_S / 2, lambda now: 0)
        after = motor.full_steps_turned
        if before < 0 <= after:
            crossings.append(motor.time_s)
        before = after
    measured = (len(crossings) - 1) / (crossings[-1] - crossings[0])
    assert measured == pytest.approx(small_swing_hz(0.49, 82e-7), rel=0.02)


def test_holding_torque_is_what_the_plate_says() -> None:
    def holds(torque: float) -> bool:
        body = dataclasses.replace(IDEAL, damping_newton_metre_second=5e-3)
        motor = RunningMotor(body, ChopperDrive(24.0, 1.0))
        for part in range(1, 41):  # laid on slowly, so that it doesn't swing over
            motor.body = dataclasses.replace(body, load_newton_metre=torque * part / 40)
            motor.run(motor.time_s + 0.02, lambda now: 0)
        return abs(motor.full_steps_turned) < 1.1

    assert holds(0.97 * 0.49) and not holds(1.03 * 0.49)


def test_detent_holds_a_motor_without_current() -> None:
    detent = dataclasses.replace(
        IDEAL, detent_newton_metre=0.02, damping_newton_metre_second=1e-2, load_newton_metre=0.01
    )
    motor = RunningMotor(detent, ChopperDrive(24.0, 1.0))
    motor.run(0.5, lambda now: 0, powered=False)
    assert abs(motor.full_steps_turned) < 1.1
    motor.body = dataclasses.replace(detent, load_newton_metre=0.03)
    motor.run(1.0, lambda now: 0, powered=False)
    assert abs(motor.full_steps_turned) > 4


@pytest.mark.parametrize(
    ("rpm", "damping", "flywheel"), [(60, 1e-4, 8), (300, 1e-3, 2), (600, 1e-3, 2), (1000, 1e-3, 2)]
)
def test_pull_out_torque_agrees_with_the_formula(rpm: float, damping: float, flywheel: float) -> None:
    """Acarnley's formula bounds the motor's pull-out from above, and closely where the voltage is the limit.

    Where current is, full steps give 2 sqrt2 / pi = 0.90 of the holding torque on average.
    """
    rate = rpm / 60 * 200
    speed = speed_rad_s(rate, 200)
    formula = float(pull_out_torque(QSH4218, np.array([speed]), 24.0)[0])

    def pulls(torque: float) -> bool:
        # Flywheel and damping keep full-step resonance out of it; what the damping takes is no load.
        body = MotorBody(QSH4218, flywheel * 82e-7, damping_newton_metre_second=damping)
        motor = RunningMotor(body, ChopperDrive(24.0, 1.0))
        profile = plan_move(round(rate * 1.5) + 5000, 150, rate, 3000)
        ramp_s = profile.segments[0].duration_s
        motor.run(ramp_s + 0.05, lambda now: int(profile.position_at(now)))
        for part in range(1, 21):  # the load comes on slowly
            load = (torque - damping * speed) * part / 20
            motor.body = dataclasses.replace(body, load_newton_metre=load)
            motor.run(motor.time_s + 0.02, lambda now: int(profile.position_at(now)))
        motor.run(motor.time_s + 0.1, lambda now: int(profile.position_at(now)))
        return abs(profile.position_at(motor.time_s) - motor.full_steps_turned) < 4

    assert pulls(0.8 * formula)
    assert not pulls(1.02 * formula)


@pytest.mark.parametrize("name", [motor.name for motor in PORT_MOTORS])
def test_losses_come_in_whole_electrical_cycles(name: str) -> None:
    for rate in (900, 1300, 2000):
        lost = moved(port_motor(name).running(), 150, rate, rate, 1000)
        assert abs(lost - 4 * round(lost / 4)) < 0.5


@pytest.mark.parametrize("name", [motor.name for motor in PORT_MOTORS])
def test_a_slow_turn_loses_nothing(name: str) -> None:
    motor = port_motor(name).running()
    steps = motor.body.figures.steps_per_turn
    assert abs(moved(motor, steps, 50, 50, 500)) < 0.5


def test_a_ramp_reaches_what_a_start_without_one_does_not() -> None:
    assert moved(port_motor("bench").running(), 500, 2000, 2000, 1000) > 100
    assert abs(moved(port_motor("bench").running(), 1500, 400, 2000, 5000)) < 0.5


def test_resonance_skips_below_a_rate_that_holds() -> None:
    body = dataclasses.replace(port_motor("bench").running().body, damping_newton_metre_second=3e-4)
    lost = {
        rate: abs(moved(RunningMotor(body, ChopperDrive(12.0, 1.2)), 300, rate, rate, 1000))
        for rate in (60, 150, 400)
    }
    swing = small_swing_hz(body.figures.holding_torque_newton_metre, body.inertia_kilogram_metre2)
    assert 0.8 * swing < 150 < 1.2 * swing
    assert lost[60] < 1 and lost[150] > 1 and lost[400] < 1


def test_microsteps_turn_the_shaft_by_their_share() -> None:
    motor = port_motor("bench").running(microsteps=8)
    profile = plan_move(800, 400, 400, 1000)
    motor.run(profile.duration_s, lambda now: int(profile.position_at(now) + 1e-6))
    motor.run(motor.time_s + 0.5, lambda now: 800)
    assert motor.full_steps_turned == pytest.approx(100 - 0.5, abs=0.6)


def test_the_flag_passes_once_a_turn_at_its_place() -> None:
    motor = port_motor("bench").running()
    profile = plan_move(400, 60, 60, 1000)
    edges = motor.run(profile.duration_s, lambda now: int(profile.position_at(now) + 1e-6))
    # A rotor that rings at slow full steps makes the sensor chatter at either end of the flag, five steps wide.
    falls = [edge.position for edge in edges if edge.level == 0]
    place = motor.flag_rad / (2 * math.pi) * 200
    assert abs(falls[0] - place) <= 2
    assert all(-2 <= (fall - place + 100) % 200 - 100 <= 7 for fall in falls)
    assert {round((fall - place) / 200) for fall in falls} == {0, 1}


def test_what_can_not_be_had() -> None:
    with pytest.raises(ValueError, match="no virtual motor"):
        port_motor("warp")
    with pytest.raises(ValueError, match="no mechanics"):
        DEMO_MOTORS[0].running()
    with pytest.raises(ValueError, match="microsteps"):
        port_motor("bench").running(microsteps=0)
