"""Searches that build on one another, out of resonance's way."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.motion.before import slow_turn
from coilbench.motion.search_order import Known, clear_above, clear_below, plan_search
from coilbench.motion.search_plan import trial_at
from coilbench.motion.trials import Shaft

BANDS = st.lists(
    st.tuples(st.floats(0, 500), st.floats(1.1, 2)).map(lambda band: (band[0], band[0] * band[1] + 1)), max_size=1
)


def test_the_start_comes_first() -> None:
    plan = plan_search("start", Shaft(), Known(), acceleration_sps2=5000)
    assert (plan.lowest, plan.highest) == (50, 4000)
    assert (
        plan.back_rate_sps == plan.back_rates_sps[0] == 200 and min(plan.back_rates_sps) < slow_turn(Shaft()).rate_sps
    )
    for question in ("run", "acceleration"):
        with pytest.raises(NotEnoughKnown, match="start-stop rate"):
            plan_search(question, Shaft(), Known(), acceleration_sps2=5000)


def test_runs_begin_below_the_start_that_holds_and_come_back_slower() -> None:
    plan = plan_search("run", Shaft(48), Known(1000), acceleration_sps2=3000, highest_sps=8000, width=0.1)
    assert (plan.start_rate_sps, plan.lowest, plan.highest, plan.width) == (800, 800, 8000, 0.1)
    assert plan.back_rates_sps == (800, 200, 130, 300, 60, 25) and plan.acceleration_sps2 == 3000
    gain = plan_search("acceleration", Shaft(), Known(1000, 2500), acceleration_sps2=3000, highest_sps=8000)
    assert (gain.run_rate_sps, gain.highest) == (2500, 100_000)
    assert plan_search("acceleration", Shaft(), Known(1000), acceleration_sps2=3000).run_rate_sps == 1600


def test_a_range_that_was_given_and_one_that_the_board_leaves_no_room_for() -> None:
    plan = plan_search("run", Shaft(), Known(1000), acceleration_sps2=3000, lowest=300, highest=2000)
    assert (plan.lowest, plan.highest) == (300, 2000)
    with pytest.raises(InputProblem):
        plan_search("run", Shaft(), Known(1000), acceleration_sps2=3000, highest_sps=500)


def test_start_and_way_back_keep_out_of_resonance() -> None:
    known = Known(200, bands=((130, 180), (80, 100)))
    plan = plan_search("run", Shaft(), known, acceleration_sps2=3000)
    assert plan.start_rate_sps == 180 and plan.avoid == known.bands
    assert plan.back_rates_sps == (180, 130, 60, 25)
    # Not scanned, but figures of the motor tell where to expect it: 62.4 to 115.2 steps/s for a swing of 96 Hz.
    expected = plan_search("run", Shaft(), Known(170, swing_hz=96), acceleration_sps2=3000)
    assert expected.start_rate_sps == 136 and expected.avoid == ()
    assert expected.back_rates_sps == pytest.approx((136, 130, 60, 25))
    start = plan_search("start", Shaft(), Known(swing_hz=160), acceleration_sps2=3000)
    assert start.avoid == ((104, 192),) and start.back_rates_sps == (200, 192, 300, 60, 25)
    # Microsteps don't stir the swing: nothing is kept away from, and any rate brings it back.
    smooth = plan_search("start", Shaft(), Known(swing_hz=160, pulses=16, back_sps=150), acceleration_sps2=3000)
    assert smooth.avoid == () and smooth.back_rates_sps == (150, 200, 100, 40)


@given(st.floats(1, 1000), BANDS, st.floats(1, 2))
def test_a_rate_that_was_moved_lies_in_no_band(rate: float, bands: list[tuple[float, float]], room: float) -> None:
    for moved in (clear_below(rate, bands), clear_above(rate, bands, rate * room)):
        assert not any(low < moved < high for low, high in bands)
        if not any(low < rate < high for low, high in bands):
            assert moved == rate
    below = clear_below(rate, bands)
    assert below <= rate or any(low == 0 for low, _ in bands)


def test_every_trial_of_a_run_starts_where_the_plan_says() -> None:
    plan = plan_search("run", Shaft(), Known(1000), acceleration_sps2=3000)
    assert {trial_at(plan, figure).start_rate_sps for figure in (800, 1500, 9000)} == {800}
