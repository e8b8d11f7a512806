"""Spun shafts, counted steps and time constants."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.errors import InputProblem
from coilbench.rating.spin import (
    cycle_hertz,
    drill_limit_rev_per_minute,
    inductance_from_time_constant,
    judge_spin,
    step_angle_from_count,
)


# Peak rotation voltage sqrt(2) pi T n / I, with these figures (weak: a motion hardware maker's wiki); the relation is
# that of the manuals below.
@pytest.mark.parametrize(("torque", "turns", "ampere", "peak"), [(0.44, 8.7, 1.68, 10.1), (0.55, 5.0, 1.68, 7.3)])
def test_printed_rotation_voltages(torque, turns, ampere, peak):
    spin = judge_spin(peak / math.sqrt(2), 1.8, shaft_rev_per_second=turns)
    assert spin.holding_torque(ampere) == pytest.approx(torque, rel=0.01)


def test_printed_rms_constant_of_a_unit_motor():
    # TRINAMIC: QMOT QSH4218 and QSH5718 motor manuals, back-EMF: RMS constant is holding torque over twice the
    # current; 1 N.m/A is shown as 6.28 V at one turn a second.
    spin = judge_spin(2 * math.pi, 1.8, shaft_rev_per_second=1.0)
    assert spin.back_emf_rms == pytest.approx(1.0)
    assert spin.holding_torque(1.0) / 2 == pytest.approx(spin.back_emf_rms)


def test_holding_torque_of_a_data_sheet_motor():
    # TRINAMIC: QMOT QSH4218 motor manual, QSH4218-51-10-049: 0.49 N.m at 1 A, two phases on:
    # 0.34648 N.m/A, exact value of the relation.
    spun = judge_spin(0.34648 / math.sqrt(2) * 2 * math.pi, 1.8, shaft_rev_per_second=1.0)
    assert spun.torque_constant == pytest.approx(0.34648)
    assert spun.holding_torque(1.0) == pytest.approx(0.49, abs=1e-4)


def test_meter_range_ends_at_a_drill_speed():
    assert drill_limit_rev_per_minute(1.8, 400) == pytest.approx(480)
    assert drill_limit_rev_per_minute(7.5, 400) == pytest.approx(2000)


@given(volts=st.floats(0.1, 100), hertz=st.floats(1, 1000), angle=st.sampled_from([0.9, 1.8, 3.75, 7.5, 18.0]))
def test_frequency_and_drill_speed_say_the_same(volts, hertz, angle):
    by_meter = judge_spin(volts, angle, hertz=hertz)
    by_drill = judge_spin(volts, angle, shaft_rev_per_second=by_meter.shaft_rev_per_second)
    assert by_drill.torque_constant == pytest.approx(by_meter.torque_constant)
    assert cycle_hertz(by_meter.shaft_rev_per_second, angle) == pytest.approx(hertz)


def test_the_doubt_goes_with_how_the_speed_was_told():
    by_meter, by_drill = judge_spin(7, 1.8, hertz=300), judge_spin(7, 1.8, shaft_rev_per_second=6)
    assert 0.01 < by_meter.doubt < 0.05 < by_drill.doubt
    assert by_meter.torque_doubt > 0.1 and not by_meter.notes


def test_volts_beyond_the_meters_range_are_not_believed():
    for spun in (judge_spin(7, 1.8, hertz=2000), judge_spin(7, 1.8, shaft_rev_per_second=40)):
        assert spun.doubt > 0.4
        assert "2000 Hz is beyond the 400 Hz" in spun.notes[0] and "480 rpm" in spun.notes[0]
    assert not judge_spin(7, 1.8, hertz=2000, limit_hertz=20_000).notes
    slow = judge_spin(0.3, 1.8, hertz=5)
    assert slow.doubt > 0.4 and "5 Hz is under the 40 Hz" in slow.notes[0] and "over 48 rpm" in slow.notes[0]


@pytest.mark.parametrize(
    ("volts", "hertz", "turns"), [(0, 50, None), (-1, 50, None), (5, 0, None), (5, None, None), (5, 50, 1)]
)
def test_spins_that_say_nothing(volts, hertz, turns):
    with pytest.raises(InputProblem):
        judge_spin(volts, 1.8, hertz, turns)


# MOONS': catalogue, p. A-13: 0.9, 1.8, 3.6 and 3.75 degrees; Jameco: catalogue C111, page 113 (weak): 7.5; 15 and 18
# on makers' sheets of PFC25-24D1G and 8PM020S1. Steps are 360 over the angle.
@pytest.mark.parametrize(
    ("steps", "angle"), [(400, 0.9), (200, 1.8), (100, 3.6), (96, 3.75), (48, 7.5), (24, 15.0), (20, 18.0)]
)
def test_counts_of_usual_motors(steps, angle):
    assert step_angle_from_count(steps) == (angle, ())


def test_a_miscount_is_taken_for_the_nearest_and_said():
    angle, notes = step_angle_from_count(199)
    assert angle == 1.8
    assert notes
    angle, notes = step_angle_from_count(1999, 10)
    assert angle == 1.8
    angle, notes = step_angle_from_count(150)
    assert angle == pytest.approx(2.4)
    assert "no usual" in notes[0]


@pytest.mark.parametrize(("steps", "turns"), [(0, 1), (3, 1), (200, 0), (100000, 1)])
def test_counts_no_motor_has(steps, turns):
    with pytest.raises(InputProblem):
        step_angle_from_count(steps, turns)


def test_inductance_from_a_time_constant():
    assert inductance_from_time_constant(2e-3, 1.6) == pytest.approx(3.2e-3)
    with pytest.raises(InputProblem):
        inductance_from_time_constant(0, 1)
