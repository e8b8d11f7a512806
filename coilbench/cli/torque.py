"""``coilbench torque``: pull-out torque against speed, on a supply."""

from __future__ import annotations

import argparse

from coilbench.cli.motor_options import add_motor_arguments, given, motor_desk, named_by_option
from coilbench.cli.output import print_json, print_table
from coilbench.stages.torque_curve import TorqueAnswer, TorqueCurve

HELP = "Pull-out torque against speed of the winding that is driven, on a supply. Figures take units."

_OPTIONS = {
    "coil": "coil",
    "inductance": "inductance",
    "current": "current",
    "hold": "hold",
    "steps": "steps",
    "drive": "drive",
    "supply": "supply",
    "at": "at",
    "microsteps": "microsteps",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The winding that is driven, what drives it, and the rates asked for."""
    add = parser.add_argument
    add("--coil", metavar="OHMS", help="of the winding that is driven; of one half where the drive is unipolar")
    add("--inductance", metavar="MILLIHENRY", help="of the same winding; or such as '1uF at 2.8kHz'")
    add("--current", metavar="AMPERES", help="the peak the driver is set to, per winding")
    add("--hold", metavar="TORQUE", help="holding torque, two phases on at that current, such as '0.17 N m'")
    add("--steps", metavar="N", help="full steps in a turn (200)")
    add("--drive", choices=("bipolar", "unipolar"), help="what drives it (bipolar)")
    add("--supply", metavar="VOLTS", help="motor supply")
    add("--at", metavar="RATES", help="full steps a second, or such as '300 rpm'; several with commas")
    add("--microsteps", metavar="N", help="microsteps to a full step; full steps where left out")
    add_motor_arguments(parser, None)


def run(args: argparse.Namespace) -> int:
    """Work the curve out; return the exit status."""
    with motor_desk(args) as desk, named_by_option(_OPTIONS):
        curve = TorqueCurve(desk)
        answer = curve.answer({**curve.texts(), **given(args, _OPTIONS)})
    if args.json:
        print_json(answer.as_json())
    else:
        _print(answer)
    return 0


def _print(answer: TorqueAnswer) -> None:
    print_table(
        ("steps/s", "rpm", "N·m", "from", "to"),
        [(f"{rate:.0f}", f"{rpm:.0f}", *(f"{each:.3g}" for each in torque)) for rate, rpm, *torque in answer.rows],
    )
    print(f"\nfull current up to {answer.full_current_until_rpm:.0f} rpm")
    print(f"half of the torque left at {answer.half_torque_rpm:.0f} rpm")
    for line in answer.notes:
        print(f"- {line}")
