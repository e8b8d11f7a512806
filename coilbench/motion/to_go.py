"""How far on a search is: how many moves it has before it, and whether what it says is a guess yet."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coilbench.motion.search_plan import SearchPlan
    from coilbench.motion.search_summary import SearchSummary


_ROUGH_RATIO = 1.25  # the interval's ends: more than a quarter apart is no figure to set a machine by (own choice)


def is_rough(found: SearchSummary) -> bool:
    """Whether the interval is still so wide that what is drawn and told is more guess than measured."""
    low, high = found.interval_sps
    return high > _ROUGH_RATIO * low


def moves_to_go(found: SearchSummary, plan: SearchPlan) -> int:
    """About how many moves are left; halving the interval takes two, near enough."""
    low, high = found.interval_sps
    ratio = math.log(high / low) / math.log1p(plan.width)
    wanted = math.ceil(2 * math.log2(max(ratio, 1.01)))
    return max(1, min(wanted, plan.most_moves - found.moves))
