"""``coilbench card``: a motor's card on one page, its label, a machine's sheet; as text, Markdown or HTML."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

from coilbench.cli.export_file import refuse_all_but, write_whole
from coilbench.cli.output import note, print_json
from coilbench.cli.windings_show import page_width
from coilbench.errors import InputProblem
from coilbench.records.paths import bin_path
from coilbench.records.store import Bin
from coilbench.stages.card.card import card_of
from coilbench.stages.card.state import BY_ENDING, MADE_BY, Form, as_json
from coilbench.stages.card.written import FILE_WIDTH, cards_written
from coilbench.stages.desk import desk_of

HELP = (
    "A motor's card, one page: wiring, figures, working rates, what isn't known. Several names give a page each, or "
    "a sheet of labels. With --machine a machine's sheet: each axis with its motor, what to wire and to set."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Which motors, what of them, in which form, and where to."""
    add = parser.add_argument
    add("names", nargs="*", metavar="NAME", help="a motor of the bin")
    add("--machine", metavar="FILE", help="the sheet of a machine: see coilbench fit --example; - is standard input")
    add("--label", action="store_true", help="a small label: leads, current, VREF; with --html a sheet of them")
    form = parser.add_mutually_exclusive_group()
    for name, what in (
        ("html", "a page to print, self-contained"),
        ("markdown", "Markdown"),
        ("json", "one JSON object"),
    ):
        form.add_argument(f"--{name}", dest="form", action="store_const", const=name, help=what)
    add("--ascii", action="store_true", help="plain ASCII characters alone")
    add(
        "-o", "--output", metavar="FILE", help="file to write, its ending tells the form; an earlier card is replaced"
    )


def run(args: argparse.Namespace) -> int:
    """Write the cards; return the exit status."""
    if bool(args.names) == bool(args.machine):
        raise InputProblem("expected the NAME of a motor, or --machine FILE" + (", not both" if args.names else ""))
    path = args.bin or bin_path()
    if not path.exists():  # looking must not begin a bin
        raise InputProblem(f"there is no bin at {path} yet", remedy="it begins with the first motor")
    to_file = args.output not in (None, "-")
    if to_file:
        refuse_all_but(Path(args.output), path, MADE_BY, "no card of ours")
    form = args.form or (BY_ENDING.get(Path(args.output).suffix.lower()) if to_file else None) or "text"
    if args.label and form == "markdown":
        raise InputProblem("a label in Markdown: expected --label alone or with --html or --json")
    if args.machine:
        return _machine(args, path, form, to_file=to_file)
    with Bin.open(path) as bin_:
        cards = [card_of(desk_of(bin_, name), date.today()) for name in dict.fromkeys(args.names)]
    if form == "json" and not to_file:
        print_json({"cards": [as_json(card) for card in cards]})
        return 0
    text = cards_written(
        cards, form, label=args.label, ascii=args.ascii, width=FILE_WIDTH if to_file else page_width()
    )
    _put(args, text, f"{'label' if args.label else 'card'} of {', '.join(card.motor for card in cards)}", to_file)
    return 0


def _machine(args: argparse.Namespace, path: Path, form: Form, *, to_file: bool) -> int:
    from coilbench.cli.text_file import file_name, text_in
    from coilbench.stages.machine import sheet as sheets
    from coilbench.stages.machine.file import EXPECTED, MOST_BYTES, machine_in
    from coilbench.stages.machine.fit import fit_answer
    from coilbench.stages.machine.written import sheet_written

    text, name = text_in(args.machine, MOST_BYTES, EXPECTED), file_name(args.machine)
    with Bin.open(path) as bin_:
        sheet = sheets.sheet_of(fit_answer(machine_in(text, name, bin_.own()), bin_), bin_, date.today())
    if form == "json" and not to_file:
        print_json(sheets.as_json(sheet))
        return 0
    page = sheet_written(
        sheet, form, label=args.label, ascii=args.ascii, width=FILE_WIDTH if to_file else page_width()
    )
    _put(args, page, f"{'labels' if args.label else 'sheet'} of {sheet.machine}", to_file)
    note(sheet.verdict)
    return 0


def _put(args: argparse.Namespace, text: str, what: str, to_file: bool) -> None:
    """Write the text to the file that is asked for, and say so; or print it."""
    if to_file:
        write_whole(Path(args.output), text)
        note(f"{what}: {args.output}")
    else:
        print(text, end="")
