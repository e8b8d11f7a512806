"""``coilbench board pace``: a motor turned a step at a time, slowly enough to look at each."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Any

from coilbench.cautions import LIVE_DRIVER
from coilbench.cli.output import note, print_json
from coilbench.errors import Fault, InputProblem, NotEnoughKnown

if TYPE_CHECKING:
    from coilbench.board.link.frames import Frame

_TURNS = "the shaft turns: hold the motor down, hair, sleeves and fingers elsewhere"
_COILS = "nothing but supply and resistance limits a coil line's current: no more volts than the motor is rated for"
_SHORTEST_S, _LONGEST_S, _MOST = 0.1, 10.0, 9999


def add_action(actions: Any) -> None:
    """The action, with what it needs."""
    says = "turn a motor a step at a time, to look at which way it goes"
    pace = actions.add_parser("pace", help=says, description=says, allow_abbrev=False)
    pace.add_argument("--port", metavar="PORT", required=True, help="such as /dev/ttyACM0 or virtual://bench")
    pace.add_argument(
        "--steps",
        type=int,
        default=8,
        metavar="N",
        help="how many (8), below 0 the other way; a driver's microsteps each count as one",
    )
    pace.add_argument("--each", default="1 s", metavar="TIME", help='from step to step, "0.1 s" to "10 s" (1 s)')
    pace.add_argument(
        "--coils", action="store_true", help="by the four coil lines, one at a time; else by the driver"
    )
    pace.add_argument("--yes", action="store_true", help="the motor is fixed and its shaft clear: don't ask")
    pace.add_argument("--json", action="store_true", default=argparse.SUPPRESS, help="one JSON object")


def run(args: argparse.Namespace) -> int:
    """Turn it; return the exit status."""
    from coilbench.board.client.client import Helper
    from coilbench.board.link.ports import VIRTUAL

    each_s = _each_s(args.each)
    if not 0 < abs(args.steps) <= _MOST:
        raise InputProblem(f"--steps {args.steps}, expected 1 to {_MOST}, or below 0 for the other way")
    for caution in (LIVE_DRIVER, _TURNS, *([_COILS] if args.coils else ())):
        note(f"caution: {caution}")
    note("Ctrl-C stops the motor at any time")
    if not (args.yes or args.port.startswith(VIRTUAL)):
        print("Enter when ready: ", end="", file=sys.stderr, flush=True)
        if not sys.stdin.readline():
            raise NotEnoughKnown("nobody said that it may turn", remedy="--yes says so beforehand")
    with Helper.open(args.port) as helper:
        helper.stop()
        if args.coils:
            helper.drive_by_coils("wave")
        else:
            helper.drive_by_driver()
        helper.switch_outputs(True)
        end = helper.pace(args.steps, each_s, _Counted(args.steps, quiet=args.json).heard)
    if not end.complete:
        raise Fault(f"it ended early: {end.why}", remedy="look at the supply and the cable")
    if args.json:
        print_json({"steps": args.steps, "each_s": each_s, "by": "coils" if args.coils else "driver"})
    else:
        print("the same way at every step: the leads are in order; to and fro: two of them are crossed")
    return 0


def _each_s(text: str) -> float:
    from coilbench.quantity import QuantityError, parse_quantity

    try:
        each_s = parse_quantity(text, "second", bare=True)
    except QuantityError as problem:
        raise InputProblem(f"--each: {problem.happened}") from None
    if not _SHORTEST_S <= each_s <= _LONGEST_S:
        raise InputProblem(f"--each {text!r}, expected {_SHORTEST_S:g} s to {_LONGEST_S:g} s")
    return each_s


class _Counted:
    """Says each step as the board tells of it."""

    def __init__(self, steps: int, *, quiet: bool) -> None:
        self._all, self._quiet, self._said = abs(steps), quiet, 0

    def heard(self, event: Frame) -> None:
        """What the board tells while it turns."""
        if event.word not in ("progress", "stop") or self._quiet:
            return
        made = self._all - event.whole("left")
        if made > self._said:
            self._said = made
            print(f"step {made} of {self._all}", flush=True)
