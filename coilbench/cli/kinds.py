"""Commands whose options are the fields of a kind of thing, and whose answers are figures."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping

from coilbench.cli.output import note, print_json, print_table
from coilbench.errors import InputProblem
from coilbench.stages.axis.fields import AxisField, Texts
from coilbench.stages.figures import FiguresAnswer

_PREFIX = "field_"
_NAMED = {"A": "AMPERES", "V": "VOLTS", "ohm": "OHMS", "mH": "MILLIHENRY", "Hz": "HERTZ"}  # what a number alone is in


def add_kinds(
    parser: argparse.ArgumentParser,
    kinds: Mapping[str, tuple[AxisField, ...]],
    says: Mapping[str, str],
    ends: Mapping[str, str] | None = None,
) -> None:
    """One parser a kind, its options the kind's fields; ``says`` what it is, ``ends`` the last of its help."""
    adder = parser.add_subparsers(dest="kind", metavar="KIND", title="kinds", required=True)
    for kind, fields in kinds.items():
        one = adder.add_parser(
            kind, help=says[kind], description=says[kind], epilog=(ends or {}).get(kind), allow_abbrev=False
        )
        add_fields(one, fields)
        one.add_argument("--json", action="store_true", help="one JSON object on standard output")


def add_fields(parser: argparse.ArgumentParser, fields: tuple[AxisField, ...]) -> None:
    """An option a field."""
    for field in fields:
        parser.add_argument(
            f"--{field.key}",
            dest=_PREFIX + field.id,
            metavar=_NAMED.get(field.bare, "X"),
            help=field.help.replace("%", "%%"),
        )


def answer_kind(
    args: argparse.Namespace, command: str, reckon: Callable[[str, Texts], FiguresAnswer], caution: str = ""
) -> int:
    """Reckon what was said of ``args.kind`` and print it with its ``caution``; return the exit status."""
    options = {name.removeprefix(_PREFIX): text for name, text in vars(args).items() if name.startswith(_PREFIX)}
    try:
        answer = reckon(args.kind, {name: text for name, text in options.items() if text})
    except InputProblem as problem:
        raise InputProblem(f"{args.kind}: {problem.happened}", remedy=problem.remedy) from None
    if args.json:
        print_json(answer.as_json())
        return 0
    print_table((f"{command}: {args.kind}", ""), [(each.label, each.shown) for each in answer.figures])
    for line in answer.findings:
        print(f"- {line}")
    for line in answer.warnings:
        note(f"warning: {line}")
    if caution:
        note(f"caution: {caution}")
    return 0
