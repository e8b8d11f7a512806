"""What ``coilbench jog`` found, as JSON, as the motor's saved stage, and in words."""

from __future__ import annotations

import argparse
from typing import Any

from coilbench.board.jog_session import BoardFound
from coilbench.cli.output import print_table
from coilbench.motion.resonance import Band
from coilbench.motion.search import SearchSummary

_KEPT = (
    "microsteps",
    "start_rate_sps",
    "run_rate_sps",
    "working_rate_sps",
    "acceleration_sps2",
    "interval",
    "resonance_sps",
    "resonance_bands_sps",
)


def result_object(
    board: BoardFound, args: argparse.Namespace, found: dict[str, SearchSummary], resonant: list[Band]
) -> dict[str, Any]:
    """The result as JSON: full steps/s and steps/s2, figures to work with on top, each search below."""
    start, run, gain = (found.get(question) for question in ("start", "run", "acceleration"))
    main = run or start
    return {
        "port": args.port,
        "board": {"chip": board.chip, "sketch": board.sketch},
        "microsteps": args.microsteps,
        "start_rate_sps": start.working_sps if start else None,
        "run_rate_sps": run.working_sps if run else None,
        "working_rate_sps": main.working_sps if main else None,
        "acceleration_sps2": gain.working_sps if gain else args.acceleration,
        "interval": list(main.interval_sps) if main else None,
        "resonance_sps": [round(band.middle_sps) for band in resonant],
        "resonance_bands_sps": [[band.low_sps, band.high_sps] for band in resonant],
        "searches": {question: summed.as_dict() for question, summed in found.items()},
    }


def fact_of(result: dict[str, Any]) -> dict[str, Any]:
    """The part of ``result_object`` that is kept with the motor."""
    return {name: result[name] for name in _KEPT}


def show(found: dict[str, SearchSummary], resonant: list[Band]) -> None:
    """Print what was found."""
    rows = [
        (
            question,
            f"{summed.limit_sps:.0f}",
            f"{summed.interval_sps[0]:.0f} to {summed.interval_sps[1]:.0f}",
            f"{summed.working_sps:.0f}" if summed.working_sps else "unknown",
            summed.unit,
            summed.moves,
        )
        for question, summed in found.items()
    ]
    print_table(("fastest", "limit", "90 % sure", "work with", "unit", "moves"), rows)
    for band in resonant:
        print(f"resonance: skips between {band.low_sps:.0f} and {band.high_sps:.0f} steps/s; pass through it quickly")
    for summed in found.values():
        for line in summed.said:
            print(line)
