"""How many moves a search has before it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coilbench.motion.search_plan import SearchPlan
    from coilbench.motion.search_summary import SearchSummary


def moves_to_go(found: SearchSummary, plan: SearchPlan) -> int:
    """About how many moves are left; halving the interval takes two, near enough."""
    low, high = found.interval_sps
    ratio = math.log(high / low) / math.log1p(plan.width)
    wanted = math.ceil(2 * math.log2(max(ratio, 1.01)))
    return max(1, min(wanted, plan.most_moves - found.moves))
