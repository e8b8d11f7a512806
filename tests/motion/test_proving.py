"""What clean trials prove, said before they are made, and what they cost."""

from __future__ import annotations

import pytest

from coilbench.motion.proving import PROVING_GOALS, bench_time, chance_left, goal_words, next_goal, time_words
from coilbench.motion.search_plan import SearchPlan, proving_trial, trial_at
from coilbench.motion.trials import CAME_BACK, Shaft, off_by
from coilbench.motion.way_back import back_trial


def test_the_goals_are_the_fewest_trials_that_leave_so_little() -> None:
    for clean, one_in in PROVING_GOALS:
        assert chance_left(clean) <= 1 / one_in < chance_left(clean - 1)


def test_a_run_stops_at_the_next_claim() -> None:
    assert [next_goal(proved) for proved in (0, 28, 29, 59, 299)] == [29, 29, 59, 299, 598]
    assert goal_words(29) == "at most 10 % of such moves to lose steps, 95 % sure"
    assert "63 %" in goal_words(3)


def test_the_time_of_proving_is_told_apart() -> None:
    plan = SearchPlan("start", 50, 4000, back_rate_sps=200.0)
    answers = [
        (back_trial(200.0, Shaft()), CAME_BACK),
        (trial_at(plan, 500), off_by()),
        (proving_trial(plan, 400), CAME_BACK),
    ]
    spent = bench_time(plan, answers)
    # 400 steps at 200 steps/s and an answer; 300 out at 500, a rest, 300 back, an answer and a mark set anew.
    assert spent.way_back_s == pytest.approx(2 + 4)
    assert spent.search_s == pytest.approx(300 / 500 + 0.5 + 300 / 200 + 4 + 6)
    assert spent.proving_s == pytest.approx(proving_trial(plan, 400).duration_s + 4)
    assert (time_words(41.2), time_words(200.0)) == ("41 s", "3 min")
