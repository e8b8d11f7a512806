"""Measures the ten motors' limits and spreads by many trials: the table beside ``coilbench/motion/response.py``.

Whole trials, out and back, by a way back that was proved alone first: as they are made at the bench.

.venv/bin/python tests/board/calibrate.py > coilbench/motion/response.csv     # some minutes on two cores
"""

from __future__ import annotations

import csv
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))
from coilbench.motion.search_order import START_SHARE, Known, plan_search
from coilbench.motion.search_plan import Searched, SearchPlan, trial_at
from tests.board.ten_motors import TEN, Bench, Loaded

ACCELERATION_SPS2 = 5000.0
# Runs start at this share of the fastest start's limit, as a working start's usual share of it gives.
RUN_START_SHARE = 0.65
_COARSE_TRIALS = 30
# The even grid of rates about the limit, in its logarithm, and where a motor should hold, or skip, for certain.
_REACH_LOG = 0.13
_FAR_LOG = 0.25


@dataclass(frozen=True)
class Fit:
    """A logistic in log rate; the standard errors are of ln limit and ln spread."""

    limit: float
    spread: float
    limit_error: float
    spread_error: float


def fit(trials: list[tuple[float, bool]]) -> Fit:
    """Limit and spread that make trials of (rate, skipped) likeliest, on a grid, with the errors of its posterior."""
    rates = np.log([rate for rate, _ in trials])
    skipped = np.array([skip for _, skip in trials])
    limits = np.linspace(rates.min(), rates.max(), 241)
    spreads = np.geomspace(0.002, 0.2, 121)
    away = np.clip((rates - limits[:, None, None]) / spreads[:, None], -500, 500)
    likely = -np.where(skipped, np.logaddexp(0, -away), np.logaddexp(0, away)).sum(axis=2)
    weight = np.exp(likely - likely.max())
    weight /= weight.sum()
    found, errors = [], []
    for values, chance in ((limits, weight.sum(axis=1)), (np.log(spreads), weight.sum(axis=0))):
        mean = float(values @ chance)
        found.append(float(np.exp(mean)))
        errors.append(float(np.sqrt((values - mean) ** 2 @ chance)))
    return Fit(found[0], found[1], errors[0], errors[1])


def plan_for(loaded: Loaded, question: Searched, start_sps: float) -> SearchPlan:
    """The search whose trials are measured; ``start_sps`` is where runs start."""
    known = Known(start_sps / START_SHARE)
    return plan_search(question, loaded.shaft, known, acceleration_sps2=ACCELERATION_SPS2)


def coarse_limit(bench: Bench, plan: SearchPlan) -> float:
    """About the limit: halving, then up and down by steps, whose mean is near the even chance."""
    low, high = plan.lowest, plan.highest
    for _ in range(6):
        middle = (low * high) ** 0.5
        low, high = (low, middle) if bench.skips(trial_at(plan, middle)) else (middle, high)
    rate, visited = (low * high) ** 0.5, []
    for _ in range(_COARSE_TRIALS):
        rate *= 1 / 1.03 if bench.skips(trial_at(plan, rate)) else 1.03
        visited.append(rate)
    return float(np.exp(np.mean(np.log(visited[_COARSE_TRIALS // 3 :]))))


def measured(loaded: Loaded, plan: SearchPlan, seed: int, about: float, trials: int) -> list[tuple[float, bool]]:
    """Trials spread evenly over the rates near ``about``."""
    bench = Bench(loaded, seed)
    rates = about * np.exp(np.linspace(-_REACH_LOG, _REACH_LOG, trials))
    return [(float(rate), bench.skips(trial_at(plan, float(rate)))) for rate in rates]


def misses(loaded: Loaded, plan: SearchPlan, seed: int, limit: float, trials: int) -> int:
    """How many of ``trials`` far below the limit skip and far above it hold: lapses of the motor itself."""
    bench = Bench(loaded, seed)
    far = [(limit * np.exp(side * _FAR_LOG), side > 0) for side in (-1, 1)]
    return sum(bench.skips(trial_at(plan, float(rate))) != skips for rate, skips in far for _ in range(trials // 2))


def row(job: tuple[int, Loaded, int]) -> list[list[str]]:
    """The table's rows of one motor."""
    number, loaded, trials = job
    rows, start, questions = [], 0.0, get_args(Searched)[:2]
    for question in questions:
        plan = Bench(loaded, 4000 + number).with_way_back(plan_for(loaded, question, start))
        about = coarse_limit(Bench(loaded, 1000 + number), plan)
        found = fit(measured(loaded, plan, 2000 + number, about, trials))
        lapses = misses(loaded, plan, 3000 + number, found.limit, trials // 5)
        figures = (
            f"{found.limit:.5g}",
            f"{found.spread:.3g}",
            f"{found.limit_error:.2g}",
            f"{found.spread_error:.2g}",
        )
        load = (f"{loaded.load_newton_metre:g}", f"{loaded.flywheel:g}")
        ways = (f"{start:g}", f"{plan.back_rate_sps:g}")
        counts = (f"{trials}", f"{lapses}", f"{trials // 5}")
        rows.append([question, loaded.name, *load, *ways, *figures, *counts])
        start = float(round(RUN_START_SHARE * found.limit))
    return rows


HEADER = (
    "question",
    "motor",
    "load_newton_metre",
    "flywheel",
    "start_rate_sps",
    "back_rate_sps",
    "limit_sps",
    "spread",
    "log_limit_error",
    "log_spread_error",
    "trials",
    "lapses",
    "lapse_trials",
)


def main() -> None:
    """Print the table."""
    table = csv.writer(sys.stdout, lineterminator="\n")
    table.writerow(HEADER)
    with ProcessPoolExecutor(2) as pool:
        for rows in pool.map(row, [(number, loaded, 100) for number, loaded in enumerate(TEN)]):
            table.writerows(rows)


if __name__ == "__main__":
    main()
