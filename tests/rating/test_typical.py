"""What is usual, against the published windings it was taken from."""

from __future__ import annotations

import math
import statistics

import pytest

from coilbench.errors import InputProblem
from coilbench.rating.frames import frame_table
from coilbench.rating.typical import INDUCTANCE_TIMES, usual_holding_torque, usual_inductance

FACES = {frame.name: frame.face_metre for frame in frame_table()}


def _printed(motors):
    names = ("coil_ohm", "inductance_mh", "current_ampere", "step_angle_degree")
    return [row for row in motors if all(row[name] for name in names)]


def test_inductance_of_published_windings(motors):
    ratios = [
        float(row["inductance_mh"])
        / 1000
        / usual_inductance(float(row["coil_ohm"]), FACES.get(row["frame"]), whole_winding=row["drive"] != "unipolar")
        for row in _printed(motors)
    ]
    assert len(ratios) > 40
    assert statistics.median(ratios) == pytest.approx(1.0, abs=0.12)
    inside = [1 / INDUCTANCE_TIMES <= ratio <= INDUCTANCE_TIMES for ratio in ratios]
    assert statistics.mean(inside) >= 0.9


def test_holding_torque_of_published_motors(motors):
    rows = [row for row in _printed(motors) if row["holding_newton_metre"]]
    ratios = [
        float(row["holding_newton_metre"])
        / usual_holding_torque(
            float(row["inductance_mh"]) / 1000,
            float(row["current_ampere"]),
            90 / float(row["step_angle_degree"]),
        )
        for row in rows
    ]
    assert len(ratios) > 35
    assert statistics.median(ratios) == pytest.approx(1.0, abs=0.12)
    assert statistics.mean(1 / 2 <= ratio <= 2 for ratio in ratios) >= 0.85


def test_holding_torque_goes_with_current_and_turns():
    # Four times the inductance at half the current: twice the turns, the same ampere-turns.
    assert usual_holding_torque(0.04, 0.5, 50) == pytest.approx(usual_holding_torque(0.01, 1.0, 50))


@pytest.mark.parametrize("ohm", [0.0, -1.0, math.inf, math.nan])
def test_no_resistance_no_inductance(ohm):
    with pytest.raises(InputProblem):
        usual_inductance(ohm, None, whole_winding=False)
