"""The scan for low-speed resonance, on motors that have it and motors that don't."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from coilbench.errors import InputProblem
from coilbench.motion.pullout import small_swing_hz
from coilbench.motion.resonance import (
    Band,
    ScanPlan,
    bands,
    expected_rates,
    next_scan_trial,
    scan_bands,
    scan_rates,
    swing_from_facts,
    without_resonance,
)
from coilbench.motion.response import Dip, Response
from coilbench.motion.trials import CAME_BACK, CANNOT_TELL, Outcome, Shaft, Trial, off_by


def scanned(plan: ScanPlan, motor: Response, seed: int = 1) -> list[tuple[Trial, Outcome]]:
    rng = np.random.default_rng(seed)
    answers: list[tuple[Trial, Outcome]] = []
    while (trial := next_scan_trial(plan, answers)) is not None:
        answers.append((trial, off_by() if motor.skips(trial.tested, rng) else CAME_BACK))
        assert len(answers) < 100
    return answers


def test_a_narrow_band_is_found_where_the_swing_says() -> None:
    # sqrt(50 * 0.3 / 1.2e-5) / 2 pi: a made-up motor of 0.3 N m with a rotor of 120 g cm2.
    swing_hz = small_swing_hz(0.3, 1.2e-5)
    assert swing_hz == pytest.approx(177.9, abs=0.1)
    motor = Response(2000, 0.02, misread=0, dips=(Dip(swing_hz, 0.06, 1.0),))
    answers = scanned(ScanPlan(highest_sps=800, swing_hz=swing_hz), motor)
    (band,) = scan_bands(answers)
    assert band.low_sps < swing_hz < band.high_sps
    assert band.high_sps / band.low_sps < 1.8
    # Without the hint the twelve rates pass it by: this is why it is worth knowing.
    assert scan_bands(scanned(ScanPlan(highest_sps=800, count=6), motor)) == []


def test_the_swing_comes_from_what_is_known_of_the_motor() -> None:
    assert swing_from_facts(0.3, 1.2e-5, 200) == pytest.approx(small_swing_hz(0.3, 1.2e-5, 50))
    assert swing_from_facts(0.03, 1e-6, 48) == pytest.approx(small_swing_hz(0.03, 1e-6, 12))
    for unknown in ((None, 1.2e-5, 200), (0.3, None, 200), (0.0, 1.2e-5, 200), (0.3, math.nan, 200), (0.3, 1e-5, 0)):
        assert swing_from_facts(*unknown) is None
    assert ScanPlan(swing_hz=swing_from_facts(0.3, None, 200)).rates_sps == ScanPlan().rates_sps


def test_no_band_without_resonance_nor_from_one_misread_flag() -> None:
    assert scan_bands(scanned(ScanPlan(), Response(2000, 0.02, misread=0))) == []
    plan = ScanPlan()
    first = next_scan_trial(plan, [])
    assert first is not None
    answers = [(first, CAME_BACK)]
    second = next_scan_trial(plan, answers)
    assert second is not None and second.tested > first.tested
    answers += [(second, off_by(1))]
    for _ in range(2):
        again = next_scan_trial(plan, answers)
        assert again is not None and again.tested == second.tested
        answers.append((again, CAME_BACK))
    third = next_scan_trial(plan, answers)
    assert third is not None and third.tested > second.tested
    assert scan_bands([*answers, (third, CAME_BACK)]) == []


def test_skips_up_to_the_top_are_the_limit() -> None:
    assert scan_bands(scanned(ScanPlan(highest_sps=400), Response(200, 0.02, misread=0))) == []


def test_skips_far_below_what_holds_tell_nothing_of_the_limit() -> None:
    low = [(150.0, True), (150.0, True), (120.0, False)]
    # One pass above may be a misread flag; two are not, unless it skips there as often.
    assert without_resonance([*low, (500.0, False)]) == [*low, (500.0, False)]
    assert without_resonance([*low, (500.0, False), (500.0, False)]) == [low[2], (500.0, False), (500.0, False)]
    often = [*low, (500.0, False), (500.0, False), (500.0, True), (480.0, True)]
    assert without_resonance(often) == often
    near = [(410.0, True), (500.0, False), (500.0, False)]
    assert without_resonance(near) == near
    assert without_resonance([]) == []


def test_from_standstill_up_a_band_may_begin() -> None:
    answers = scanned(ScanPlan(), Response(2000, 0.01, misread=0, dips=(Dip(20, 0.1, 1.0),)))
    assert scan_bands(answers) == [Band(0.0, ScanPlan().rates_sps[1])]


def test_a_scan_nobody_can_judge_ends() -> None:
    plan = ScanPlan(count=3)
    answers: list[tuple[Trial, Outcome]] = []
    while (trial := next_scan_trial(plan, answers)) is not None:
        answers.append((trial, CANNOT_TELL))
    assert len(answers) == 15
    assert scan_bands(answers) == []


def test_every_move_is_a_start_without_a_ramp_half_a_turn_over() -> None:
    plan = ScanPlan(Shaft(48), 10, 200)
    for trial, _ in scanned(plan, Response(2000, 0.02, misread=0)):
        assert trial.start_rate_sps == trial.run_rate_sps == trial.tested
        assert trial.steps % 48 == 24
    assert plan.rates_sps[0] == 10 and plan.rates_sps[-1] == 200


def test_scans_that_cannot_be() -> None:
    for low, high in ((0.0, 10.0), (100.0, 50.0)):
        with pytest.raises(InputProblem):
            ScanPlan(Shaft(), low, high)


def test_resonance_is_a_band_with_holding_rates_on_both_sides() -> None:
    trials = [(rate, rate in (120.0, 150.0)) for rate in (60.0, 90.0, 120.0, 150.0, 190.0, 300.0)]
    trials += [(2000.0, True)]  # above everything that holds: the limit, no resonance
    assert bands(trials) == [Band(90.0, 190.0)]
    assert bands([]) == []


def test_where_to_look_for_resonance() -> None:
    rates = scan_rates(20, 400)
    assert rates[0] == 20 and rates[-1] == 400 and rates == sorted(rates)
    assert expected_rates(170) == (85, 170)
    assert all(b / a < math.e for a, b in itertools.pairwise(rates))
