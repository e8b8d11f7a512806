"""Torque formulas against data-sheet figures and values worked out from them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from coilbench.motion.pullout import (
    MotorFigures,
    pull_out_torque,
    small_swing_hz,
    speed_rad_s,
    voltage_limited_torque,
)

# TRINAMIC: QMOT QSH4218 motor manual, QSH4218-51-10-049: 0.49 N m, 1.0 A, 5 ohm, 8 mH.
QSH4218 = MotorFigures(0.49, 1.0, 5.0, 8e-3)


def test_constants_of_a_data_sheet_motor() -> None:
    assert QSH4218.torque_constant_newton_metre_per_ampere == pytest.approx(0.34648, abs=1e-5)
    assert QSH4218.flux_linkage_weber == pytest.approx(0.0069296, abs=1e-7)
    assert QSH4218.steps_per_turn == 200


@pytest.mark.parametrize(
    ("rpm", "torque"), [(60, 1.7715), (150, 1.1723), (300, 0.6798), (600, 0.3557), (1000, 0.2157)]
)
def test_voltage_limited_torque(rpm: float, torque: float) -> None:
    # Acarnley's formula worked out for that motor on 24 V (derived).
    made = voltage_limited_torque(QSH4218, np.array([rpm * math.pi / 30]), 24.0)
    assert made[0] == pytest.approx(torque, abs=1e-4)


def test_the_chopper_caps_it_at_low_speed() -> None:
    torque = pull_out_torque(QSH4218, np.array([1.0, 60 * math.pi / 30, 1000 * math.pi / 30]), 24.0)
    assert torque[0] == torque[1] == 0.49
    assert torque[2] == pytest.approx(0.2157, abs=1e-4)
    assert pull_out_torque(QSH4218, np.array([1.0]), 24.0, 0.5)[0] == pytest.approx(0.245)


def test_torque_at_standstill_is_that_of_the_drive_current() -> None:
    # At w -> 0 the formula tends to p psi V / R.
    torque = voltage_limited_torque(QSH4218, np.array([0.0]), 24.0)
    assert torque[0] == pytest.approx(0.34648 * (4 / math.pi * 24) / 5, rel=1e-4)


def test_torque_never_goes_below_zero() -> None:
    weak = MotorFigures(0.49, 1.0, 50.0, 1e-3)
    assert voltage_limited_torque(weak, np.array([500.0]), 2.0)[0] == 0.0


def test_torque_constant_is_the_peak_of_the_back_emf() -> None:
    # QSH manuals: the rms back-EMF of a coil per rad/s is T / (2 I); its peak is sqrt2 of that, and Km times speed.
    assert math.sqrt(2) * 0.49 / (2 * 1.0) == pytest.approx(QSH4218.torque_constant_newton_metre_per_ampere)


def test_small_swings() -> None:
    # 0.49 N m, 82 g cm2 (the same manual's rotor inertia, from memory): about 275 Hz.
    assert small_swing_hz(0.49, 82e-7) == pytest.approx(math.sqrt(50 * 0.49 / 82e-7) / (2 * math.pi))
    assert small_swing_hz(4 * 0.49, 82e-7) == pytest.approx(2 * small_swing_hz(0.49, 82e-7))


def test_speed_of_a_rate() -> None:
    assert speed_rad_s(200, 200) == pytest.approx(2 * math.pi)
