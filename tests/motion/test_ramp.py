"""Profiles and recurrences against D. Austin: Generate stepper-motor speed profiles in real time (2005), against
Atmel: AVR446 (document 8017), and the delays of an open implementation of the former (weak)."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.motion.ramp import (
    FIRST_INTERVAL_FACTOR,
    exact_interval_counts,
    first_interval_counts,
    interval_counts,
    next_interval_counts,
    plan_move,
    plan_stop,
    ramp_steps,
    step_number_after_change,
    triangle_up_steps,
)

# Austin, table 1: step, exact ratio, ratio by the recurrence, relative error.
AUSTIN_TABLE_1 = [
    (1, 0.4142, 0.6000, 0.4485),
    (2, 0.7673, 0.7778, 0.0136),
    (3, 0.8430, 0.8462, 0.00370),
    (4, 0.8810, 0.8824, 0.00152),
    (5, 0.9041, 0.9048, 7.66e-4),
    (6, 0.9196, 0.9200, 4.41e-4),
    (10, 0.9511, 0.9512, 9.42e-5),
    (100, 0.9950, 0.9950, 9.38e-8),
    (1000, 0.9995, 0.9995, 9.37e-11),
]


@pytest.mark.parametrize(("step", "exact", "approximate", "error"), AUSTIN_TABLE_1)
def test_ratios_of_intervals(step: int, exact: float, approximate: float, error: float) -> None:
    true_ratio = exact_interval_counts(1.0, step) / exact_interval_counts(1.0, step - 1)
    made_ratio = next_interval_counts(1.0, step)
    assert true_ratio == pytest.approx(exact, abs=6e-5)
    assert made_ratio == pytest.approx(approximate, abs=6e-5)
    assert made_ratio / true_ratio - 1 == pytest.approx(error, rel=0.01, abs=3e-13)


def test_first_intervals_and_table_2() -> None:
    step_rad = math.radians(1.8)
    first = first_interval_counts(1e6, step_rad, 10)
    assert first == pytest.approx(79266.546, abs=1e-3)  # derived
    assert FIRST_INTERVAL_FACTOR * first == pytest.approx(53584.185, abs=1e-3)
    # Austin, table 2; the last one of the column for 5 rad/s2 is a misprint there (2803.498) and left out.
    assert exact_interval_counts(first, 198) == pytest.approx(2813.067, abs=1e-3)
    assert exact_interval_counts(first, 199) == pytest.approx(2806.008, abs=1e-3)
    c199 = next_interval_counts(2813.067, 199)
    assert c199 == pytest.approx(2806.00786, abs=1e-4)
    slower = next_interval_counts(2806.008, step_number_after_change(199, 10, 5) + 1)
    assert next_interval_counts(slower, 400.5) == pytest.approx(2799.001, abs=2e-3)
    braking = next_interval_counts(2806.008, step_number_after_change(199, 10, -20) + 1)
    assert braking == pytest.approx(2820.180, abs=2e-3)
    assert next_interval_counts(braking, -98.25) == pytest.approx(2834.568, abs=2e-3)


def test_step_numbers_after_a_change_of_acceleration() -> None:
    # Austin: 10 (199 + .5) = 5 (398.5 + .5) = -20 (-100.25 + .5) = 1995.
    assert step_number_after_change(199, 10, 5) == 398.5
    assert step_number_after_change(199, 10, -20) == -100.25


def test_steps_to_a_speed_and_triangles() -> None:
    # Austin's figure: 0 to 120 rpm in 1 s takes 200 steps of 1.8 degrees.
    assert ramp_steps(0, 400, 400) == 200
    # Austin: 500 steps, speeding up at 10 and down at 20 rad/s2, turn at step 333.
    assert round(triangle_up_steps(500, 10, 20)) == 333


def test_delays_of_an_open_implementation() -> None:
    # Weak: the tests of an open implementation of Austin's article: 1 MHz, 1000 steps/s2.
    printed = [30232, 18139, 14108, 11938, 10533, 9530, 8768, 8163, 7668, 7254, 6900, 6593, 6324, 6085]
    made = list(itertools.islice(interval_counts(1e6, 1000), 100))
    assert [round(counts) for counts in made[: len(printed)]] == printed
    assert round(made[99]) == 2242


def test_scaled_constants_of_avr446() -> None:
    # AVR446, 2 MHz timer and 800 steps a turn: T1_FREQ_148 = 13520, A_SQ = 157079632.
    step_rad = 2 * math.pi / 800
    assert round(2e6 * FIRST_INTERVAL_FACTOR / 100) == 13520
    assert int(2 * step_rad * 1e10) == 157079632
    scaled = 13520 * math.sqrt(157079632 / 1000) / 100  # 10 rad/s2
    assert scaled == pytest.approx(FIRST_INTERVAL_FACTOR * first_interval_counts(2e6, step_rad, 10), rel=1e-4)


moves = st.tuples(st.integers(1, 200_000), st.floats(10, 5_000), st.floats(10, 100_000), st.floats(1, 1_000_000))


@given(moves)
def test_a_planned_move_makes_its_steps_and_never_runs_too_fast(move: tuple[int, float, float, float]) -> None:
    steps, start, run, gain = move
    profile = plan_move(steps, start, run, gain)
    assert profile.position_at(profile.duration_s) == steps
    assert profile.top_rate_sps <= max(min(start, run), run) * (1 + 1e-9)
    places = [profile.position_at(profile.duration_s * part / 50) for part in range(51)]
    assert places == sorted(places)
    # Every segment begins where the one before it ends, in place and rate.
    for before, after in itertools.pairwise(profile.segments):
        end = before.position_steps + (before.rate_sps + before.gain_sps2 * before.duration_s / 2) * before.duration_s
        assert end == pytest.approx(after.position_steps, abs=1e-3, rel=1e-6)
        assert before.rate_sps + before.gain_sps2 * before.duration_s == pytest.approx(after.rate_sps, rel=1e-6)


def test_a_start_without_ramp_is_one_stretch() -> None:
    profile = plan_move(500, 800, 800, 1000)
    assert len(profile.segments) == 1
    assert profile.duration_s == pytest.approx(500 / 800)
    assert profile.rate_at(0.1) == 800 and profile.rate_at(1.0) == 0


def test_a_triangle_peaks_below_its_cruise_rate() -> None:
    profile = plan_move(100, 10, 10_000, 1000)
    assert profile.top_rate_sps == pytest.approx(math.sqrt(100 + 2 * 1000 * 50))


def test_slowing_down_takes_no_more_steps_than_are_left() -> None:
    profile = plan_stop(2000, 100, 10_000, 10_000)
    assert profile is not None and profile.steps == 200  # (2000^2 - 100^2) / 20000 = 199.5
    short = plan_stop(2000, 100, 10_000, 5)
    assert short is not None and short.steps == 5
    assert plan_stop(2000, 100, 10_000, 0) is None


def test_what_cannot_be_planned() -> None:
    with pytest.raises(ValueError):
        plan_move(0, 10, 10, 10)
    with pytest.raises(ValueError):
        plan_move(10, 10, 10, 0)
