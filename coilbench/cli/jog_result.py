"""What ``coilbench jog`` found, as JSON, as the motor's saved stage, and in words."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from coilbench.board.session.figures import with_bands, with_search
from coilbench.board.session.jog import JogSession, TurnEnd
from coilbench.board.session.session import BoardFound
from coilbench.cli.output import print_table
from coilbench.motion.resonance import Band
from coilbench.motion.search import SearchSummary


def result_object(
    board: BoardFound,
    args: argparse.Namespace,
    session: JogSession,
    turn: TurnEnd,
    found: dict[str, SearchSummary],
    resonant: list[Band],
) -> dict[str, Any]:
    """The result as JSON: full steps/s and steps/s2, figures to work with on top, each search below."""
    start, run, gain = (found.get(question) for question in ("start", "run", "acceleration"))
    main = run or start
    return {
        "port": args.port,
        "board": {"chip": board.chip, "sketch": board.sketch},
        "drive": session.drive.as_dict(),
        "microsteps": session.drive.microsteps,
        "shaft": asdict(session.shaft),
        "counted_steps_per_turn": round(turn.counted.steps_per_turn, 3) if turn.counted else None,
        "start_rate_sps": start.working_sps if start else None,
        "run_rate_sps": run.working_sps if run else None,
        "working_rate_sps": main.working_sps if main else None,
        "acceleration_sps2": gain.working_sps if gain else args.acceleration,
        "interval": list(main.interval_sps) if main else None,
        **with_bands({}, resonant),
        "searches": {question: summed.as_dict() for question, summed in found.items()},
    }


def saved_figures(
    known: Mapping[str, Any],
    session: JogSession,
    found: Mapping[str, SearchSummary],
    acceleration_sps2: float,
    resonant: list[Band] | None,
) -> dict[str, Any]:
    """The figures to keep of a motor on this drive: those ``known``, with what was looked for this time."""
    figures = {**known, "shaft": asdict(session.shaft)}
    for summed in found.values():
        figures = with_search(figures, summed, acceleration_sps2)
    return figures if resonant is None else with_bands(figures, resonant)


def show(result: dict[str, Any], found: dict[str, SearchSummary], resonant: list[Band]) -> None:
    """Print what was found."""
    if result["counted_steps_per_turn"] is not None:
        print(f"one turn of the flag: {result['counted_steps_per_turn']:.5g} full steps")
    if not found:
        return
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
