"""The chance to skip over rates, fitted to trials: a logistic in log rate with a lapse, on a grid posterior.

    chance(rate) = lapse + (1 - 2 lapse) / (1 + exp(-(ln rate - ln limit) / steepness))

The limit is the rate at which half the trials skip. The lapse stands for answers that tell nothing of the rate: a
flag misread, a loss of a whole turn that looks like none. The adaptive choice follows the psi method of
psychophysics (Kontsevich and Tyler: Bayesian adaptive estimation of psychometric slope and threshold, 1999; from
memory), with information reckoned per second spent.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

# How steeply a motor turns from holding to skipping nobody has published. The prior stands about what ten virtual
# motors' physics shows (response.csv), with tails as heavy as Student's t of three degrees of freedom: a real motor
# that is unlike them outweighs it within a few trials.
STEEPNESSES = (0.004, 0.007, 0.012, 0.02, 0.034, 0.058, 0.1, 0.17)
_STEEPNESS_MIDDLE = 0.027
_STEEPNESS_LOG_SPREAD = 0.3
_STEEPNESS_FREEDOM = 3
# What is stated of the limit at the end leans less on the ten: a prior that is too sure of itself costs but moves
# where it guides them, and would state intervals too narrow (design and inference with priors of their own:
# Tsutakawa, Design of experiment for bioassay, 1972; from memory).
_STATED_LOG_SPREAD = 0.8
# A motor unlike them that turns from holding to skipping gradually: weights of the steepnesses (own choice). Until
# the ten explain the trials so much better than it does, it is what is reckoned with: of such motors, at
# steepnesses of 0.05, 0.075 and 0.11, the interval then holds 91, 90 and 84 of 100 starts (89, 85, 85 of runs).
_GRADUAL = (0.0, 0.0, 0.0, 0.0, 0.0, 0.25, 0.25, 0.5)
_BETTER_BY = 2.7
LAPSES = (0.005, 0.03)
_LAPSE_WEIGHTS = (0.7, 0.3)
_LOG_STEP = 0.0075
# The grid reaches past the range so that a limit beyond it can be told from one at its end.
_BEYOND_LOG = 0.18
_MOST_CANDIDATES = 32


@dataclass(frozen=True, eq=False)
class Grid:
    """Cells limit x steepness x lapse; ``log_rates`` are the rates of the range, on the limits' own spacing."""

    log_limits: Array
    steepness: Array
    lapses: Array
    log_prior: Array
    log_rates: Array

    @lru_cache(maxsize=64)  # noqa: B019 - grids are few and live as long as the cache of make_grid
    def log_chances(self, log_rate: float) -> tuple[Array, Array]:
        """Log chance to pass and to skip at a rate in every cell, each (limits, steepnesses, lapses)."""
        rise = _logistic((log_rate - self.log_limits[:, None]) / self.steepness[None, :])[:, :, None]
        skip = self.lapses + (1 - 2 * self.lapses) * rise
        return np.log1p(-skip), np.log(skip)

    @cached_property
    def _rises(self) -> Array:
        """The chance of a motor without lapse so many steps of the grid from its limit, the most below it first."""
        steps = np.arange(1 - len(self.log_limits), len(self.log_limits))
        return _logistic(steps[:, None] * self._step / self.steepness[None, :])

    @property
    def _step(self) -> float:
        return float(self.log_limits[1] - self.log_limits[0])

    def rises(self, log_rates: Array, limits: npt.NDArray[np.intp], steepnesses: npt.NDArray[np.bool_]) -> Array:
        """The chance to skip without lapse at rates of the range, for these of the limits and steepnesses."""
        numbers = np.rint((log_rates - self.log_limits[0]) / self._step).astype(int)
        chosen = len(self.log_limits) - 1 + numbers[:, None] - limits
        return np.asarray(self._rises[:, steepnesses].take(chosen, axis=0), dtype=float)


@lru_cache(maxsize=8)
def make_grid(lowest: float, highest: float) -> Grid:
    """The grid for a range of rates (or accelerations), limits even in their logarithm."""
    low, high = math.log(lowest), math.log(highest)
    rates = np.linspace(low, high, math.ceil((high - low) / _LOG_STEP) + 1)
    step = rates[1] - rates[0]
    beyond = math.ceil(_BEYOND_LOG / step)
    limits = low + step * np.arange(-beyond, len(rates) + beyond)
    prior = np.zeros((len(limits), 1, 1)) + _log_believed(_STEEPNESS_LOG_SPREAD) + np.log(np.array(_LAPSE_WEIGHTS))
    return Grid(limits, np.array(STEEPNESSES), np.array(LAPSES), prior, rates)


def _log_believed(log_spread: float) -> Array:
    """Log weight of each steepness before any trial, shape (steepnesses, 1)."""
    away = np.log(np.array(STEEPNESSES) / _STEEPNESS_MIDDLE) / log_spread
    return np.asarray(-(_STEEPNESS_FREEDOM + 1) / 2 * np.log1p(away[:, None] ** 2 / _STEEPNESS_FREEDOM), dtype=float)


def may_be_gradual(cells: Array) -> bool:
    """Whether the trials leave it open that the motor turns gradually: few they are, or at odds with each other."""
    return float(cells.sum(axis=(0, 2)) @ _gradual_share()) * _BETTER_BY > 1


def believed(cells: Array) -> Array:
    """The cells' probabilities as they are reckoned with: of a gradual motor while it may be one."""
    if not may_be_gradual(cells):
        return cells
    gradual = cells * _gradual_share()[:, None]
    return np.asarray(gradual / gradual.sum(), dtype=float)


@cache
def _gradual_share() -> Array:
    """Each steepness's weight for a gradual motor over that for the ten."""
    return np.asarray(np.array(_GRADUAL) / weights(_log_believed(_STEEPNESS_LOG_SPREAD))[:, 0], dtype=float)


def stated(cells: Array) -> Array:
    """The cells' probabilities for a motor that may be unlike the ten: for the interval that is told at the end."""
    if may_be_gradual(cells):
        return believed(cells)
    wider = cells * np.exp(_log_believed(_STATED_LOG_SPREAD) - _log_believed(_STEEPNESS_LOG_SPREAD))
    return np.asarray(wider / wider.sum(), dtype=float)


def _logistic(away: Array) -> Array:
    return np.asarray(0.5 + 0.5 * np.tanh(away / 2), dtype=float)


def log_posterior(grid: Grid, trials: Iterable[tuple[float, bool]]) -> Array:
    """Log weight of each cell, not normalised, after trials of (figure, skipped).

    Alike trials are counted first and taken in the order of their figures: the order in which they came leaves no
    trace.
    """
    counts: dict[float, list[int]] = {}
    for figure, skipped in trials:
        counts.setdefault(figure, [0, 0])[skipped] += 1
    total = grid.log_prior.copy()
    for figure in sorted(counts):
        log_pass, log_skip = grid.log_chances(math.log(figure))
        passes, skips = counts[figure]
        total += passes * log_pass + skips * log_skip
    return total


def weights(log_weights: Array) -> Array:
    """Cell probabilities, summing to one."""
    lifted = np.exp(log_weights - log_weights.max())
    return np.asarray(lifted / lifted.sum(), dtype=float)


def quantile(values: Array, chance: Array, share: float) -> float:
    """The value below which ``share`` of the probability lies, between grid values by a straight line.

    ``values`` rise; ``chance`` is each one's probability.
    """
    total = np.cumsum(chance)
    middle = total - chance / 2
    return float(np.interp(share, middle / total[-1], values))


def information(grid: Grid, cells: Array) -> tuple[Array, Array, Array]:
    """Log rates worth a trial, and for each: expected information, nats, and the chance to skip.

    The information is that on the limit alone; steepness and lapse are averaged over, since to learn them would cost
    trials (Prins 2013 on the psi-marginal method, from memory).
    """
    possible = np.asarray(cells.any(axis=(0, 2)))
    cells = cells[:, possible]
    joint = cells.sum(axis=2)
    held = np.nonzero(joint.max(axis=1) > 1e-5 * joint.max())[0]
    weight = joint[held]
    lapse = (cells[held] @ grid.lapses) / np.maximum(weight, 1e-300)
    limit = weight.sum(axis=1)
    log_rates = _candidates(grid, joint.sum(axis=1))
    rise = grid.rises(log_rates, held, possible)
    skip = ((lapse * weight).sum(axis=1) + np.einsum("rls,ls->rl", rise, (1 - 2 * lapse) * weight)) / limit
    limit = limit / limit.sum()
    expected = skip @ limit
    worth: Array = _entropy(expected) - _entropy(skip) @ limit
    return log_rates, worth, expected


def _candidates(grid: Grid, limit: Array) -> Array:
    """Rates about where the limit may be, thinned to what is quickly weighed."""
    low, high = (quantile(grid.log_limits, limit, share) for share in (0.005, 0.995))
    reach = 0.05 + (high - low) / 8
    near = grid.log_rates[(grid.log_rates >= low - reach) & (grid.log_rates <= high + reach)]
    if not len(near):
        # All of the weight lies outside the range: its nearer end is what can be tried.
        return grid.log_rates[:1] if high < grid.log_rates[0] else grid.log_rates[-1:]
    thinned: Array = near[np.unique(np.linspace(0, len(near) - 1, _MOST_CANDIDATES).round().astype(int))]
    return thinned


def _entropy(chance: Array) -> Array:
    safe = np.clip(chance, 1e-12, 1 - 1e-12)
    return np.asarray(-safe * np.log(safe) - (1 - safe) * np.log1p(-safe), dtype=float)


def rate_for_chance(grid: Grid, cells: Array, chance: float, share: float) -> float:
    """The rate at which the motor itself (no lapse) skips with ``chance``: quantile ``share`` of what it may be."""
    joint = cells.sum(axis=2)
    logs = grid.log_limits[:, None] + grid.steepness[None, :] * math.log(chance / (1 - chance))
    order = np.argsort(logs, axis=None)
    return math.exp(quantile(logs.ravel()[order], joint.ravel()[order], share))


def steepness_told(grid: Grid, cells: Array) -> float:
    """How much of what the prior left open about the steepness the trials have told: 0 for nothing, 1 for all.

    The share by which the variance of its logarithm has shrunk; below 0 where it has grown.
    """
    logs = np.log(grid.steepness)

    def variance(chance: Array) -> float:
        chance = chance / chance.sum()
        return float(chance @ logs**2 - (chance @ logs) ** 2)

    prior = np.exp(grid.log_prior[0] - grid.log_prior[0].max()).sum(axis=1)
    return 1 - variance(cells.sum(axis=(0, 2))) / variance(prior)


def limit_quantiles(grid: Grid, cells: Array, shares: tuple[float, ...]) -> tuple[float, ...]:
    """Quantiles of the limit, in the figures' own unit."""
    limit = cells.sum(axis=(1, 2))
    return tuple(math.exp(quantile(grid.log_limits, limit, share)) for share in shares)


def chances(grid: Grid, cells: Array, log_rates: Array) -> tuple[Array, Array, Array]:
    """Chance to skip at each rate: the mean over what is possible, and what 5 % and 95 % of it lie below."""
    joint = cells.sum(axis=2)
    heavy = joint > 1e-6 * joint.max()
    lapse = ((cells @ grid.lapses)[heavy]) / joint[heavy]
    weight = joint[heavy] / joint[heavy].sum()
    limit, steepness = np.nonzero(heavy)
    away = (log_rates[:, None] - grid.log_limits[limit]) / grid.steepness[steepness]
    skip = lapse + (1 - 2 * lapse) * _logistic(away)
    order = np.argsort(skip, axis=1)
    total = np.cumsum(weight[order], axis=1)
    ranked = np.take_along_axis(skip, order, axis=1)
    rows = np.arange(len(log_rates))
    low, high = (ranked[rows, np.argmax(total >= share, axis=1)] for share in (0.05, 0.95 - 1e-9))
    return skip @ weight, low, high
