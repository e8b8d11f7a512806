"""Ten motors of physics that vary from move to move: searched in full, and held against the table made of them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from coilbench.motion.response import Measured, measured
from coilbench.motion.search import SearchSummary, begin, next_trial, record, summary
from coilbench.motion.trials import Trial
from tests.board import calibrate
from tests.board.ten_motors import TEN, Loaded

# A loaded hybrid, one with something leaning on its shaft and a flywheel, a tin can.
THREE = (Loaded("turntable", 0.08, 1.0), Loaded("vent", 0.06, 2.0), Loaded("tincan", 0.0, 1.0))


def searched(truth: Measured, seed: int) -> SearchSummary:
    """A search by whole trials, the flag seen after each."""
    loaded = Loaded(truth.motor, truth.load_newton_metre, truth.flywheel)
    bench = calibrate.Bench(loaded, seed)
    state = begin(calibrate.plan_for(loaded, truth.question, truth.start_rate_sps))
    while isinstance(trial := next_trial(state), Trial):
        state = record(state, trial, bench.outcome(trial))
    return summary(state)


def searches(motors: tuple[Loaded, ...], question: str) -> list[tuple[Measured, SearchSummary]]:
    """What was measured of each motor in many trials, and what a search finds."""
    truths = [each for each in measured() if each.question == question]
    chosen = [
        (truth, seed)
        for seed, truth in enumerate(truths, 1)
        if Loaded(truth.motor, truth.load_newton_metre, truth.flywheel) in motors
    ]
    assert len(chosen) == len(motors)
    return [(truth, searched(truth, seed)) for truth, seed in chosen]


@pytest.mark.parametrize(
    ("motors", "fewest_held"),
    [
        # Nine of ten on average; fewer come about once in sixty and ninety times (binomial).
        pytest.param(THREE, 4, id="three", marks=pytest.mark.long("more")),
        pytest.param(TEN, 15, id="ten", marks=pytest.mark.long("physics")),
    ],
)
def test_motors_in_full(motors: tuple[Loaded, ...], fewest_held: int) -> None:
    pairs = searches(motors, "start") + searches(motors, "run")
    assert max(found.moves for _, found in pairs) <= 25
    errors = [abs(found.limit_sps / truth.limit_sps - 1) for truth, found in pairs]
    assert float(np.median(errors)) < 0.05 and max(errors) < 0.15
    held = [found.interval_sps[0] <= truth.limit_sps <= found.interval_sps[1] for truth, found in pairs]
    assert sum(held) >= fewest_held
    shares = [(found.working_sps or 0) / truth.limit_sps for truth, found in pairs]
    assert min(shares) > 0.5 and max(shares) < 0.95


@pytest.mark.parametrize(
    ("question", "motor", "load", "flywheel"),
    [
        ("start", "bench", 0.0, 1.0),
        pytest.param("run", "vent", 0.06, 2.0, marks=pytest.mark.long("physics")),
        pytest.param("run", "tincan", 0.004, 1.0, marks=pytest.mark.long("physics")),
    ],
)
def test_the_table_is_of_this_physics(question: str, motor: str, load: float, flywheel: float) -> None:
    loaded = Loaded(motor, load, flywheel)
    (row,) = (
        each
        for each in measured()
        if (each.question, each.motor, each.load_newton_metre, each.flywheel) == (question, motor, load, flywheel)
    )
    plan = calibrate.plan_for(loaded, question, row.start_rate_sps)
    assert row.back_rate_sps in plan.back_rates_sps
    plan = replace(plan, back_rate_sps=row.back_rate_sps)
    again = calibrate.fit(calibrate.measured(loaded, plan, 77, row.limit_sps, 70))
    # Three and a half standard errors of the difference.
    limit_error = 3.5 * math.hypot(again.limit_error, row.log_limit_error)
    assert abs(math.log(again.limit / row.limit_sps)) < limit_error < 0.07
    spread_error = 3.5 * math.hypot(again.spread_error, row.log_spread_error)
    assert abs(math.log(again.spread / row.spread)) < spread_error < 1.3
    assert calibrate.misses(loaded, plan, 78, row.limit_sps, 8) <= 1 and row.lapses <= 1


def test_the_table_holds_all_ten() -> None:
    kinds = [(each.motor, each.load_newton_metre, each.flywheel) for each in measured()]
    assert kinds[::2] == kinds[1::2] == [(each.name, each.load_newton_metre, each.flywheel) for each in TEN]
    assert [each.question for each in measured()] == ["start", "run"] * 10
    for start, run in zip(measured()[::2], measured()[1::2], strict=True):
        assert run.start_rate_sps == round(calibrate.RUN_START_SHARE * start.limit_sps)


def test_a_fit_finds_what_trials_were_drawn_from() -> None:
    rng = np.random.default_rng(4)
    rates = 1000 * np.exp(np.linspace(-0.13, 0.13, 400))
    chance = 1 / (1 + (1010 / rates) ** (1 / 0.03))
    found = calibrate.fit(
        [(float(rate), bool(rng.random() < each)) for rate, each in zip(rates, chance, strict=True)]
    )
    assert abs(math.log(found.limit / 1010)) < 3 * found.limit_error < 0.03
    assert abs(math.log(found.spread / 0.03)) < 3 * found.spread_error < 0.5
