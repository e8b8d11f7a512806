"""A motor reduced to its chance of skipping: 200 of them can be tried where physics would take hours."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Dip:
    """A band of resonance about ``centre_sps``: there it skips with ``chance``; ``width`` is in log rate."""

    centre_sps: float
    width: float
    chance: float = 0.9


@dataclass(frozen=True)
class Response:
    """A motor that skips half the time at ``limit_sps``; ``spread`` is the logistic's width in log rate.

    ``misread`` is the chance that an outcome is reported the wrong way round; ``dips`` are where it resonates.
    """

    limit_sps: float
    spread: float
    misread: float = 0.01
    dips: tuple[Dip, ...] = ()

    def chance(self, rate_sps: float) -> float:
        """The chance to skip at a rate, read rightly."""
        away = (math.log(rate_sps) - math.log(self.limit_sps)) / self.spread
        holds = 1 - 1 / (1 + math.exp(-min(max(away, -40.0), 40.0)))
        for dip in self.dips:
            holds *= 1 - dip.chance * math.exp(-(((math.log(rate_sps / dip.centre_sps)) / dip.width) ** 2))
        return 1 - holds

    def skips(self, rate_sps: float, rng: np.random.Generator) -> bool:
        """One trial's outcome as it is reported."""
        return bool((rng.random() < self.chance(rate_sps)) != (rng.random() < self.misread))


def drawn_response(rng: np.random.Generator, lowest_sps: float = 100.0, highest_sps: float = 20_000.0) -> Response:
    """A motor drawn at random: limit and spread even in their logarithms.

    The spread's range is an assumption, not a measurement: the virtual motors of physics under a steady load turn
    from holding to skipping almost at one rate (0.004 or less); real friction and load vary from move to move.
    """
    limit = math.exp(rng.uniform(math.log(lowest_sps), math.log(highest_sps)))
    return Response(limit, math.exp(rng.uniform(math.log(0.004), math.log(0.06))))
