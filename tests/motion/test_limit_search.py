"""The search for the fastest rate, over 200 motors drawn at random."""

from __future__ import annotations

import itertools
import math
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilbench.motion.limit_search import MOST_TRIALS, Finding, LimitSearch, clean_run_bound
from coilbench.motion.resonance import Band, bands, expected_rates, scan_rates
from coilbench.motion.response import Response, drawn_response

LOWEST, HIGHEST = 50.0, 40_000.0


def searched(motor: Response, seed: int) -> Finding:
    rng = np.random.default_rng(seed)
    search = LimitSearch(LOWEST, HIGHEST)
    while (rate := search.next_rate()) is not None:
        search.add(rate, motor.skips(rate, rng))
    return search.finding()


@cache
def two_hundred() -> list[tuple[Response, Finding]]:
    rng = np.random.default_rng(20)
    motors = [drawn_response(rng) for _ in range(200)]
    return [(motor, searched(motor, seed)) for seed, motor in enumerate(motors)]


def test_the_limit_is_found_within_five_percent_in_at_most_25_moves() -> None:
    errors = [abs(finding.limit_sps / motor.limit_sps - 1) for motor, finding in two_hundred()]
    assert float(np.median(errors)) < 0.05
    assert max(finding.trials for _, finding in two_hundred()) <= MOST_TRIALS


def test_the_interval_holds_the_truth_as_often_as_it_says() -> None:
    held = [finding.low_sps <= motor.limit_sps <= finding.high_sps for motor, finding in two_hundred()]
    assert 0.84 <= float(np.mean(held)) <= 0.96


def test_the_working_rate_is_safe_and_not_timid() -> None:
    shares = np.array([finding.working_sps / motor.limit_sps for motor, finding in two_hundred()])
    assert float(np.mean(shares > 0.95)) <= 0.02
    assert float(np.median(shares)) > 0.70


def test_a_single_misread_outcome_is_outvoted() -> None:
    motor = Response(1000.0, 0.01, misread=0.0)
    rng = np.random.default_rng(1)
    search = LimitSearch(LOWEST, HIGHEST)
    for count in range(MOST_TRIALS):
        rate = search.next_rate()
        if rate is None:
            break
        search.add(rate, motor.skips(rate, rng) != (count == 3))
    assert search.finding().limit_sps == pytest.approx(1000, rel=0.1)


def test_a_motor_that_never_skips_is_reported_as_at_the_edge() -> None:
    search = LimitSearch(50, 2000)
    while (rate := search.next_rate()) is not None:
        search.add(rate, False)
    finding = search.finding()
    assert finding.at_edge and finding.high_sps > 2000 * 0.98
    assert search.next_rate() is None


@given(st.lists(st.tuples(st.floats(50, 40_000), st.booleans()), max_size=25))
@settings(max_examples=30, deadline=None)
def test_any_answers_at_all_leave_sane_numbers(answers: list[tuple[float, bool]]) -> None:
    search = LimitSearch(LOWEST, HIGHEST)
    for rate, skipped in answers:
        search.add(rate, skipped)
    finding = search.finding()
    assert finding.low_sps <= finding.limit_sps <= finding.high_sps
    assert 0 < finding.working_sps < finding.low_sps
    rate_next = search.next_rate()
    assert rate_next is None or LOWEST * 0.999 <= rate_next <= HIGHEST * 1.001
    chances = [chance for _, chance in search.curve_points()]
    assert all(0 <= chance <= 1 for chance in chances)
    assert all(after >= before - 1e-9 for before, after in itertools.pairwise(chances))


def test_an_empty_range_is_refused() -> None:
    with pytest.raises(ValueError):
        LimitSearch(100, 100)


def test_clean_runs_leave_about_three_over_n() -> None:
    # The rule of three (common practice in statistics); exact at n = 1: 1 - 0.05.
    assert clean_run_bound(1) == pytest.approx(0.95)
    for count in (30, 100, 1000):
        assert clean_run_bound(count) == pytest.approx(3 / count, rel=0.06)
    assert clean_run_bound(0) == 1.0


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
