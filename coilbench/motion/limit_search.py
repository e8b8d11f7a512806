"""How fast without skipping: which rate to try next, and what the passes and skips so far say.

The chance to skip at rate f is  lapse/2 + (1 - lapse) / (1 + exp(-(ln f - ln limit) / spread)):  a logistic in the
log of the rate, with a lapse for a flag misread or a belt knocked. The *limit* is the rate at which half the trials
skip. Limit and spread are held on a grid, so that any answer, mistaken ones included, only shifts weight about.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

LAPSE = 0.02
STOP_RATIO = 1.08
MOST_TRIALS = 25
# The working rate keeps this far below the rate that the limit is above with 95 %.
WORKING_MARGIN = 0.85
WORKING_SKIP_CHANCE = 0.02

_GRID_STEP = 0.006
_SPREADS = np.geomspace(0.004, 0.12, 9)
_SPREAD_WEIGHTS = np.array([0.7, 1.0, 1.2, 1.2, 1.0, 0.8, 0.5, 0.3, 0.15])


@dataclass(frozen=True)
class Finding:
    """What the trials say: rates in steps/s.

    ``low_sps`` to ``high_sps`` holds the limit with a chance of 90 %; ``at_edge`` says that the limit may lie
    outside the range that was searched.
    """

    limit_sps: float
    low_sps: float
    high_sps: float
    working_sps: float
    trials: int
    settled: bool
    at_edge: bool


class LimitSearch:
    """An adaptive search for the limit between two rates; add outcomes, ask for the next rate.

    Serves for accelerations (steps/s2) just as well.
    """

    def __init__(self, lowest_sps: float, highest_sps: float, *, stop_ratio: float = STOP_RATIO) -> None:
        """``stop_ratio``: the search is settled when the 90 % interval's ends are this close (high / low).

        Raises ValueError when the range is empty.
        """
        if not 0 < lowest_sps < highest_sps:
            raise ValueError("the search needs a range of rates")
        self.lowest_sps, self.highest_sps, self.stop_ratio = lowest_sps, highest_sps, stop_ratio
        # The limit may lie a little outside: then the ends show it.
        span = math.log(highest_sps / lowest_sps)
        count = max(int((span + 0.4) / _GRID_STEP), 40)
        self._limits: Array = np.linspace(math.log(lowest_sps) - 0.2, math.log(highest_sps) + 0.2, count)
        prior = np.ones(count)[:, None] * _SPREAD_WEIGHTS[None, :]
        self._weights: Array = prior / prior.sum()
        self.outcomes: tuple[tuple[float, bool], ...] = ()

    def add(self, rate_sps: float, skipped: bool) -> None:
        """Take a trial at ``rate_sps`` into account."""
        chance = self._skip_chance(np.array([math.log(rate_sps)]))[0]
        weights = self._weights * (chance if skipped else 1 - chance)
        self._weights = weights / weights.sum()
        self.outcomes = (*self.outcomes, (rate_sps, skipped))

    def next_rate(self) -> float | None:
        """The rate whose trial tells most about the limit, steps/s; None when settled or after too many."""
        if self.settled or len(self.outcomes) >= MOST_TRIALS:
            return None
        low, high = self._quantile(0.01), self._quantile(0.99)
        bounds = (math.log(self.lowest_sps), math.log(self.highest_sps))
        candidates = np.linspace(max(low - 0.05, bounds[0]), min(high + 0.05, bounds[1]), 41)
        if candidates[0] >= candidates[-1]:
            candidates = np.array([min(max(low, bounds[0]), bounds[1])])
        # What a trial tells about the limit itself: the spread is summed out first.
        by_limit = self._weights.sum(axis=1)
        chance = (self._skip_chance(candidates) * self._weights).sum(axis=2)
        given = chance / np.maximum(by_limit, 1e-300)
        told = _entropy(chance.sum(axis=1)) - (_entropy(given) * by_limit).sum(axis=1)
        return math.exp(float(candidates[int(np.argmax(told))]))

    @property
    def settled(self) -> bool:
        """The interval is as narrow as asked for."""
        return self._quantile(0.95) - self._quantile(0.05) <= math.log(self.stop_ratio)

    def finding(self) -> Finding:
        """What is known now."""
        low, limit, high = (self._quantile(share) for share in (0.05, 0.5, 0.95))
        edge = 0.02
        at_edge = low < math.log(self.lowest_sps) + edge or high > math.log(self.highest_sps) - edge
        return Finding(
            limit_sps=math.exp(limit),
            low_sps=math.exp(low),
            high_sps=math.exp(high),
            working_sps=self._working_rate(low),
            trials=len(self.outcomes),
            settled=self.settled,
            at_edge=at_edge,
        )

    def curve(self, rates_sps: Array) -> Array:
        """Chance to skip at each rate, averaged over all that is still possible; same shape."""
        logs = np.log(np.asarray(rates_sps, dtype=float))
        chances: Array = (self._skip_chance(logs) * self._weights).sum(axis=(1, 2))
        return chances

    def curve_points(self, count: int = 25) -> list[tuple[float, float]]:
        """Rates about the limit and the chance to skip there, for a plot."""
        low, high = self._quantile(0.02) - 0.25, self._quantile(0.98) + 0.25
        rates = np.exp(np.linspace(low, high, count))
        return [(float(rate), float(chance)) for rate, chance in zip(rates, self.curve(rates), strict=True)]

    def _working_rate(self, low: float) -> float:
        below = low + math.log(WORKING_MARGIN)
        logs = np.linspace(below - 0.7, below, 60)
        chances = (self._skip_chance(logs) * self._weights).sum(axis=(1, 2)) - LAPSE / 2
        fit = logs[chances <= WORKING_SKIP_CHANCE]
        return math.exp(float(fit[-1]) if len(fit) else float(logs[0]))

    def _skip_chance(self, logs: Array) -> Array:
        """Chance to skip, shaped [rates, limits, spreads]."""
        away = (logs[:, None, None] - self._limits[None, :, None]) / _SPREADS[None, None, :]
        chance: Array = LAPSE / 2 + (1 - LAPSE) / (1 + np.exp(-np.clip(away, -40, 40)))
        return chance

    def _quantile(self, share: float) -> float:
        total = np.cumsum(self._weights.sum(axis=1))
        return float(np.interp(share, total, self._limits))


def clean_run_bound(clean_trials: int, confidence: float = 0.95) -> float:
    """Largest chance to skip that ``clean_trials`` passes in a row leave: 1 - (1 - c)^(1/n), about 3/n at 95 %.

    Exact binomial bound (the "rule of three" is its approximation). 1.0 for no trials at all.
    """
    if clean_trials < 1:
        return 1.0
    return float(1 - (1 - confidence) ** (1 / clean_trials))


def _entropy(chance: Array) -> Array:
    held = np.clip(chance, 1e-12, 1 - 1e-12)
    entropy: Array = -held * np.log(held) - (1 - held) * np.log(1 - held)
    return entropy
