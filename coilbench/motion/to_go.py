"""How far on a search is: how many moves it has before it, and whether what it says is a guess yet."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from coilbench.motion.limit_fit import limit_quantiles

if TYPE_CHECKING:
    from coilbench.motion.search import SearchState
    from coilbench.motion.search_summary import SearchSummary


# How many moves were left when the interval had to be halved so often: means of 60 searches for drawn motors
# (``response.drawn_response``), starts and runs. The last halvings take most.
_HALVINGS = (0.0, 0.15, 0.45, 0.8, 1.25, 1.75, 2.5, 3.5, 4.5, 6.0)
_MOVES = (1.4, 1.8, 3.5, 6.1, 9.6, 11.8, 14.5, 16.5, 17.2, 18.3)
_ROUGH_RATIO = 1.25  # the interval's ends: more than a quarter apart is no figure to set a machine by (own choice)


def is_rough(found: SearchSummary) -> bool:
    """Whether the interval is still so wide that what is drawn and told is more guess than measured."""
    low, high = found.interval_sps
    return high > _ROUGH_RATIO * low


def moves_to_go(state: SearchState, found: SearchSummary) -> int:
    """About how many moves are left, all that will be asked: of the way back, far above the limit, and about it."""
    low, high = limit_quantiles(state.grid, state.believed, (0.05, 0.95))
    plan = state.plan
    halvings = math.log2(max(math.log(high / low) / state.wanted_log, 1.01))
    wanted = state.way_back.wanted + float(np.interp(halvings, _HALVINGS, _MOVES))
    return max(1, min(round(wanted), plan.most_moves - found.moves))
