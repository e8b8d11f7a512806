"""``coilbench axis``: what an axis of a machine asks of its motor."""

from __future__ import annotations

import argparse

from coilbench.cli.output import note, print_json, print_table
from coilbench.errors import InputProblem
from coilbench.stages.axis.fields import KINDS

HELP = "What an axis asks of its motor: steps per mm, torque, inertia, speed, limits. Figures take units."

_SAYS = {
    "screw": "a lead screw or threaded rod",
    "belt": "a toothed belt and its pulley",
    "rack": "a rack and its pinion",
    "drum": "a drum with a line",
    "table": "a thing that turns: a table, a disc",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """One parser a kind of axis, its options the fields of the kind."""
    kinds = parser.add_subparsers(dest="kind", metavar="KIND", title="kinds", required=True)
    for kind, fields in KINDS.items():
        one = kinds.add_parser(kind, help=_SAYS[kind], description=_SAYS[kind], allow_abbrev=False)
        for field in fields:
            one.add_argument(
                f"--{field.key}", dest=f"field_{field.id}", metavar="X", help=field.help.replace("%", "%%")
            )
        one.add_argument("--json", action="store_true", help="one JSON object on standard output")


def run(args: argparse.Namespace) -> int:
    """Reckon the axis; return the exit status."""
    from coilbench.stages.axis.answer import CAUTION, axis_answer

    prefix = "field_"
    texts = {name.removeprefix(prefix): text for name, text in vars(args).items() if name.startswith(prefix) and text}
    try:
        answer = axis_answer(args.kind, texts)
    except InputProblem as problem:
        raise InputProblem(f"{args.kind}: {problem.happened}", remedy=problem.remedy) from None
    if args.json:
        print_json(answer.as_json())
        return 0
    print_table((f"axis: {args.kind}", ""), [(each.label, each.shown) for each in answer.figures])
    for line in answer.findings:
        print(f"- {line}")
    for line in answer.warnings:
        note(f"warning: {line}")
    note(f"caution: {CAUTION}")
    return 0
