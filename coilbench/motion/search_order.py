"""How the searches build on one another: the fastest start first, then the fastest run, then the acceleration.

A rotor that is stepped near its own small-swing frequency skips where it holds at thrice the rate. So nothing but
the tested figure may come near: runs begin at a share of the start that is known to hold, which lies well above,
and the way back goes more slowly than the slow turn that was watched, until more is known.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coilbench.errors import NotEnoughKnown
from coilbench.motion.search_plan import Searched, SearchPlan
from coilbench.motion.trials import Shaft

# Ranges searched when none is given, full steps/s and steps/s2: wider than salvaged motors on small drivers reach
# (common practice).
RANGES: dict[Searched, tuple[float, float]] = {
    "start": (50.0, 4000.0),
    "run": (50.0, 10_000.0),
    "acceleration": (500.0, 100_000.0),
}
# A little slower than the slow turn: between such steps a rotor rings out even with a load that pushes it along.
CAREFUL_SPS = 40.0
# Of the working start: a ramp asks for more torque than a steady rate does (own choice).
START_SHARE = 0.8
# Of the rate at which runs begin (own choice).
BACK_SHARE = 0.6
# Where full steps may feed the small swings, in shares of their frequency: the virtual motors skip from 0.7 to 1.15
# of it, the wider the heavier the load.
SWING_SHARES = (0.65, 1.2)

Rates = tuple[float, float]


@dataclass(frozen=True)
class Known:
    """What is known of a motor on its drive: working figures, bands of resonance, its small-swing frequency."""

    start_sps: float | None = None
    run_sps: float | None = None
    bands: tuple[Rates, ...] = ()
    swing_hz: float | None = None

    @property
    def resonant(self) -> list[Rates]:
        """Bands that were found, or else the one to be expected, full steps/s."""
        if self.bands or self.swing_hz is None:
            return list(self.bands)
        low, high = SWING_SHARES
        return [(low * self.swing_hz, high * self.swing_hz)]


def plan_search(
    question: Searched,
    shaft: Shaft,
    known: Known,
    *,
    acceleration_sps2: float,
    highest_sps: float = math.inf,
    lowest: float | None = None,
    highest: float | None = None,
    width: float = 0.08,
    most_moves: int = 25,
) -> SearchPlan:
    """The plan of a search, from what the ones before it found.

    ``highest_sps`` is what the board can do; ``lowest`` and ``highest`` narrow the range. Raises NotEnoughKnown for
    a run or an acceleration when no start is known, InputProblem for what can't be.
    """
    low, high = RANGES[question]
    start = back = CAREFUL_SPS
    if question != "start":
        if known.start_sps is None:
            raise NotEnoughKnown(
                "a ramp from standstill may skip in resonance before it gets anywhere",
                remedy="find the fastest start",
            )
        start = clear_above(START_SHARE * known.start_sps, known.resonant, known.start_sps)
        back = max(BACK_SHARE * start, min(CAREFUL_SPS, start))
    if question == "run":
        low = max(low, start)
    low, high = lowest or low, highest or high
    return SearchPlan(
        question,
        low,
        high if question == "acceleration" else min(high, highest_sps),
        shaft,
        start_rate_sps=start,
        run_rate_sps=known.run_sps or 2 * start,
        acceleration_sps2=acceleration_sps2,
        back_rate_sps=clear_below(back, known.resonant),
        width=width,
        most_moves=most_moves,
        avoid=known.bands,
    )


def clear_below(rate_sps: float, bands: Sequence[Rates]) -> float:
    """The rate, or the end below it of the band that it lies in; above it when that band reaches down to nothing."""
    for low, high in sorted(bands, reverse=True):
        if low < rate_sps < high:
            rate_sps = low if low > 0 else high
    return rate_sps


def clear_above(rate_sps: float, bands: Sequence[Rates], most_sps: float) -> float:
    """The rate, or the end above it of the band that it lies in; below it when that is above ``most_sps``."""
    for low, high in sorted(bands):
        if low < rate_sps < high:
            rate_sps = high if high <= most_sps or low <= 0 else low
    return rate_sps
