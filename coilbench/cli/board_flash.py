"""``coilbench board flash`` and ``board sketch``: the helper sketch on to a board, its sources into a folder."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from coilbench.cli.output import note, print_json
from coilbench.errors import InputProblem

if TYPE_CHECKING:
    from coilbench.board.flash.flashing import Flashing, Plan

_YES = ("y", "yes")
_HALF = "stopped: the board may hold half a sketch; the same command writes it whole"


def add_actions(actions: Any) -> None:
    """The two actions, each with what it needs."""
    flash = actions.add_parser(
        "flash",
        help="write the helper sketch to a board, by avrdude",
        description="Names the board, tells what is on it, asks once, writes the ready image, reads it back, greets.",
        allow_abbrev=False,
    )
    flash.add_argument("--port", metavar="PORT", required=True, help="such as /dev/ttyACM0 or COM3")
    flash.add_argument("--chip", metavar="CHIP", default="", help="where USB doesn't tell: such as ATmega328P")
    flash.add_argument("--yes", action="store_true", help="don't ask before what is on the board is overwritten")
    sketch = actions.add_parser("sketch", help="write the sketch's sources into a folder", allow_abbrev=False)
    sketch.add_argument("folder", type=Path, metavar="DIR", help="a new folder")
    for each in (flash, sketch):
        each.add_argument(
            "--json", action="store_true", default=argparse.SUPPRESS, help="one JSON object on standard output"
        )


def run(args: argparse.Namespace) -> int:
    """Do it; return the exit status: 3 where the person said no."""
    return _sketch(args.folder, args.json) if args.action == "sketch" else _flash(args)


def _flash(args: argparse.Namespace) -> int:
    from coilbench.board.flash.flashing import Flashing

    asked = args.yes or (sys.stdin.isatty() and not args.json)
    if not asked:
        raise InputProblem("nobody to ask whether to overwrite the board", remedy="--yes says so beforehand")
    flashing = Flashing(args.port, args.chip, tell=note)
    plan = flashing.look()
    _tell(plan)
    if not args.yes and not _said_yes():
        note("nothing was written")
        return 3
    return _written(flashing, plan, args.json)


def _tell(plan: Plan) -> None:
    from coilbench.board.flash.flashing import CAUTION

    for line in plan.lines:
        note(line)
    note(f"caution: {CAUTION}")


def _said_yes() -> bool:
    print("write it? y or n: ", end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip().lower() in _YES


def _written(flashing: Flashing, plan: Plan, as_json: bool) -> int:
    from coilbench.board.flash.flashing import version

    try:
        there = flashing.write(plan)
    except KeyboardInterrupt:
        note(_HALF)
        raise
    if as_json:
        print_json(plan.as_json() | {"verified": True, "answers": version(there.sketch), "can": sorted(there.can)})
    else:
        print(f"written, read back the same, and it answers: helper sketch {version(there.sketch)} on {plan.port}")
        print(f"can: {', '.join(sorted(there.can))}")
    return 0


def _sketch(folder: Path, as_json: bool) -> int:
    from coilbench.board.flash.sources import write_out

    files = write_out(folder)
    if as_json:
        print_json({"folder": str(folder), "files": [str(each.relative_to(folder)) for each in files]})
        return 0
    print(f"{len(files)} files in {folder}; open {folder / 'bench_helper' / 'bench_helper.ino'}")
    print(f"wiring and settings: {folder / 'bench_helper' / 'README.md'}")
    return 0
