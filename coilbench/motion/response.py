"""A motor reduced to its chance of skipping: 200 of them can be tried where physics would take hours."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Response:
    """A motor that skips half the time at ``limit_sps``; ``spread`` is the logistic's width in log rate.

    ``misread`` is the chance that an outcome is reported the wrong way round.
    """

    limit_sps: float
    spread: float
    misread: float = 0.01

    def skips(self, rate_sps: float, rng: np.random.Generator) -> bool:
        """One trial's outcome."""
        away = (math.log(rate_sps) - math.log(self.limit_sps)) / self.spread
        chance = 1 / (1 + math.exp(-min(max(away, -40.0), 40.0)))
        return bool((rng.random() < chance) != (rng.random() < self.misread))


def drawn_response(rng: np.random.Generator, lowest_sps: float = 100.0, highest_sps: float = 20_000.0) -> Response:
    """A motor drawn at random: limit even in log rate, spread as the physical virtual motors show it."""
    limit = math.exp(rng.uniform(math.log(lowest_sps), math.log(highest_sps)))
    return Response(limit, math.exp(rng.uniform(math.log(0.004), math.log(0.06))))
