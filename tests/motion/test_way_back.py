"""The way back: proved alone, given up where it loses steps, and never blamed on a rate."""

from __future__ import annotations

import math

import numpy as np
import pytest

from coilbench.motion.response import Response
from coilbench.motion.search import SearchPlan, SearchState, begin, next_trial, record, replay, summary, why_this
from coilbench.motion.search_order import BACK_RATES_SPS
from coilbench.motion.search_plan import trial_at
from coilbench.motion.trials import CAME_BACK, CANNOT_TELL, Outcome, Shaft, Trial, off_by
from coilbench.motion.way_back import back_trial, way_back

RATES = (200.0, 130.0, 60.0)
PLAN = SearchPlan("start", 50, 4000, back_rates_sps=RATES)


def searched(motor: Response, lossy: dict[float, float], seed: int) -> SearchState:
    """A search by a way back that loses steps with a chance at each of its rates."""
    rng = np.random.default_rng(seed)
    state = begin(PLAN)
    while isinstance(trial := next_trial(state), Trial):
        lost_back = rng.random() < lossy.get(trial.back_rate_sps, 0.0)
        lost_out = trial.question != "back" and motor.skips(trial.tested, rng)
        state = record(state, trial, off_by(1) if lost_out or lost_back else CAME_BACK)
    return state


def test_it_is_turned_alone_before_anything_is_told_by_it() -> None:
    state = begin(PLAN)
    for _ in range(2):
        trial = next_trial(state)
        assert isinstance(trial, Trial) and (trial.question, trial.tested) == ("back", 200)
        assert trial.steps == 400 and trial.duration_s == 2  # whole turns of the flag, one way
        assert "proved first" in why_this(state, trial)
        state = record(state, trial, CAME_BACK)
    trial = next_trial(state)
    assert isinstance(trial, Trial) and trial.question == "start" and trial.back_rate_sps == 200
    assert state.told == [] and summary(state).moves == 2 and summary(state).working_sps is None


def test_a_turn_that_nobody_could_judge_is_made_again() -> None:
    trial = back_trial(200.0, Shaft())
    assert way_back(RATES, [(trial, CANNOT_TELL), (trial, CAME_BACK)]).wanted == 1
    assert back_trial(100.0, Shaft(48, 64.0)).steps == 3072  # a turn behind a gear is long: one


def test_a_rate_that_loses_steps_gives_way_to_the_next() -> None:
    found = way_back(RATES, [(back_trial(200.0, Shaft()), off_by(2))])
    assert (found.rate_sps, found.wanted, found.lost_sps) == (130, 2, (200,))
    answers = [(back_trial(rate, Shaft()), off_by()) for rate in RATES]
    assert way_back(RATES, answers).rate_sps is None
    over = replay(PLAN, answers)
    (line,) = summary(over).said
    assert summary(over).status == "back" and "60, 130, 200" in line and "microsteps" in line


def test_a_slower_skip_has_the_way_back_turned_again_and_its_skips_are_void() -> None:
    proved = [(back_trial(200.0, Shaft()), CAME_BACK)] * 2
    at = {rate: trial_at(SearchPlan("start", 50, 4000, back_rate_sps=200.0), rate) for rate in (420.0, 500.0)}
    state = replay(PLAN, [*proved, (at[500.0], CAME_BACK), (at[420.0], off_by(3))])
    trial = next_trial(state)
    assert isinstance(trial, Trial) and trial.question == "back" and "was it the way back" in why_this(state, trial)
    cleared = record(state, trial, CAME_BACK)
    assert (420.0, True) in cleared.told
    blamed = record(state, trial, off_by(1))
    assert blamed.told == [(500.0, False)] and blamed.way_back.rate_sps == 130
    assert any("lost steps by itself at 200" in line and "doesn't count" in line for line in summary(blamed).said)


@pytest.mark.parametrize("chance", [0.3, 0.6])
def test_a_lossy_way_back_is_not_taken_for_the_limit(chance: float) -> None:
    """The way back of which this came lost steps in a third of its moves: the limit was said to be a tenth."""
    errors = []
    for seed in range(12):
        state = searched(Response(550, 0.03, misread=0), {200.0: chance}, seed)
        assert summary(state).moves <= 25
        errors.append(abs(math.log(summary(state).limit_sps / 550)))
    assert np.median(errors) < 0.06 and max(errors) < 0.5


def test_a_limit_below_what_held_says_why() -> None:
    answers: list[tuple[Trial, Outcome]] = [(back_trial(200.0, Shaft()), CAME_BACK)] * 2
    rates = [(500.0, True), (520.0, False), (505.0, True), (480.0, False), (510.0, True), (470.0, False)]
    plan = SearchPlan("start", 50, 4000, back_rate_sps=200.0)
    answers += [(trial_at(plan, rate), off_by() if skips else CAME_BACK) for rate, skips in rates]
    found = summary(replay(PLAN, answers))
    assert found.limit_sps < 520
    assert any("held once at 520" in line and "either way" in line for line in found.said)


def test_the_usual_rates_reach_from_fast_to_one_between_whose_steps_any_rotor_comes_to_rest() -> None:
    assert BACK_RATES_SPS[0] == 200 and min(BACK_RATES_SPS) == 25


@pytest.mark.parametrize("tested", [35.0, 500.0])
def test_the_way_back_has_no_ramp_to_resonate_on(tested: float) -> None:
    trip = trial_at(SearchPlan("start", 20, 4000, back_rate_sps=200.0), tested).trip()
    begins = min(trip["start_sps"], trip["back_sps"])
    assert (trip["back_sps"] ** 2 - begins**2) / (2 * trip["gain_sps2"]) <= 0.5  # steps
