"""How the searches build on one another: the fastest start first, then the fastest run, then the acceleration.

A rotor that is stepped near its own small-swing frequency skips where it holds at thrice the rate. So nothing but
the tested figure may come near: runs begin at a share of the start that is known to hold, which lies well above,
the way back keeps away from where resonance was found or is expected and is proved by itself, and a start isn't
looked for there.
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
# A little slower than the slow turn: to go by where nothing faster is known.
CAREFUL_SPS = 40.0
# Of the working start: a ramp asks for more torque than a steady rate does (own choice).
START_SHARE = 0.8
# The way back where nothing is known, full steps/s: above where most rotors swing, then below it; ever slower ones
# last. In full steps the virtual motors lose none from 160 on, some at 40 to 130 (own choice).
BACK_RATES_SPS = (200.0, 130.0, 300.0, 60.0, 25.0)
# Microsteps hardly stir the swing (common practice): from this many on any rate does that a motor starts at.
SMOOTH_PULSES = 4
SMOOTH_BACK_RATES_SPS = (200.0, 100.0, 40.0)
# Where full steps may feed the small swings, in shares of their frequency: the virtual motors skip from 0.7 to 1.15
# of it, the wider the heavier the load.
SWING_SHARES = (0.65, 1.2)

Rates = tuple[float, float]


@dataclass(frozen=True)
class Known:
    """What is known of a motor on its drive: working figures, bands of resonance, its small-swing frequency.

    ``back_sps``: a way back that lost no steps. ``pulses`` make a full step.
    """

    start_sps: float | None = None
    run_sps: float | None = None
    bands: tuple[Rates, ...] = ()
    swing_hz: float | None = None
    back_sps: float | None = None
    pulses: int = 1

    @property
    def resonant(self) -> list[Rates]:
        """Bands that were found, or else the one to be expected, full steps/s."""
        if self.bands or self.swing_hz is None:
            return list(self.bands)
        low, high = SWING_SHARES
        return [(low * self.swing_hz, high * self.swing_hz)]

    @property
    def stirred(self) -> bool:
        """Whether single steps set the rotor swinging: microsteps hardly do."""
        return self.pulses < SMOOTH_PULSES


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
    start = CAREFUL_SPS
    if question != "start":
        if known.start_sps is None:
            raise NotEnoughKnown(
                "a ramp from rest may lose steps in resonance before it gets anywhere",
                remedy="find the start-stop rate",
            )
        start = clear_above(START_SHARE * known.start_sps, known.resonant, known.start_sps)
    if question == "run":
        low = max(low, start)
    low, high = lowest or low, highest or high
    back = back_rates(known, *((highest_sps, None) if question == "start" else (start, start)))
    return SearchPlan(
        question,
        low,
        high if question == "acceleration" else min(high, highest_sps),
        shaft,
        start_rate_sps=start,
        run_rate_sps=known.run_sps or 2 * start,
        acceleration_sps2=acceleration_sps2,
        back_rate_sps=back[0],
        width=width,
        most_moves=most_moves,
        avoid=known.bands or (tuple(known.resonant) if question == "start" and known.stirred else ()),
        back_rates_sps=back,
    )


def back_rates(known: Known, most_sps: float, starts_sps: float | None = None) -> tuple[float, ...]:
    """Rates to come back at, the first to try first, none above ``most_sps``, in full steps none where it resonates.

    ``starts_sps`` is where runs begin: a rate that holds on the way out, in either direction where nothing leans.

    A fast one saves more of a person's time than any other part of a trial.
    """
    rates = BACK_RATES_SPS if known.stirred else SMOOTH_BACK_RATES_SPS
    first = [rate for rate in (starts_sps, known.back_sps) if rate is not None]
    found = [min(rate, most_sps) for rate in (*first, *rates)]
    if known.stirred:
        found = [clear_above(rate, known.resonant, most_sps) for rate in found]
        found = [clear_below(rate, known.resonant) for rate in found]
    return tuple(dict.fromkeys(rate for rate in found if rate <= most_sps))


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
