"""The virtual board's coil budget."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from coilbench.board.virtual.coil_budget import CoilBudget


@given(st.floats(0.0, 1e4), st.floats(0.0, 1e4), st.lists(st.floats(1e-6, 1.0), max_size=5), st.booleans())
def test_it_is_empty_when_it_is_used_up(began_s: float, at_s: float, parts_s: list[float], stands: bool) -> None:
    budget = CoilBudget(began_s)
    now_s = began_s + at_s
    until_s = math.inf if stands else -math.inf
    budget.account(now_s, on=False, standing_until_s=-math.inf)
    for part_s in parts_s:
        now_s += part_s
        budget.account(now_s, on=True, standing_until_s=until_s)
    used_up_s = budget.used_up_s(until_s)
    budget.account(used_up_s, on=True, standing_until_s=until_s)
    assert budget.empty
