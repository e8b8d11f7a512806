"""The response model that stands for physical motors."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.motion.response import Dip, Response, drawn_response, measured


@given(st.floats(50, 20_000), st.floats(0.004, 0.2), st.floats(10, 50_000), st.floats(1.0, 2.0))
def test_faster_is_worse(limit: float, spread: float, rate: float, times: float) -> None:
    motor = Response(limit, spread)
    assert 0 <= motor.chance(rate) <= motor.chance(rate * times) <= 1


def test_half_the_trials_skip_at_the_limit_however_flags_are_misread() -> None:
    rng = np.random.default_rng(3)
    motor = Response(1000, 0.03, misread=0.05)
    assert motor.chance(1000) == pytest.approx(0.5)
    assert np.mean([motor.skips(1000, rng) for _ in range(4000)]) == pytest.approx(0.5, abs=0.03)
    assert np.mean([motor.skips(500, rng) for _ in range(4000)]) == pytest.approx(0.05, abs=0.015)
    assert np.mean([motor.skips(2000, rng) for _ in range(4000)]) == pytest.approx(0.95, abs=0.015)


def test_a_dip_makes_slower_worse() -> None:
    motor = Response(2000, 0.02, dips=(Dip(180, 0.1, 0.8),))
    assert motor.chance(180) == pytest.approx(0.8)
    assert motor.chance(180) > motor.chance(400) + 0.7
    assert motor.chance(90) < 1e-6


def test_drawn_motors_stay_in_their_range() -> None:
    rng = np.random.default_rng(0)
    motors = [drawn_response(rng, 200, 5000) for _ in range(300)]
    assert all(200 <= motor.limit_sps <= 5000 for motor in motors)
    assert 800 < np.median([motor.limit_sps for motor in motors]) < 1250  # sqrt(200 * 5000) is 1000


def test_drawn_motors_turn_as_steeply_as_the_ten_that_were_measured() -> None:
    rng = np.random.default_rng(1)
    drawn = np.log([drawn_response(rng).spread for _ in range(2000)])
    table = np.log([each.spread for each in measured()])
    assert len(table) == 20
    assert float(drawn.mean()) == pytest.approx(float(table.mean()), abs=0.02)
    assert float(drawn.std()) == pytest.approx(float(table.std(ddof=1)), rel=0.05)
    # The way back is in it: what it loses is no more than flags misread.
    assert 0 < sum(each.lapses for each in measured()) <= 0.015 * sum(each.lapse_trials for each in measured())
