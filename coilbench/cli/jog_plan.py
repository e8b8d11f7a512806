"""What ``coilbench jog`` sets out to find, and the plan of each search."""

from __future__ import annotations

import argparse

from coilbench.errors import InputProblem
from coilbench.motion.resonance import Band
from coilbench.motion.search import SearchPlan, SearchSummary
from coilbench.motion.trials import Shaft

SEARCHES = ("start", "run", "acceleration")
TURN = "turn"  # the steps of a turn, counted by the sensor
# Ranges searched when none is given, full steps/s and steps/s2: wider than salvaged motors reach (common practice).
_RANGES = {"start": (50.0, 4000.0), "run": (100.0, 10_000.0), "acceleration": (500.0, 100_000.0)}
_CAREFUL_SPS = 100.0
_START_SHARE = 0.8
_BACK_SHARE = 0.6


def questions_of(text: str) -> list[str]:
    """What to find, in the order in which each builds on the one before. Raises InputProblem."""
    known = (TURN, *SEARCHES)
    asked = [word.strip() for word in text.split(",") if word.strip()]
    for word in asked:
        if word not in known:
            raise InputProblem(f"--find {word}: expected {', '.join(known)}")
    if not asked:
        raise InputProblem(f"--find: expected one or more of {', '.join(known)}")
    return sorted(set(asked), key=known.index)


def plan_of(
    args: argparse.Namespace,
    question: str,
    first: bool,
    shaft: Shaft,
    highest_sps: float,
    found: dict[str, SearchSummary],
    resonant: list[Band],
) -> SearchPlan:
    """The plan of a search, from what the ones before it found. Raises InputProblem for one that can't be."""
    low, high = (args.lowest, args.highest) if first else (None, None)
    start = found["start"].working_sps if "start" in found else None
    careful = start * _START_SHARE if start else _CAREFUL_SPS
    if question == "run" and not first:
        low = max(careful, _RANGES["run"][0])
    span = _RANGES[question]
    low, high = low or span[0], high or span[1]
    if question != "acceleration":
        high = min(high, highest_sps)
    run = found["run"].working_sps if "run" in found else None
    return SearchPlan(
        question,  # type: ignore[arg-type]
        low,
        high,
        shaft,
        start_rate_sps=careful,
        run_rate_sps=run or 2 * careful,
        acceleration_sps2=args.acceleration,
        back_rate_sps=max(_CAREFUL_SPS, careful * _BACK_SHARE),
        width=args.width / 100,
        most_moves=args.moves,
        avoid=tuple((band.low_sps, band.high_sps) for band in resonant),
    )
