"""The search: what it holds to whatever the answers are, and what it says of them."""

from __future__ import annotations

import itertools
import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilbench.errors import InputProblem
from coilbench.motion.limit_fit import limit_quantiles, log_posterior, make_grid, weights
from coilbench.motion.proving import chance_left
from coilbench.motion.response import Dip, Response
from coilbench.motion.search import (
    Finished,
    SearchPlan,
    SearchState,
    begin,
    next_trial,
    proving_trial,
    record,
    replay,
    summary,
    why_this,
)
from coilbench.motion.search_plan import trial_at
from coilbench.motion.trials import CAME_BACK, CANNOT_TELL, Trial, off_by

PLAN = SearchPlan("run", 100, 10_000, acceleration_sps2=8000)
ANSWERS = st.lists(
    st.tuples(st.floats(100, 10_000), st.sampled_from([CAME_BACK, off_by(1), CANNOT_TELL])), max_size=25
)


def answered(answers: list[tuple[float, object]], plan: SearchPlan = PLAN) -> SearchState:
    state = begin(plan)
    for figure, outcome in answers:
        state = record(state, trial_at(plan, figure), outcome)  # type: ignore[arg-type]
    return state


def searched(motor: Response, plan: SearchPlan = PLAN, seed: int = 1) -> SearchState:
    rng = np.random.default_rng(seed)
    state = begin(plan)
    while isinstance(move := next_trial(state), Trial):
        state = record(state, move, off_by(1) if motor.skips(move.tested, rng) else CAME_BACK)
    return state


@given(ANSWERS)
@settings(max_examples=25, deadline=None)
def test_any_answers_at_all_leave_sane_figures(answers: list[tuple[float, object]]) -> None:
    state = answered(answers)
    found = summary(state)
    low, high = found.interval_sps
    assert 0 < low <= found.limit_sps <= high < math.inf
    assert found.moves == len(answers)
    if found.working_sps is not None:
        assert 0 < found.working_sps < min(high, 10_000)
    curve = found.curve
    assert all(b >= a - 1e-9 for a, b in itertools.pairwise(curve.mean))
    assert all(0 <= a <= b <= 1 for a, b in zip(curve.low, curve.high, strict=True))
    json.dumps(found.as_dict(), allow_nan=False)
    move = next_trial(state)
    assert isinstance(move, Finished) or 100 <= move.tested <= 10_000
    assert next_trial(state) == move


@given(ANSWERS, st.randoms())
@settings(max_examples=20, deadline=None)
def test_the_order_of_answers_leaves_no_trace(answers: list[tuple[float, object]], random: object) -> None:
    shuffled = list(answers)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    one, other = answered(answers), answered(shuffled)
    assert np.array_equal(one.cells, other.cells)
    assert next_trial(one) == next_trial(other)
    assert summary(one) == summary(other)


@given(
    st.lists(st.tuples(st.floats(100, 10_000), st.booleans()), max_size=12), st.floats(100, 10_000), st.integers(0, 9)
)
@settings(max_examples=30, deadline=None)
def test_a_pass_never_lowers_the_limit_nor_a_skip_raises_it(
    told: list[tuple[float, bool]], figure: float, shape: int
) -> None:
    # Exact for any one shape of the curve: the chance to pass rises with the limit, so the ratio of weights does.
    grid = make_grid(100, 10_000)
    steepness, lapse = shape % len(grid.steepness), shape // len(grid.steepness)

    def limit(outcomes: list[tuple[float, bool]]) -> float:
        cells = weights(log_posterior(grid, outcomes)[:, steepness : steepness + 1, lapse : lapse + 1])
        return limit_quantiles(grid, cells, (0.5,))[0]

    before = limit(told)
    assert limit([*told, (figure, False)]) >= before * (1 - 1e-9)
    assert limit([*told, (figure, True)]) <= before * (1 + 1e-9)


@given(ANSWERS)
@settings(max_examples=15, deadline=None)
def test_a_saved_search_is_taken_up_again(answers: list[tuple[float, object]]) -> None:
    state = answered(answers)
    again = replay(PLAN, state.answers)
    assert again == state
    assert np.array_equal(again.cells, state.cells)


def test_chances_looked_up_are_those_of_the_formula() -> None:
    grid, some = make_grid(50.0, 5000.0), np.arange(8) % 3 > 0
    rates, limits = grid.log_rates[[0, 7, 300, -1]], np.array([0, 31, 32, len(grid.log_limits) - 1])
    away = (rates[:, None, None] - grid.log_limits[limits][:, None]) / grid.steepness[some]
    assert grid.rises(rates, limits, some) == pytest.approx(0.5 + 0.5 * np.tanh(away / 2), rel=1e-9, abs=1e-12)


def test_what_cannot_be_judged_is_asked_again() -> None:
    state = answered([(500, CAME_BACK)])
    move = next_trial(state)
    assert isinstance(move, Trial)
    again = record(state, move, CANNOT_TELL)
    assert next_trial(again) == move
    assert any("could not be judged" in line for line in summary(again).said)


def test_nobody_who_cannot_tell_is_asked_for_ever() -> None:
    state = begin(PLAN)
    while isinstance(move := next_trial(state), Trial):
        state = record(state, move, CANNOT_TELL)
    assert move == Finished("moves")
    assert summary(state).working_sps is None


def test_moves_at_odds_with_each_other_widen_what_is_said() -> None:
    tidy = [
        (600, CAME_BACK),
        (900, CAME_BACK),
        (960, CAME_BACK),
        (1040, off_by()),
        (1100, off_by()),
        (2000, off_by()),
    ]
    near = [(980, CAME_BACK), (1020, off_by()), (970, CAME_BACK), (1030, off_by())] * 2
    steep = summary(answered([*tidy, *near]))
    assert not steep.gradual and steep.interval_sps[1] < 1.12 * steep.interval_sps[0]
    odd = summary(answered([*tidy, *near, (850, off_by()), (1150, CAME_BACK), (880, off_by())]))
    assert odd.gradual and odd.interval_sps[1] > 1.2 * odd.interval_sps[0]
    assert odd.working_sps is not None and odd.working_sps < odd.interval_sps[0]
    assert any("against each other" in line for line in odd.said) == (odd.status == "width")


def test_one_misread_flag_is_outvoted() -> None:
    motor = Response(1000, 0.01, misread=0)
    rng = np.random.default_rng(1)
    state = begin(PLAN)
    for count in range(25):
        move = next_trial(state)
        if isinstance(move, Finished):
            break
        skips = motor.skips(move.tested, rng) != (count == 3)
        state = record(state, move, off_by() if skips else CAME_BACK)
    assert summary(state).limit_sps == pytest.approx(1000, rel=0.06)


@pytest.mark.parametrize("question", ["start", "run", "acceleration"])
def test_one_engine_for_three_questions(question: str) -> None:
    plan = SearchPlan(question, 100, 10_000, run_rate_sps=800)  # type: ignore[arg-type]
    found = summary(searched(Response(1300, 0.01, misread=0), plan))
    assert found.limit_sps == pytest.approx(1300, rel=0.05)
    assert found.working_sps is not None and 0.7 < found.working_sps / 1300 < 0.95
    assert found.status == "width"
    assert found.unit == ("steps/s2" if question == "acceleration" else "steps/s")
    assert any("margin" in line for line in found.said)


def test_a_motor_that_never_skips_and_one_that_always_does() -> None:
    fast = summary(searched(Response(1e6, 0.01, misread=0)))
    assert fast.status == "beyond" and fast.moves <= 12
    assert fast.working_sps is not None and fast.working_sps <= 10_000
    stuck = summary(searched(Response(1.0, 0.01, misread=0)))
    assert stuck.status == "below" and stuck.working_sps is None and stuck.moves <= 12
    assert "wiring" in stuck.said[0]


def test_bands_to_avoid_are_never_tried() -> None:
    plan = SearchPlan("start", 100, 2000, avoid=((300, 600), (900, 1100)))
    state = searched(Response(1000, 0.05), plan)
    assert all(not (300 < trial.tested < 600 or 900 < trial.tested < 1100) for trial, _ in state.answers)


def test_skips_below_passes_are_spoken_of() -> None:
    motor = Response(2000, 0.01, misread=0, dips=(Dip(120, 0.2, 1.0),))
    rng = np.random.default_rng(0)
    state = answered([(120, off_by(2) if motor.skips(120, rng) else CAME_BACK), (800, CAME_BACK)])
    assert any("resonance" in line for line in summary(state).said)


@pytest.mark.parametrize("seed", range(4))
def test_a_search_that_fell_into_resonance_climbs_out(seed: int) -> None:
    # A flag misread, and two trials in the band: all there was says that the limit lies at 130.
    motor = Response(900, 0.02, misread=0, dips=(Dip(150, 0.15, 1.0),))
    rng = np.random.default_rng(seed)
    state = answered([(450, off_by()), (170, off_by()), (105, CAME_BACK), (140, off_by())])
    assert summary(state).limit_sps < 160
    reasons = set()
    while isinstance(move := next_trial(state), Trial):
        if why_this(state, move):
            reasons.add(move.tested > 1.5 * summary(state).limit_sps)
        state = record(state, move, off_by() if motor.skips(move.tested, rng) else CAME_BACK)
    found = summary(state)
    assert found.moves <= 25 and found.limit_sps == pytest.approx(900, rel=0.1)
    assert any("resonance" in line for line in found.said)
    assert reasons == {True}


def test_a_limit_counts_when_well_above_it_was_seen_to_skip() -> None:
    state = searched(Response(1300, 0.01, misread=0))
    limit = summary(state).limit_sps
    assert sum(outcome.skipped is True and 1.5 < trial.tested / limit < 5 for trial, outcome in state.answers) >= 2


def test_a_proving_run_by_the_rule_of_three() -> None:
    # 3/n at 95 % (Hanley and Lippman-Hand, JAMA 1983, from memory); exact at n = 1: 1 - 0.05.
    assert chance_left(0) == 1
    assert chance_left(1) == pytest.approx(0.95)
    assert chance_left(59) <= 0.05 < chance_left(58) and chance_left(299) <= 0.01 < chance_left(298)
    for count in (30, 100, 1000):
        assert chance_left(count) == pytest.approx(3 / count, rel=0.06)
    state = searched(Response(1300, 0.01, misread=0))
    before = summary(state)
    assert before.working_sps is not None and before.proved_chance is None
    trial = proving_trial(PLAN, before.working_sps)
    for _ in range(30):
        state = record(state, trial, CAME_BACK)
    proved = summary(state)
    assert (proved.proved, proved.moves) == (30, before.moves)
    assert proved.proved_chance == pytest.approx(0.1, rel=0.06)
    assert any("rule of three" in line for line in proved.said)


def test_a_skip_in_the_proving_run_lowers_the_working_figure() -> None:
    state = searched(Response(1300, 0.01, misread=0))
    working = summary(state).working_sps
    assert working is not None
    failed = summary(record(state, proving_trial(PLAN, working), off_by(1)))
    assert failed.working_sps is not None and failed.working_sps < 0.95 * working
    assert failed.proved == 0 and any("lower working figure" in line for line in failed.said)


@pytest.mark.parametrize(
    "bad",
    [
        {"lowest": 0},
        {"lowest": 200, "highest": 200},
        {"highest": math.inf},
        {"width": 0},
        {"most_moves": 0},
        {"question": "stop"},
        {"back_rate_sps": math.nan},
    ],
)
def test_plans_that_cannot_be(bad: dict[str, object]) -> None:
    with pytest.raises(InputProblem):
        SearchPlan(**{"question": "run", "lowest": 100, "highest": 1000, **bad})  # type: ignore[arg-type]


def test_answers_of_another_search_are_refused() -> None:
    start = SearchPlan("start", 100, 1000)
    with pytest.raises(InputProblem, match="start"):
        record(begin(PLAN), trial_at(start, 500), CAME_BACK)
    with pytest.raises(InputProblem, match="outside"):
        record(begin(PLAN), trial_at(PLAN, 50_000), CAME_BACK)
    with pytest.raises(InputProblem, match="start"):
        replay(PLAN, [(trial_at(start, 500), CAME_BACK)])
