"""The pull-out model against printed curves it was fitted to, one it never saw, and what follows from physics."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilbench.motion.pullout import MotorFigures, pull_out_torque
from coilbench.motion.torque_curve import (
    BACK_EMF_LOSS,
    BAND,
    LOW_SPEED_SHARE,
    Array,
    Curve,
    Drive,
    Several,
    crossing_sps,
    full_current_until,
    pull_out,
    torque_at,
    whole_curve,
)

from .pullout_curves import PrintedCurve, printed_curves

CURVES = printed_curves()
# A measured curve (weak: a tuner's page): Kysan 42BYGH4803, 24 V, 1.5 A, half steps, 2.8 ohm, 4.8 mH, holding
# 5.5 kg cm; rpm and kg cm. The model was not fitted to it.
KYSAN = MotorFigures(5.5 * 0.0980665, 1.5, 2.8, 4.8e-3)
KYSAN_RPM = np.arange(100.0, 1200.0, 100.0)
KYSAN_KG_CM = np.array([3.6, 3.5, 3.4, 3.2, 2.8, 2.4, 1.84, 1.36, 0.88, 0.5, 0.36])
QSH4218 = MotorFigures(0.49, 1.0, 5.0, 8e-3)  # TRINAMIC: QMOT QSH4218 motor manual, QSH4218-51-10-049


def _parts(curve: PrintedCurve) -> tuple[Array, Array]:
    """Ideal torque, and what the loss goes with, taken out of the model's own parts of a curve."""
    made = pull_out(curve.motor, curve.rate_sps, curve.drive).torque
    emf = math.pi / 2 * curve.rate_sps * curve.motor.flux_linkage_weber / curve.drive.supply_volt
    goes_with = emf**2 / curve.motor.holding_torque_newton_metre
    # made = share * ideal / (1 + loss * goes_with * ideal), turned round
    ideal = made / (LOW_SPEED_SHARE - BACK_EMF_LOSS * goes_with * made)
    return ideal, goes_with


def _fit(curves: list[PrintedCurve]) -> tuple[float, float]:
    """The share and the loss with the least mean of log errors over the points of ``curves``, on a grid."""
    ideal, goes_with = (np.concatenate(each) for each in zip(*map(_parts, curves), strict=True))
    printed = np.concatenate([curve.torque for curve in curves])
    share, loss = np.arange(0.70, 0.96, 0.01)[:, None, None], np.arange(0.0, 5.01, 0.1)[None, :, None]
    error = np.abs(np.log(share * ideal / (1 + loss * goes_with * ideal) / printed)).mean(axis=2)
    best = np.unravel_index(int(np.argmin(error)), error.shape)
    return float(share[best[0], 0, 0]), float(loss[0, best[1], 0])


def _made(curve: PrintedCurve, share: float, loss: float) -> Array:
    ideal, goes_with = _parts(curve)
    return share * ideal / (1 + loss * goes_with * ideal)


def test_the_table_is_whole() -> None:
    assert len(CURVES) == 8 and sum(len(curve.torque) for curve in CURVES) == 91


def test_printed_curves_are_met() -> None:
    ratios = np.concatenate([pull_out(c.motor, c.rate_sps, c.drive).torque / c.torque for c in CURVES])
    assert np.median(np.abs(ratios - 1)) < 0.15
    low, high = BAND
    inside = (low * ratios <= 1) & (high * ratios >= 1)
    assert inside.mean() >= 0.9


def test_the_stated_derating_is_the_fitted_one() -> None:
    share, loss = _fit(CURVES)
    assert share == pytest.approx(LOW_SPEED_SHARE, abs=0.015) and loss == pytest.approx(BACK_EMF_LOSS, abs=0.15)


def test_a_motor_that_the_fit_has_not_seen_is_met() -> None:
    low, high = BAND
    errors, inside = [], []
    for name in sorted({curve.name for curve in CURVES}):
        share, loss = _fit([curve for curve in CURVES if curve.name != name])
        for curve in (each for each in CURVES if each.name == name):
            ratio = _made(curve, share, loss) / curve.torque
            errors.append(np.abs(ratio - 1))
            inside.append((low * ratio <= 1) & (high * ratio >= 1))
    assert np.median(np.concatenate(errors)) < 0.20
    assert np.concatenate(inside).mean() >= 0.9


def test_a_measured_curve_of_another_maker_is_met() -> None:
    found = pull_out(KYSAN, KYSAN_RPM / 60 * 200, Drive(24.0, 1.5))
    measured = KYSAN_KG_CM * 0.0980665
    assert np.median(np.abs(found.torque / measured - 1)) < 0.20
    assert ((found.low <= measured) & (measured <= found.high)).mean() >= 0.8


def test_it_stays_under_the_ideal_bound() -> None:
    rates = np.geomspace(20.0, 6000.0, 30)
    bound = pull_out_torque(QSH4218, 2 * math.pi * rates / 200, 24.0)
    assert np.all(pull_out(QSH4218, rates, Drive(24.0, 1.0)).torque <= bound * 1.001)


@pytest.mark.parametrize("microstepping", [False, True])
def test_motors_reckoned_together_pull_as_each_does_and_no_more_than_the_most(microstepping: bool) -> None:
    rng = np.random.default_rng(4)
    holds, currents, ohms = rng.uniform(0.02, 1.5, 60), rng.uniform(0.1, 4.0, 60), np.exp(rng.uniform(-1, 5, 60))
    henries, volts = ohms * rng.uniform(2e-4, 1e-2, 60), rng.choice([5.0, 12.0, 24.0, 48.0], 60)
    motors = map(MotorFigures, holds, currents, ohms, henries)
    drives = map(Drive, volts, currents * rng.uniform(0.3, 1.0, 60), [microstepping] * 60)
    driven = list(zip(motors, drives, strict=True))
    together, rates = Several.of(driven), np.exp(rng.uniform(2, 8.5, 60))
    pulled, most = together.torque(rates), together.at_most(rates)
    assert np.all(pulled <= most + 2e-4 * together.full_newton_metre), (
        "where nothing is left a step in time leaves some"
    )
    there = most > 0
    assert np.median(pulled[there] / most[there]) > 0.75, "which is no idle bound"
    some = np.array([3, 41])
    joined = Several.joined([together.rows(some), together]).torque(np.append(rates[some], rates))
    alone = [torque_at(driven[row][0], float(rates[row]), driven[row][1]) for row in some]
    assert list(joined[:2]) == pytest.approx(alone, rel=1e-9)


def test_creeping_torque_is_the_share_of_the_ideal() -> None:
    # Two square waves of current make 4/pi of what one phase holds, 0.90 of both; a sine makes 0.71 of both.
    full, sine = (torque_at(QSH4218, 4.0, Drive(24.0, 1.0, micro)) for micro in (False, True))
    assert full == pytest.approx(LOW_SPEED_SHARE * 4 / math.pi / math.sqrt(2) * 0.49, rel=0.01)
    assert sine == pytest.approx(LOW_SPEED_SHARE / math.sqrt(2) * 0.49, rel=0.01)


def test_full_current_without_ohms_and_back_emf_is_the_printed_rule() -> None:
    # 200 steps, 4 mH, 1.5 A, 12 V: 6.37 turns a second (weak: a motion hardware maker's wiki); exact: 6.366.
    bare = MotorFigures(1e-9, 1.5, 1e-9, 0.004)
    assert full_current_until(bare, Drive(12.0, 1.5)) / 200 == pytest.approx(6.366, abs=0.001)
    real = replace(bare, holding_torque_newton_metre=0.4, resistance_ohm=2.0)
    assert full_current_until(real, Drive(12.0, 1.5)) < 0.8 * 6.37 * 200


def test_a_supply_under_the_drop_never_brings_the_current() -> None:
    motor = MotorFigures(0.18, 0.283, 48.0, 60e-3)  # 13.6 V at rest
    ends = whole_curve(motor, Drive(12.0, 0.283)).ends
    assert ends.full_current_until_sps == 0.0
    assert ends.at_rest_newton_metre < 0.9 * whole_curve(motor, Drive(24.0, 0.283)).ends.at_rest_newton_metre


def test_half_the_torque_is_left_where_it_says() -> None:
    drive = Drive(24.0, 1.0)
    ends = whole_curve(QSH4218, drive).ends
    assert torque_at(QSH4218, ends.half_torque_sps, drive) == pytest.approx(ends.at_rest_newton_metre / 2, rel=0.02)


def test_halves_overtake_series_where_their_curves_cross() -> None:
    half, series = MotorFigures(0.13, 0.4, 24.0, 15e-3), MotorFigures(0.184, 0.283, 48.0, 60e-3)

    def on(volt: float, motor: MotorFigures) -> Curve:
        return whole_curve(motor, Drive(volt, motor.rated_current_ampere))

    crossing = crossing_sps(on(12.0, half), on(12.0, series))
    assert crossing is not None and 30 < crossing * 60 / 200 < 90
    for times, ahead in ((0.8, False), (1.25, True)):
        pulls = [torque_at(m, times * crossing, Drive(12.0, m.rated_current_ampere)) for m in (half, series)]
        assert (pulls[0] > pulls[1]) is ahead
    assert crossing_sps(on(24.0, series), on(24.0, half)) == 0.0
    weak = replace(half, resistance_ohm=48.0)
    assert crossing_sps(on(12.0, weak), on(12.0, half)) is None


@pytest.mark.parametrize("microstepping", [False, True])
def test_between_the_points_of_a_curve_it_is_exact_enough(microstepping: bool) -> None:
    drive = Drive(24.0, 1.0, microstepping)
    curve = whole_curve(QSH4218, drive)
    for rate in np.geomspace(5.0, 5000.0, 17):
        assert curve.torque_at(rate) == pytest.approx(torque_at(QSH4218, rate, drive), abs=0.01 * 0.49)


@settings(deadline=None, max_examples=40)
@given(
    ohm=st.floats(0.1, 300),
    time_constant=st.floats(1e-4, 2e-2),
    ampere=st.floats(0.02, 8),
    hold=st.floats(0.003, 20),
    supply=st.floats(3, 80),
    teeth=st.sampled_from([6, 12, 50, 100]),
    microstepping=st.booleans(),
)
def test_any_motor_has_a_finite_falling_curve(ohm, time_constant, ampere, hold, supply, teeth, microstepping) -> None:
    motor = MotorFigures(hold, ampere, ohm, ohm * time_constant, teeth)
    found = pull_out(motor, np.geomspace(1.0, 1e5, 40), Drive(supply, ampere, microstepping))
    assert np.all(np.isfinite(found.torque)) and np.all(found.torque >= 0)
    assert np.all(found.torque <= hold)
    assert np.all(np.diff(found.torque) <= 0.02 * hold)
    ends = whole_curve(motor, Drive(supply, ampere, microstepping)).ends
    assert ends.full_current_until_sps >= 0 and ends.half_torque_sps > 0


def test_more_volts_never_pull_less() -> None:
    rates = np.geomspace(50.0, 5000.0, 20)
    made = [pull_out(QSH4218, rates, Drive(volt, 1.0)).torque for volt in (12.0, 24.0, 48.0)]
    assert np.all(made[0] <= made[1] + 1e-4) and np.all(made[1] <= made[2] + 1e-4)
