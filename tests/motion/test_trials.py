"""What a trial is and what its answers mean."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.motion.before import SLOW_TURN_SEEN, precautions, slow_turn
from coilbench.motion.search_plan import SearchPlan, proving_trial, trial_at
from coilbench.motion.trials import (
    Shaft,
    Trial,
    missed_steps,
    off_by,
    outcome_from_index,
    trial_steps,
)
from coilbench.motion.turns import steps_per_turn

SHAFTS = st.builds(
    Shaft, st.sampled_from([20, 24, 48, 96, 200, 400]), st.floats(0.2, 100), st.sampled_from(["rotor", "output"])
)


@given(st.floats(0, 1e5), SHAFTS)
def test_a_trial_is_half_a_turn_over(least: float, shaft: Shaft) -> None:
    turn = shaft.flag_steps
    steps = trial_steps(least, turn)
    assert steps >= least - 1e-6 * max(least, 1)
    # A stalled shaft's flag ends as far from its mark as it can, but for the rounding to a step.
    assert abs(math.remainder(steps, turn)) >= turn / 2 - 1.01
    assert steps <= least + turn + 2


@given(st.sampled_from(["start", "run", "acceleration"]), st.floats(50, 5000), SHAFTS)
def test_every_move_reaches_the_figure_it_tests(question: str, figure: float, shaft: Shaft) -> None:
    plan = SearchPlan(question, 50, 5000, shaft, start_rate_sps=80, run_rate_sps=900)  # type: ignore[arg-type]
    trial = trial_at(plan, figure)
    ramps = (trial.run_rate_sps**2 - trial.start_rate_sps**2) / trial.acceleration_sps2
    assert trial.steps - ramps >= plan.cruise_turns * shaft.flag_steps - 1e-6
    assert trial.back_rate_sps == plan.back_rate_sps
    assert trial.start_rate_sps <= trial.run_rate_sps
    tested = {
        "start": trial.start_rate_sps,
        "run": trial.run_rate_sps,
        "acceleration": trial.acceleration_sps2,
    }
    assert tested[question] == trial.tested == figure
    assert proving_trial(plan, figure).steps > trial.steps


def test_the_board_counts_microsteps() -> None:
    trip = Trial("run", 1000, 300, 100, 1000, 5000, 100, 0.5).trip(16)
    assert trip == {
        "steps": 4800,
        "start_sps": 1600,
        "run_sps": 16000,
        "gain_sps2": 80000,
        "rest_s": 0.5,
        "back_sps": 1600,
    }


def test_the_time_of_a_trial() -> None:
    # Worked by hand: 100 to 1000 steps/s at 5000 steps/s2 is 0.18 s and 99 steps, twice; 102 steps left at 1000.
    trial = Trial("run", 1000, 300, 100, 1000, 5000, 100, 0.5)
    assert trial.duration_s == pytest.approx(0.36 + 0.102 + 0.5 + 3.0)


@pytest.mark.parametrize(
    ("shaft", "seen"),
    [
        (Shaft(200), True),  # 7.2 degrees a jump
        (Shaft(400), True),  # 3.6 degrees
        (Shaft(48), True),  # 30 degrees
        (Shaft(32, gear=64), False),  # 0.7 degrees behind the gear
        (Shaft(32, gear=64, flag_on="rotor"), True),
        (Shaft(32, gear=64, sensor=True), True),
    ],
)
def test_a_skip_behind_a_gear_cannot_be_seen(shaft: Shaft, seen: bool) -> None:
    assert (shaft.blind_because == "") == seen
    if not seen:
        assert "rotor's side" in shaft.blind_because and "sensor" in shaft.blind_because
        assert any(item.key == "blind" for item in precautions(shaft))


@given(st.integers(-24, 24), st.floats(-1, 1), st.floats(-1e4, 1e4))
def test_the_sensor_counts_jumps_of_four(jumps: int, slack: float, before: float) -> None:
    outcome = outcome_from_index(before, before + 4 * jumps + slack, Shaft(200, sensor=True))
    assert outcome.jumps == jumps
    assert outcome.skipped == (jumps != 0)
    assert outcome.missed_steps == pytest.approx(4 * jumps + slack, abs=1e-6)


def test_half_a_jump_on_the_sensor_says_nothing() -> None:
    assert outcome_from_index(0, 2, Shaft(200, sensor=True)).skipped is None


def test_whole_turns_lost_leave_no_trace() -> None:
    assert missed_steps(35, 435, 200) == 0
    assert missed_steps(35, 231, 200) == -4


def test_off_by_nothing_is_no_answer() -> None:
    with pytest.raises(InputProblem):
        off_by(0)


@pytest.mark.parametrize("bad", [{"steps_per_turn": 0}, {"gear": 0}, {"gear": math.nan}, {"gear": math.inf}])
def test_shafts_that_cannot_be(bad: dict[str, float]) -> None:
    with pytest.raises(InputProblem):
        Shaft(**bad)  # type: ignore[arg-type]


def test_steps_in_a_turn_from_edges() -> None:
    counted = steps_per_turn([35, 235, 435, 635])
    assert (counted.usual, counted.turns) == (200, 3)
    assert counted.steps_per_turn == pytest.approx(200)
    # A tin can with 32 steps a turn behind gears of 31/10, 26/9, 22/11 and 32/9 (teeth counted, from memory):
    # 63.684 rotor turns, 2037.886 steps a turn. Whole counted positions still give it over ten turns.
    turn = 32 * 31 * 26 * 22 * 32 / (10 * 9 * 11 * 9)
    geared = steps_per_turn([round(7 - turn * number) for number in range(11)])
    assert geared.steps_per_turn == pytest.approx(turn, abs=0.1)
    assert geared.usual is None


@pytest.mark.parametrize("edges", [[], [35], [35, 235, 403], [10, 10]])
def test_edges_that_tell_nothing(edges: list[float]) -> None:
    with pytest.raises(NotEnoughKnown):
        steps_per_turn(edges)


def test_before_it_moves() -> None:
    keys = [item.key for item in precautions(Shaft(48, gear=20, flag_on="rotor"))]
    assert {"unplug", "current", "fixed", "clear", "stop", "heat", "gear"} <= set(keys)
    assert len(keys) == len(set(keys))
    turn = slow_turn(Shaft(200))
    assert (turn.steps, turn.rate_sps) == (200, 50)
    assert slow_turn(Shaft(20)).rate_sps == 10
    assert [seen.key for seen in SLOW_TURN_SEEN if not seen.remedy] == ["turned"]
