"""Low-speed resonance: looked for by itself, since there a slower trial can skip where a faster one holds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Band:
    """Rates to keep away from, steps/s: the trials on either side that held."""

    low_sps: float
    high_sps: float


def scan_rates(lowest_sps: float, highest_sps: float, count: int = 12) -> list[float]:
    """Rates to try, evenly spaced in their logarithm, slowest first."""
    return [float(round(rate)) for rate in np.geomspace(lowest_sps, highest_sps, count)]


def expected_rates(swing_hz: float) -> tuple[float, float]:
    """Where to look: full-step rates at the rotor's own small-swing frequency and at half of it."""
    return swing_hz / 2, swing_hz


def bands(outcomes: list[tuple[float, bool]]) -> list[Band]:
    """Bands that skip below a rate that holds, from outcomes (rate in steps/s, skipped).

    Skips with nothing that holds above them are the limit and no band.
    """
    by_rate: dict[float, bool] = {}
    for rate, skipped in outcomes:
        by_rate[rate] = by_rate.get(rate, False) or skipped
    found: list[Band] = []
    held_sps, skipping = 0.0, False
    for rate in sorted(by_rate):
        if by_rate[rate]:
            skipping = True
            continue
        if skipping:
            found.append(Band(held_sps, rate))
        held_sps, skipping = rate, False
    return found
