"""What a load leaves of a bare shaft's start, and a rotor's inertia by its size."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

from coilbench.board.virtual.crate import port_motor
from coilbench.motion import rotor
from coilbench.motion.load import PLANNED_SHARE, loaded_start_sps
from coilbench.motion.response import measured
from coilbench.motion.rotor import rotor_guess

ROWS = Path(rotor.__file__).with_name("rotors.csv")


def test_inertia_takes_by_its_root() -> None:
    # f0 / sqrt(1 + JL/J0), makers' catalogues on start-stop rates (from memory): three times the rotor's halves it.
    assert loaded_start_sps(1000, 50e-7, 150e-7) == pytest.approx(500)
    assert loaded_start_sps(1000, 50e-7) == 1000


def test_torque_takes_by_the_root_of_what_is_left() -> None:
    assert loaded_start_sps(1000, 50e-7, 0.0, 0.095, 0.25) == pytest.approx(1000 * math.sqrt(0.24))  # of the half
    assert loaded_start_sps(1000, 50e-7, 0.0, 0.19, 0.25, 1.0) == pytest.approx(1000 * math.sqrt(0.24))
    assert loaded_start_sps(1000, 50e-7, 0.0, 0.13, 0.25) == 0
    assert loaded_start_sps(1000, 50e-7, 0.0, 0.3) == 1000  # nothing to hold it against


def started(motor: str, load: float, flywheel: float) -> float:
    key = ("start", motor, load, flywheel)
    return next(
        each.limit_sps
        for each in measured()
        if (each.question, each.motor, each.load_newton_metre, each.flywheel) == key
    )


def test_the_estimate_stands_near_what_the_physics_does() -> None:
    bare, heavy = started("bench", 0.0, 1.0), started("bench", 0.0, 3.0)
    assert loaded_start_sps(bare, 110e-7, 220e-7) == pytest.approx(heavy, rel=0.1)


@pytest.mark.parametrize(
    ("motor", "load", "flywheel"),
    [("bench", 0.05, 1), ("bench", 0.1, 1), ("turntable", 0.08, 1), ("vent", 0.06, 2), ("tincan", 0.004, 1)],
)
def test_half_to_two_thirds_of_holding_hold_a_loaded_start(motor: str, load: float, flywheel: float) -> None:
    figures = port_motor(motor).running(load_newton_metre=0, flywheel=1, seed=0).body.figures
    low, high = (
        loaded_start_sps(started(motor, 0.0, 1.0), 1.0, flywheel - 1, load, figures.holding_torque_newton_metre, each)
        for each in PLANNED_SHARE
    )
    assert 0.95 * low < started(motor, load, flywheel) < high


def test_sizes_give_the_inertia_of_the_published_rows() -> None:
    rows = list(csv.DictReader(ROWS.read_text(encoding="utf-8").splitlines()))
    assert len(rows) >= 15
    for row in rows:
        guess = rotor_guess(float(row["face_mm"]) / 1000, float(row["length_mm"]) / 1000)
        off = math.log(float(row["inertia_gram_centimetre2"]) * 1e-7 / guess.inertia_kilogram_metre2)
        assert abs(off) < 2.5 * guess.inertia_spread < 0.6


def test_a_motor_left_out_of_the_rows_is_told_by_its_size() -> None:
    # XY42STH60 series sheet (read): a body of 42.3 by 60 mm, 102 g cm2.
    guess = rotor_guess(0.0423, 0.060)
    assert guess.inertia_kilogram_metre2 == pytest.approx(102e-7, rel=0.25)
    assert 200 < guess.swing_hz() < 350 and guess.swing_hz(100) == pytest.approx(guess.swing_hz() * math.sqrt(2))
