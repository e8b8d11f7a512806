"""``coilbench connect``: the ways to connect a motor, side by side, and which to take."""

from __future__ import annotations

import argparse

from coilbench.cautions import LIVE_DRIVER
from coilbench.cli.motor_options import add_motor_arguments, given, motor_desk, named_by_option, say_taken
from coilbench.cli.output import note, print_json, print_table
from coilbench.cli.windings_show import page_width
from coilbench.errors import InputProblem
from coilbench.stages.connection.answer import ConnectionAnswer, as_json, cells
from coilbench.stages.connection.roads import CLAMP_HEADS, HEADS, Roads, RoadsAnswer
from coilbench.stages.connection.stage import ConnectionStage

HELP = "The ways to connect a motor side by side, which to take, and why. Figures take units."

_OPTIONS = {
    "leads": "leads",
    "coil": "coil",
    "current": "current",
    "inductance": "inductance",
    "driver": "chip",
    "drive": "drive",
    "most": "driver-max",
    "supply": "supply",
    "speed": "speed",
    "step": "step-angle",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The motor's half-winding, and what is at hand to drive it."""
    parser.add_argument("--leads", metavar="N", help="4, 5, 6 or 8")
    parser.add_argument("--coil", metavar="OHMS", help="per half-winding (per coil for 4 leads)")
    parser.add_argument("--current", metavar="AMPERES", help="its rating per half-winding, RMS, two phases on")
    parser.add_argument("--inductance", metavar="MILLIHENRY", help="per half-winding; or such as '1uF at 2.8kHz'")
    parser.add_argument("--chip", metavar="NAME", help="the driver's chip, for its kind and limit")
    parser.add_argument("--drive", choices=("bipolar", "unipolar"), help="what the driver is (as its chip says)")
    parser.add_argument("--driver-max", metavar="AMPERES", help="the most the driver carries, peak")
    parser.add_argument("--supply", metavar="VOLTS", help="motor supply, for the torque at speed")
    parser.add_argument("--speed", metavar="RPM", help="speed the shaft must reach")
    parser.add_argument("--step-angle", metavar="ANGLE", help="(1.8 deg)")
    parser.add_argument("--ascii", action="store_true", help="draw with plain letters")
    parser.add_argument(
        "--roads", action="store_true", help="of a motor with taps: every road from step/direction to its windings"
    )
    add_motor_arguments(parser, "the chosen connection")


def run(args: argparse.Namespace) -> int:
    """Compare the connections; return the exit status."""
    if args.roads and args.save:
        raise InputProblem("--save with --roads: expected one of them, roads are only looked at")
    with motor_desk(args) as desk, named_by_option(_OPTIONS):
        if args.roads:
            roads = Roads(desk)
            found = roads.roads({**roads.texts(), **given(args, _OPTIONS)})
            print_json(found.as_json()) if args.json else _print_roads(found)
            return 0
        stage, options = ConnectionStage(desk), given(args, _OPTIONS)
        texts = {**stage.texts(), "take": ""}  # the advised one, whatever was taken before
        if "driver" in options:
            texts = stage.with_driver(texts, options["driver"])
        texts |= options
        say_taken(stage.taken, texts, _OPTIONS, {*options, *(["driver"] if "most" in options else [])})
        answer = stage.keep(texts) if args.save else stage.answer(texts)
    if args.json:
        print_json(as_json(answer))
    else:
        _print(answer, ascii=args.ascii)
    return 0


def _print_roads(answer: RoadsAnswer) -> None:
    print(f"{answer.judged_at}:")
    print_table(HEADS, [each.cells for each in answer.rows])
    for each in answer.rows:
        says, *others = each.told
        print(f"\n{each.road.name}: {says}")
        for line in others:
            print(f"  {line}")
    print()
    print_table(CLAMP_HEADS, [each.cells for each in answer.clamps])
    print(answer.gives_back)
    for line in answer.notes:
        print(f"- {line}")
    note(f"caution: {LIVE_DRIVER}")


def _print(answer: ConnectionAnswer, *, ascii: bool) -> None:
    assert answer.choice is not None
    advised = answer.choice.choose
    names = [f"{'> ' if row.connection == advised else '  '}{row.connection}" for row in answer.rows]
    columns = [cells(row, answer) for row in answer.rows]
    told = [name for name in columns[0] if any(row[name] for row in columns)]
    rows = [[name, *(row[each] for each in told)] for name, row in zip(names, columns, strict=True)]
    print_table(["connection", *told], rows)
    print(f"\ntake {answer.why}")
    for line in answer.notes:
        print(f"- {line}")
    print(f"\n{answer.convention}")
    if answer.phases:
        print()
        print_table(("wiring", "leads"), [(wire.where, " + ".join(wire.leads)) for wire in answer.wires()])
        print()
        picture = answer.picture()
        print(picture.text(page_width(), ascii=ascii) if picture is not None else "")
    elif answer.test:
        print(f"\n{answer.test}")
    note(f"caution: {LIVE_DRIVER}")
