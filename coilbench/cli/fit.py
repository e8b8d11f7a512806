"""``coilbench fit``: the bin's motors to the axes of a machine."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from coilbench.cautions import LIVE_DRIVER
from coilbench.cli.output import note, print_json, print_table
from coilbench.cli.text_file import file_name, text_in
from coilbench.errors import InputProblem

if TYPE_CHECKING:
    from coilbench.stages.machine.answer import FitAnswer

HELP = (
    "Which motor of the bin goes on which axis of a machine, all at once; what would have to change where none does."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The machine's file."""
    parser.add_argument(
        "file", metavar="MACHINE.toml", nargs="?", help="axes, drivers and supplies; - reads it from standard input"
    )
    parser.add_argument(
        "--example", action="store_true", help="print an example of such a file, to copy and to change"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")


def run(args: argparse.Namespace) -> int:
    """Read the machine, weigh the bin's motors; return the exit status."""
    from coilbench.stages.machine.example import example_text

    if args.example:
        print(example_text(), end="")
        return 0
    if args.file is None:
        raise InputProblem("no machine is named, expected a file", remedy="see one with coilbench fit --example")
    answer = _answered(args)
    if args.json:
        print_json(answer.as_json())
        return 0
    _print(answer)
    return 0


def _answered(args: argparse.Namespace) -> FitAnswer:
    from coilbench.records.paths import bin_path
    from coilbench.records.store import Bin
    from coilbench.stages.machine.file import EXPECTED, MOST_BYTES, machine_in
    from coilbench.stages.machine.fit import fit_answer

    text, name = text_in(args.file, MOST_BYTES, EXPECTED), file_name(args.file)
    path = args.bin or bin_path()
    if not path.exists():  # looking must not begin a bin
        machine_in(text, name)
        raise InputProblem(f"there is no bin at {path} yet", remedy="it begins with the first motor")
    with Bin.open(path) as bin_:
        return fit_answer(machine_in(text, name, bin_.own()), bin_)


def _print(answer: FitAnswer) -> None:
    from coilbench.stages.machine import budget
    from coilbench.stages.machine.axis_fit import HEADS

    print(answer.machine.name)
    print_table(HEADS, [each.cells for each in answer.axes])
    print(f"\n{answer.verdict}")
    if answer.budgets:
        print()
        print_table(budget.HEADS, [row for each in answer.budgets for row in each.rows])
        print()
    for each in answer.axes:
        for line in each.findings:
            print(f"- {each.axis.name}: {line}")
    for change in answer.changes:
        print(f"- {change.axis} needs: {change.text}")
    for name, why in answer.left_out:
        print(f"- {name} is left out: {why}")
    for rail in answer.budgets:
        for line in rail.findings:
            print(f"- {rail.supply.name}: {line}")
    for line in (*answer.short_of, *answer.notes):
        print(f"- {line}")
    for each in answer.axes:
        for line in each.warnings:
            note(f"warning: {each.axis.name}: {line}")
    note(f"caution: {LIVE_DRIVER}")
