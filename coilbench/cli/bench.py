"""``coilbench bench``: what the person has at the bench, on plain lines."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from coilbench.cli.motor_options import given, named_by_option
from coilbench.cli.output import note, print_json, print_table
from coilbench.errors import InputProblem

if TYPE_CHECKING:
    from coilbench.stages.bench import Kind, OwnThings

HELP = (
    "What you have at the bench: drivers, supplies, meters, helper boards, what watches a shaft. The usual one of "
    "each is what every motor starts from, and what commands take where nothing is given."
)

_OPTIONS = {"name": "name", "chip": "chip", "sense": "sense", "sink": "heat-sink", "supply": "supply",
            "accuracy": "meter", "port": "port", "watch": "watch", "wires": "wires"}  # fmt: skip
_ACTIONS = {
    "add": "tell of a thing; the first of its kind is the usual one",
    "change": "tell other things of one",
    "usual": "have every motor start from this one",
    "remove": "take one off the bench",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What to do, with which thing, and what is told of it."""
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")
    actions = parser.add_subparsers(dest="action", metavar="|".join(_ACTIONS))
    for name, says in _ACTIONS.items():
        action = actions.add_parser(name, help=says)
        add = action.add_argument
        add("kind", metavar="driver|supply|meter|board|watch")
        if name != "add":
            add("which", metavar="NAME", help="what it goes by in the list")
        if name in ("add", "change"):
            add("--name", metavar="NAME", help="what to call it (what it is)")
            add("--chip", metavar="NAME", help="of a driver: its chip, such as A4988")
            add("--sense", metavar="MARK", help="of a driver: the marking of its sense resistors, such as R100")
            add("--heat-sink", metavar="K/W", nargs="?", const="yes", help="of a driver: a heat sink is fitted")
            add("--supply", metavar="V", help="of a supply: its volts, such as 12V")
            add("--meter", metavar="ACCURACY", help='of a meter: such as "0.8%% + 5 counts of 0.1 ohm"')
            add("--port", metavar="PORT", help="of a helper board, or a meter that has one: such as /dev/ttyACM0")
            add("--wires", choices=("2", "4"), help="of a meter on a port: how many wires it measures with")
            add("--watch", choices=("flag", "sensor"), help="of a shaft: your eye on a flag, or an index sensor")
        if name == "add":
            add("--usual", action="store_true", help="have every motor start from it")
        add("--json", action="store_true", default=argparse.SUPPRESS, help="one JSON object on standard output")
        # Also accepted after the action; left out, the --bin in front of it holds.
        add("--bin", type=Path, metavar="PATH", default=argparse.SUPPRESS, help="the motor bin's file")


def run(args: argparse.Namespace) -> int:
    """List what there is, or change it; return the exit status."""
    from coilbench.records.paths import bin_path
    from coilbench.records.store import Bin
    from coilbench.stages.bench import OwnThings, kind_called

    path = args.bin or bin_path()
    kind = None if args.action is None else kind_called(args.kind)
    if args.action != "add" and not path.exists():  # looking must not begin a bin
        if kind is not None:
            raise InputProblem(f"no {kind.id} is told at your bench yet", remedy="`coilbench bench add` tells one")
        _show(None, as_json=args.json)
        return 0
    with Bin.open(path) as bin_, named_by_option(_OPTIONS):
        things = OwnThings(bin_)
        if kind is not None:
            _act(things, kind, args)
        _show(things, as_json=args.json)
    return 0


def _act(things: OwnThings, kind: Kind, args: argparse.Namespace) -> None:
    if args.action == "remove":
        things.remove(kind, args.which)
    elif args.action == "usual":
        things.make_usual(kind, args.which)
    else:
        texts = given(args, _OPTIONS)
        taken = {"name", *(each.id for each in kind.fields)}
        if odd := [_OPTIONS[field] for field in texts if field not in taken]:
            expected = ", ".join(f"--{_OPTIONS[each]}" for each in _OPTIONS if each in taken)
            raise InputProblem(f"--{odd[0]} tells nothing of a {kind.id}, expected {expected}")
        if args.action == "add":
            things.add(kind, texts, usual=args.usual)
        else:
            things.change(kind, args.which, texts)


def _show(things: OwnThings | None, *, as_json: bool) -> None:
    if as_json:
        print_json({"bench": [] if things is None else things.as_json()})
        return
    rows = [] if things is None else things.rows()
    if rows:
        print_table(("kind", "name", "what it is", ""), rows)
    else:
        note(
            "nothing is told of your bench yet: `coilbench bench add driver --chip A4988 --sense R100` tells a driver"
        )
