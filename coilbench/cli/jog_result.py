"""What ``coilbench jog`` found, as JSON, as the motor's saved stage, and in words."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from typing import Any

from coilbench.board.jog_session import JogSession, TurnEnd
from coilbench.board.session import BoardFound
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
        "resonance_sps": [round(band.middle_sps) for band in resonant],
        "resonance_bands_sps": [[band.low_sps, band.high_sps] for band in resonant],
        "searches": {question: summed.as_dict() for question, summed in found.items()},
    }


def fact_of(result: dict[str, Any], found: dict[str, SearchSummary], resonant: list[Band] | None) -> dict[str, Any]:
    """The part of ``result_object`` that is kept with the motor: what was looked for this time, and no more."""
    names = {"shaft": True, "start_rate_sps": "start" in found, "run_rate_sps": "run" in found}
    names["acceleration_sps2"] = "run" in found or "acceleration" in found
    names |= dict.fromkeys(("working_rate_sps", "interval"), bool({"start", "run"} & found.keys()))
    names |= dict.fromkeys(("resonance_sps", "resonance_bands_sps"), resonant is not None)
    fact = {name: result[name] for name, wanted in names.items() if wanted}
    if found:
        fact["proved_chance"] = list(found.values())[-1].proved_chance
    return fact


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
