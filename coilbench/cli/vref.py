"""``coilbench vref``: the driver's reference voltage for a current, and back."""

from __future__ import annotations

import argparse

from coilbench.cli.motor_options import add_motor_arguments, given, motor_desk, named_by_option, say_taken
from coilbench.cli.output import note, print_json, print_table
from coilbench.errors import InputProblem
from coilbench.plain_text import inert
from coilbench.records.own_chips import own_chips_path
from coilbench.stages.desk import scratch_desk
from coilbench.stages.driver.answer import DriverAnswer
from coilbench.stages.driver.fields import FULL_STEP
from coilbench.stages.driver.stage import DriverStage

HELP = "The driver's reference voltage for a current, and back. Figures take units."

_OPTIONS = {
    "chip": "chip",
    "sense": "sense",
    "current": "current",
    "measured": "vref",
    "resistor": "resistor",
    "steps": "microsteps",
    "supply": "supply",
    "coil": "coil",
    "inductance": "inductance",
    "gain": "gain",
    "torque": "torque",
    "decay": "decay",
    "trimmer": "trimmer",
    "logic": "logic",
    "air": "ambient",
    "series": "series",
    "clamp": "clamp",
    "sink": "heat-sink",
    "own": "made-for",
    "leads": "leads",
    "off_ohm": "off-resistor",
    "off_farad": "off-capacitor",
}
_ONE_OF = ("current", "measured", "resistor")  # what the setting comes from


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The chip and its resistor, what is wanted or was measured, and what it is to drive."""
    add = parser.add_argument
    add("--chip", metavar="NAME", help="the driver chip, such as DRV8825")
    add("--sense", metavar="MARK", help="the board's sense resistor: its marking (R100, 0R1) or value (0.1 ohm)")
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--current", metavar="A", help="peak current to set, such as '0.8 A'; with --rms the RMS one")
    which.add_argument("--vref", metavar="V", help="reference voltage measured, such as '0.4 V'")
    which.add_argument("--resistor", metavar="OHM", help="resistor on the set pin, for chips that have no reference")
    add("--rms", action="store_true", help="the current given is RMS, not peak")
    add("--full-step", action="store_true", help="full step: the current given is for each coil with both on")
    add("--microsteps", metavar="N", help="microsteps to a full step, such as 16")
    add("--supply", metavar="V", help="the motor supply, such as 12V")
    add("--coil", metavar="OHM", help="resistance of one coil as connected, such as '34 ohm'")
    add(
        "--inductance",
        metavar="MILLIHENRY",
        help="inductance of one coil as connected, such as 20mH, or '1uF at 2.8kHz'",
    )
    add("--gain", metavar="N", help="for a chip not in the table: peak = VREF / (N x sense resistor), such as 8")
    add("--torque", metavar="%", help="share set by the chip's torque pins, such as 50%%")
    add("--decay", choices=("slow", "mixed", "fast"), help="how the board straps the decay pin")
    add(
        "--off-resistor",
        metavar="OHM",
        help="where a resistor and a capacitor set the chip's off time or its frequency, such as 43k",
    )
    add("--off-capacitor", metavar="F", help="the capacitor beside it, such as 470pF or 1n")
    add("--trimmer", metavar="V", help="the voltage at the trimmer's far end, such as 3.3V")
    add("--logic", metavar="V", help="the controller's logic level, such as 3.3V")
    add("--ambient", metavar="C", help="air around the driver, such as 40 °C")
    add("--heat-sink", metavar="K/W", nargs="?", const="yes", help="a heat sink is fitted, such as '15 K/W'")
    add("--series", metavar="OHM", help="resistors fitted to a driver that doesn't chop: '15 ohm', or '30 ohm ends'")
    add("--clamp", metavar="V", help="in the clamp's lead: diode, or a zener such as 24V")
    add("--made-for", metavar="V", help="the winding's own voltage, as its label may say")
    add("--leads", metavar="N", help="of the motor: 4, 5, 6 or 8 (five have one common)")
    add(
        "--live",
        action="store_true",
        help="follow the trimmer by a helper board: which way to turn, and when to hold",
    )
    add("--port", metavar="PORT", help="with --live: the board's port, such as /dev/ttyACM0 or virtual://bench")
    add("--pin", metavar="A0", default="A0", help="with --live: the analogue input that the wire is on (A0)")
    add("--for", dest="seconds", metavar="SECONDS", type=float, help="with --live: give up after so long")
    add("--list", nargs="?", const="chips", choices=("chips",), help="list the chips known")
    add_motor_arguments(parser, "the setting")


def run(args: argparse.Namespace) -> int:
    """Work the setting out and judge it; return the exit status."""
    if args.port is not None and not args.live:
        raise InputProblem("--port goes with --live")
    if args.list:
        _list_chips(as_json=args.json)
        return 0
    with motor_desk(args) as desk, named_by_option(_OPTIONS, all_given=args.motor is None):
        stage = DriverStage(desk)
        options = given(args, _OPTIONS)
        texts = stage.texts()
        if options.keys() & set(_ONE_OF):
            texts |= dict.fromkeys((*_ONE_OF, "rms"), "")
        if "chip" in options or "gain" in options:
            texts |= {"gain": "", "decay": ""}
            texts = (
                stage.with_chip(texts, options.get("chip", "")) if "gain" not in options else stage.without_own(texts)
            )
        texts |= options | ({"rms": "yes"} if args.rms else {}) | ({"steps": FULL_STEP} if args.full_step else {})
        say_taken(stage.taken, texts, _OPTIONS, options)
        answer = stage.answer(texts)
        if args.live:
            from coilbench.cli.vref_live import live

            stage.check_can_keep(answer)
            return live(stage, answer, args)
        if args.save and answer.can_be_set:
            stage.keep(texts)
        basis = [each.text for each in stage.known_before() if each.label == "from"]
    for line in stage.rung(texts):
        note(line)
    _print(args, answer, basis)
    if args.save and not answer.can_be_set:
        stage.check_can_keep(answer)
    return 0


def _print(args: argparse.Namespace, answer: DriverAnswer, basis: list[str]) -> None:
    if args.json:
        print_json(answer.as_json())
        return
    for each in basis:
        note(f"from {each}")
    for option, text in (("sense", args.sense), ("series", args.series), ("clamp", args.clamp)):
        if text and (why := answer.why_unused(option)):
            note(f"--{option} is not used: {why}")
    print(f"{inert(answer.headline)}\n")
    first, *others = answer.rows
    print_table(first, others)
    for heading, lines in (("findings", answer.findings), answer.to_do):
        print(f"\n{heading}")
        for line in lines:
            print(f"  {inert(line)}")


def _list_chips(*, as_json: bool) -> None:
    chips = DriverStage(scratch_desk()).chips()
    if as_json:
        print_json(
            {
                "chips": [
                    {"chip": each.chip, "motor": each.motor, "formula": each.formula_text, "verified": each.verified}
                    | {"status": each.status, "source": each.document, "trimmer_volt": each.formula.has_vref}
                    for each in chips
                ]
            }
        )
        return
    note(f"your own rows: {own_chips_path()}")
    words = {"verified": "verified", "memory": "NOT verified", "own": "own row"}
    rows = [
        (
            each.chip,
            each.motor,
            each.formula_text or "not known",
            "" if each.max_ampere is None else f"{each.max_ampere:g} A {each.max_kind}",
            "" if each.supply_max_volt is None else f"{each.supply_max_volt:g} V",
            "yes" if each.formula.has_vref else "no",
            words[each.status],
        )
        for each in chips
    ]
    print_table(("chip", "motor", "current", "most", "supply to", "by volts", "figures"), rows)
