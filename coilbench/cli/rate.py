"""``coilbench rate``: what current a motor can take, by size, label, temperature-rise test or a spun shaft."""

from __future__ import annotations

import argparse

from coilbench.cli.motor_options import add_motor_arguments, given, motor_desk, named_by_option
from coilbench.cli.output import note, print_json, print_table
from coilbench.errors import InputProblem
from coilbench.stages.ratings.stage import RatingsStage

HELP = "What current a motor can take: by size, label, temperature-rise test or a spun shaft. Figures take units."

_OPTIONS = {
    "face": "frame",
    "diameter": "diameter",
    "length": "length",
    "coil": "coil",
    "leads": "leads",
    "holds": "holding-torque",
    "rise": "rise",
    "label": "label",
    "step": "step-angle",
    "detents": "detents",
    "henry": "inductance",
    "cold": "cold",
    "room": "cold-temp",
    "hot": "hot",
    "room2": "ambient",
    "after": "cooling",
    "probes": "probes",
    "digit": "meter-step",
    "constant": "constant",
    "run": "current",
    "idle": "at-rest",
    "volts": "spin-volts",
    "hertz": "spin-frequency",
    "drill": "drill",
    "limit": "meter-limit",
}
# Of these one stands in for the others: what was typed before goes.
_TOGETHER = (("face", "diameter"), ("hot", "after"), ("hertz", "drill"))


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options in groups, by where the figures come from."""
    size = parser.add_argument_group("size")
    size.add_argument("--frame", help='"NEMA 17", "17", "42mm", "35mm can"')
    size.add_argument("--diameter", metavar="LENGTH", help="of a round can")
    size.add_argument("--length", metavar="LENGTH", help="of the body, without the shaft")
    size.add_argument("--coil", metavar="OHMS", help="cold; per coil, for 5, 6 and 8 leads per half-winding")
    size.add_argument("--leads", metavar="N", help="4, 5, 6 or 8: says whether coils or half-windings are meant")
    size.add_argument("--holding-torque", metavar="TORQUE", help="as printed, two phases on: narrows the current")
    size.add_argument("--rise", metavar="KELVIN", help="target rise of the winding (80 K, round cans 60 K)")
    label = parser.add_argument_group("label and counts")
    label.add_argument("--label", metavar="TEXT", help='what is printed, such as "12V 75 ohm"')
    label.add_argument("--step-angle", metavar="ANGLE")
    label.add_argument("--steps", metavar="N", help="steps (or detents felt) counted")
    label.add_argument("--turns", metavar="N", help="turns they were counted over (1)")
    label.add_argument("--detents", metavar="FEEL", help="how the shaft feels, all leads apart: none, soft, firm")
    label.add_argument("--inductance", metavar="MILLIHENRY", help="or the capacitor it rings with: '1uF at 2.8kHz'")
    label.add_argument("--time-constant", metavar="MILLISECONDS", help="to 63 %% of the final current")
    soak = parser.add_argument_group("temperature-rise test")
    soak.add_argument("--cold", metavar="OHMS", help="before the run")
    soak.add_argument("--cold-temp", metavar="TEMP", help="of the cold motor (25 °C)")
    soak.add_argument("--hot", metavar="OHMS", help="as the current is switched off")
    soak.add_argument("--ambient", metavar="TEMP", help="of the room at the end of the run (as the cold motor)")
    soak.add_argument("--cooling", metavar="LIST", help='readings after switching off, "30s:3.55,60s:3.5"')
    soak.add_argument("--probes", metavar="OHMS", help="what the probes read held together")
    soak.add_argument("--meter-step", metavar="OHMS", help="the meter's last digit (0.1 ohm)")
    soak.add_argument("--constant", metavar="KELVIN", help="of copper: 235 (iec, taken otherwise) or 234.5 (ieee)")
    soak.add_argument("--current", metavar="AMPERES", help="of each coil during the run, motor at rest")
    counted = soak.add_mutually_exclusive_group()
    counted.add_argument("--measured", action="store_true", help="that current was measured in the coil's lead")
    counted.add_argument(
        "--peak", action="store_true", help="it is a driver's set-point, peak: a coil at rest has 71 %%"
    )
    counted.add_argument("--rms", action="store_true", help="it is a driver's set-point, RMS")
    soak.add_argument("--at-rest", metavar="PERCENT", help="what the driver leaves of it at rest (100 %%)")
    spin = parser.add_argument_group("spun shaft")
    spin.add_argument("--spin-volts", metavar="VOLTS", help="AC volts across one coil (half-winding), RMS")
    spin.add_argument("--spin-frequency", metavar="HERTZ", help="that the meter shows with it")
    spin.add_argument("--drill", metavar="RPM", help="or the drill's speed")
    spin.add_argument("--meter-limit", metavar="HERTZ", help="where the meter's AC range ends (400 Hz)")
    add_motor_arguments(parser, "the rating")


def _counted(args: argparse.Namespace) -> str:
    said = {"coil": args.measured, "RMS": args.rms, "peak": args.peak}
    return next((each for each, given_so in said.items() if given_so), "")


def run(args: argparse.Namespace) -> int:
    """Rate the motor; return the exit status."""
    options = _OPTIONS
    for field, first, second in (("step", "step_angle", "steps"), ("henry", "inductance", "time_constant")):
        if getattr(args, second) is not None:
            name = second.replace("_", "-")
            if getattr(args, first) is not None:
                raise InputProblem(f"--{name} and --{first.replace('_', '-')}: expected one of them")
            options = options | {field: name}
    with motor_desk(args) as desk, named_by_option(options):
        stage = RatingsStage(desk)
        texts, typed = stage.texts(), given(args, options)
        if args.steps is not None:
            typed["step"] = f"{args.steps.strip()} steps" + (
                f" in {args.turns} turns" if args.turns is not None else ""
            )
        if args.time_constant is not None and args.time_constant.strip()[-1:].isdigit():
            typed["henry"] = f"{args.time_constant} ms"  # the field would take a number alone for millihenry
        if counted := _counted(args):
            typed["counted"] = counted
        for together in _TOGETHER:
            if typed.keys() & set(together):
                texts |= dict.fromkeys(together, "")
        texts |= typed
        answer = stage.answer(texts)
        if answer.says_nothing:
            raise answer.missing
        if args.save:
            stage.keep(texts)
    for caution in answer.cautions:
        note(f"caution: {caution}")
    if args.json:
        print_json(answer.as_json())
        return 0
    title, rows = answer.table
    print_table((title, ""), rows)
    for line in answer.notes:
        note(line)
    return 0
