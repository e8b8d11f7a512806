"""``coilbench jog``: a search for the fastest start and run without skipped steps, over a port, on plain lines."""

from __future__ import annotations

import argparse
from contextlib import nullcontext
from functools import partial
from pathlib import Path
from typing import Any

from coilbench.board.link.faults import LinkFault
from coilbench.board.link.link import ConversationLog
from coilbench.board.link.ports import VIRTUAL
from coilbench.board.session.drive import FORMS, KINDS
from coilbench.cli.export_file import refuse_log
from coilbench.cli.jog_dialogue import Dialogue
from coilbench.cli.motor_options import add_motor_arguments, given, motor_desk, named_by_option, say_taken
from coilbench.cli.output import note, print_json, print_table
from coilbench.errors import InputProblem
from coilbench.records.saved.jog import Jog
from coilbench.stages.desk import Desk
from coilbench.stages.jog.figures import figures_of
from coilbench.stages.jog.plans import check_limits
from coilbench.stages.jog.report import report
from coilbench.stages.jog.saved import SWING
from coilbench.stages.jog.searches import KINDS as SEARCHES
from coilbench.stages.jog.searches import Limits
from coilbench.stages.jog.session import open_board
from coilbench.stages.jog.setting import usable_setting
from coilbench.stages.jog.stage import JogStage

HELP = "Find how fast a motor starts and runs without lost steps, by trials over a helper board's port."

TURN = "turn"  # the steps of a turn, counted by the sensor
_FINDS = (TURN, SWING, "start", "run", "acceleration")
_OPTIONS = {"kind": "drive", "form": "form", "microsteps": "microsteps", "turn": "steps-per-turn", "gear": "gear",
            "flag_on": "flag", "acceleration": "acceleration", "watch": "watch", "port": "port",
            "on_shaft": "on-shaft", "rotor": "rotor-inertia", "inertia": "load-inertia", "torque": "load-torque",
            "supply": "supply", "current": "current"}  # fmt: skip


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Port, drive, shaft, what to look for."""
    parser.add_argument(
        "--port", metavar="PORT", help="such as /dev/ttyACM0, COM3 or virtual://bench (your usual board's)"
    )
    parser.add_argument("--drive", choices=KINDS, help="a step/direction driver, or a transistor array or dual "
                        "H-bridge on the four coil lines (as last, or as the motor's connection says)")  # fmt: skip
    parser.add_argument("--form", choices=FORMS, help="how coil lines are switched (full)")
    parser.add_argument("--find", default="start,run", metavar="LIST",
                        help="start: start-stop (pull-in) rate; run: slew (pull-out) rate; acceleration; turn: "
                        "steps a turn, by the sensor; swing: where it shakes, by touch (start,run)")  # fmt: skip
    parser.add_argument("--steps-per-turn", metavar="N", help="full steps of the rotor's turn (200; 48 for a can)")
    parser.add_argument("--microsteps", metavar="N", help="as set on the driver (1)")
    parser.add_argument("--gear", metavar="X", help="rotor turns per turn of the output (1)")
    parser.add_argument("--flag", choices=("rotor", "output"), help="the shaft the flag is on (output)")
    parser.add_argument("--acceleration", metavar="A", help="of the ramp for the slew rate, steps/s2 (5000)")
    parser.add_argument("--on-shaft", choices=("bare", "coupled", "machine"),
                        help="found with nothing, a load, all of the machine on it (bare)")  # fmt: skip
    parser.add_argument(
        "--supply", metavar="V", help="the driver's, kept with the figures (as the driver stage says)"
    )
    parser.add_argument("--current", metavar="A", help="the driver's limit, peak (as the driver stage says)")
    parser.add_argument(
        "--rotor-inertia", metavar="J", help="g cm2, as its sheet prints it: tells where it resonates"
    )
    parser.add_argument("--load-inertia", metavar="J", help="g cm2 of what is or will be on the shaft")
    parser.add_argument("--load-torque", metavar="M", help="that the load asks for, such as 0.05 Nm")
    parser.add_argument("--lowest", type=float, metavar="R", help="of the range of the first thing to find")
    parser.add_argument("--highest", type=float, metavar="R", help="of the range of the first thing to find")
    parser.add_argument("--width", type=float, metavar="PERCENT", help="of the interval to stop at (8)")
    parser.add_argument("--moves", type=int, metavar="N", help="at most for each thing to find (25)")
    parser.add_argument("--prove", type=int, default=0, metavar="N", help="moves of a proving run at the end (0)")
    parser.add_argument("--resonance", action="store_true", help="look for lost steps at low speed first")
    parser.add_argument("--sensor", dest="watch", action="store_const", const="sensor",
                        help="an index sensor tells, nobody is asked")  # fmt: skip
    parser.add_argument("--eye", dest="watch", action="store_const", const="eye", help="a person watches a flag")
    parser.add_argument("--log", type=Path, metavar="FILE",
                        help="write what both sides say; coilbench board --replay FILE shows it")  # fmt: skip
    parser.add_argument("--yes", action="store_true", help="the motor is fixed and its shaft clear: don't ask")
    add_motor_arguments(parser, "each move, and the result, one for each drive,")


def run(args: argparse.Namespace) -> int:
    """Turn once, search, say what was found."""
    finds = _finds(args.find)
    if not 0 <= args.prove <= 1000:
        raise InputProblem(f"--prove {args.prove}: expected 0 to 1000 moves")
    refuse_log(args.log, args.bin)
    with motor_desk(args) as kept, named_by_option(_OPTIONS), _desk(kept, args.save) as bin_:
        stage = JogStage(Desk(bin_, kept.motor), partial(open_board, log=_visit_log(args.log)))
        try:
            return _jog(args, stage, finds)
        except LinkFault:
            if args.log is not None and args.log.exists():
                note(f"what was said is in {args.log}; coilbench board --replay {args.log} shows it")
            raise
        finally:
            stage.close()


def _desk(kept: Desk, save: bool) -> Any:
    """The bin, or a copy of it where nothing is to be kept."""
    return nullcontext(kept.bin) if save else kept.bin.in_memory_copy()


def _jog(args: argparse.Namespace, stage: JogStage, finds: list[str]) -> int:
    options = given(args, _OPTIONS)
    texts = stage.texts() | options
    board, watch = stage.own_board, stage.own_watch
    if "port" not in options:
        if board is None:
            remedy = "give --port, or tell yours once: `coilbench bench add board --port PORT`"
            raise InputProblem("no port, and no helper board is told at your bench", remedy=remedy)
        texts["port"] = board.port
        say_taken({"port": board}, texts, _OPTIONS)
    if watch is not None and "watch" not in options and texts["watch"] == watch.watch:
        note(f"your usual way to watch the shaft: --{watch.watch}")
    setting = usable_setting(texts, stage.desk.known)
    if setting.drive.by_coils and args.microsteps not in (None, "1"):
        raise InputProblem(f"--microsteps {args.microsteps}: coil lines make none, expected --form")
    if TURN in finds and not setting.shaft.sensor:
        raise InputProblem("--find turn: the steps of a turn are counted by the index sensor, expected --sensor")
    asked = [each for each in finds if each not in (TURN, SWING)]
    limits = Limits(most_moves=args.moves, width=None if args.width is None else args.width / 100)
    first = Limits(args.lowest, args.highest, limits.width, limits.most_moves)
    if asked:
        known = figures_of(stage.desk.known.get(Jog), setting.drive)
        check_limits(asked[0], setting, known, first)  # refused before anything is opened
    only_count = finds == [TURN]
    virtual = setting.url.startswith(VIRTUAL)
    dialogue = Dialogue(stage, ask=not (virtual or args.yes))
    dialogue.do(stage.connect(texts))
    assert stage.board is not None
    note(f"board: {stage.board.chip}, sketch {stage.board.sketch}; {setting.drive.words}")
    dialogue.make_ready(virtual=virtual)
    dialogue.turn(only_count=only_count)
    if SWING in finds:
        dialogue.search(SWING, limits)
    if args.resonance:
        dialogue.search("resonance", limits)
    needed = _with_start(asked, start_known=stage.figures.start_rate_sps is not None)
    if needed != asked:
        note("no start-stop rate is known that holds: it is found first")
    for each in needed:
        dialogue.search(each, first if each == asked[0] else limits)
        if args.prove and each == needed[-1]:
            dialogue.prove(args.prove)
    stage.leave()
    found = report(stage, texts["port"])
    if args.save:
        note(f"kept with {args.motor}, found with: {setting.drive.words}")
    if args.json:
        print_json(found)
    else:
        _print(found, stage)
    return 0


def _finds(text: str) -> list[str]:
    """What to find, in the order in which each builds on the one before. Raises InputProblem."""
    asked = [word.strip() for word in text.split(",") if word.strip()]
    for word in asked:
        if word not in _FINDS:
            raise InputProblem(f"--find {word}: expected {', '.join(_FINDS)}")
    if not asked:
        raise InputProblem(f"--find: expected one or more of {', '.join(_FINDS)}")
    return sorted(set(asked), key=_FINDS.index)


def _with_start(asked: list[str], *, start_known: bool) -> list[str]:
    """The searches to make, in order: what builds on a start that isn't known has that found first."""
    first = ["start"] if asked and not start_known and "start" not in asked else []
    return [*first, *asked]


def _visit_log(path: Path | None) -> Any:
    """One file for the whole visit: a board that was unplugged and comes back is written on."""
    if path is None:
        return None
    begun: list[ConversationLog] = []

    def begin() -> ConversationLog:
        begun.append(ConversationLog(path, more=bool(begun)))
        return begun[-1]

    return begin


def _print(found: dict[str, Any], stage: JogStage) -> None:
    if found["counted_steps_per_turn"] is not None:
        print(f"one turn of the flag: {found['counted_steps_per_turn']:.5g} full steps")
    rows = [
        (
            kind,
            f"{each['limit_sps']:.0f}",
            f"{each['interval_sps'][0]:.0f} to {each['interval_sps'][1]:.0f}",
            f"{each['working_sps']:.0f} {found['found_with']['on_shaft']}" if each["working_sps"] else "unknown",
            each["unit"],
            each["moves"],
        )
        for kind, each in found["searches"].items()
    ]
    if rows:
        print_table(("rate", "limit", "90 % sure", "work with", "unit", "moves"), rows)
    for kind in SEARCHES:
        for line in stage.results[kind].said if kind in stage.results else ():
            print(line)
