"""What a trial of speed is, and what its answers mean.

A trial runs out at the tested rate and comes back slowly, so that steps lost on the way out can't be made up for
on the way back. Its length is never near a whole number of turns (about half a turn over), so that a shaft that
never moved can't look like a pass.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Question = Literal["start", "run", "acceleration"]


@dataclass(frozen=True)
class Trial:
    """One move out at the tested figure and slowly back, in steps as the board counts them."""

    question: Question
    tested: float
    steps: int
    start_rate_sps: float
    run_rate_sps: float
    acceleration_sps2: float
    back_rate_sps: float
    dwell_s: float
