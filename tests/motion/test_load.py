"""What a load leaves of a bare shaft's start, and a rotor's inertia by its size."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

from coilbench.motion import rotor
from coilbench.motion.load import loaded_start_sps
from coilbench.motion.response import measured
from coilbench.motion.rotor import rotor_guess

ROWS = Path(rotor.__file__).with_name("rotors.csv")


def test_inertia_takes_by_its_root() -> None:
    # f0 / sqrt(1 + JL/J0), makers' catalogues on start-stop rates (from memory): three times the rotor's halves it.
    assert loaded_start_sps(1000, 50e-7, 150e-7) == pytest.approx(500)
    assert loaded_start_sps(1000, 50e-7) == 1000


def test_torque_takes_by_the_root_of_what_is_left() -> None:
    assert loaded_start_sps(1000, 50e-7, 0.0, 0.19, 0.25) == pytest.approx(1000 * math.sqrt(0.24))
    assert loaded_start_sps(1000, 50e-7, 0.0, 0.3, 0.25) == 0
    assert loaded_start_sps(1000, 50e-7, 0.0, 0.3) == 1000  # nothing to hold it against


def test_the_estimate_stands_near_what_the_physics_does() -> None:
    bare, heavy = (
        next(each.limit_sps for each in measured() if (each.question, each.motor, each.flywheel) == key)
        for key in (("start", "bench", 1.0), ("start", "bench", 3.0))
    )
    assert loaded_start_sps(bare, 110e-7, 220e-7) == pytest.approx(heavy, rel=0.1)


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
