"""A motor reduced to its chance of skipping: 200 of them can be tried where physics would take hours.

How such a motor is drawn is calibrated on ten motors of physics that vary from move to move, for fast starts and for
fast runs: ``response.csv`` beside this file, measured by many trials each and made again with
``python tests/board/calibrate.py``. The tests measure some of it anew, so that physics and table can't drift apart.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

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


@dataclass(frozen=True)
class Measured:
    """One motor of physics, by ``trials`` trials about its limit; errors are standard ones, of the logarithms.

    ``question`` is start or run, runs begin at ``start_rate_sps``; all come back at ``back_rate_sps``, and what is
    lost on the way back counts, too. ``lapses`` of ``lapse_trials`` trials far from the
    limit came out the unlikely way.
    """

    question: str
    motor: str
    load_newton_metre: float
    flywheel: float
    start_rate_sps: float
    back_rate_sps: float
    limit_sps: float
    spread: float
    log_limit_error: float
    log_spread_error: float
    trials: int
    lapses: int
    lapse_trials: int


_WORDS = ("question", "motor")
_COUNTS = ("trials", "lapses", "lapse_trials")


@cache
def measured() -> tuple[Measured, ...]:
    """The table of the ten motors' responses."""
    text = (resources.files("coilbench.motion") / "response.csv").read_text(encoding="utf-8")
    return tuple(
        Measured(**{name: _read(name, cell) for name, cell in row.items()})
        for row in csv.DictReader(io.StringIO(text))
    )


def _read(name: str, cell: str) -> Any:
    return cell if name in _WORDS else int(cell) if name in _COUNTS else float(cell)


def drawn_response(rng: np.random.Generator, lowest_sps: float = 100.0, highest_sps: float = 20_000.0) -> Response:
    """A motor drawn at random: its limit even in the logarithm, its spread log-normal as the ten motors' are.

    The motors themselves lapse in 5 of 520 trials, most of them on the way back; that a person misreads one flag in a
    hundred is an assumption.
    """
    limit = math.exp(rng.uniform(math.log(lowest_sps), math.log(highest_sps)))
    log_spreads = np.log([each.spread for each in measured()])
    return Response(limit, math.exp(rng.normal(log_spreads.mean(), log_spreads.std(ddof=1))))
