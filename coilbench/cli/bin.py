"""``coilbench bin``: look into the motor bin, carry it elsewhere, check its file, keep it in order."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from shlex import quote

from coilbench.cli import bin_care
from coilbench.cli.export_file import refuse_all_but, refuse_others, write_whole
from coilbench.cli.motor_text import lines_of, text_of
from coilbench.cli.output import note, print_json, print_table
from coilbench.cli.text_file import text_in
from coilbench.errors import InputProblem
from coilbench.plain_text import inert
from coilbench.records import exchange, opening, rescue
from coilbench.records.paths import bin_path
from coilbench.records.problems import BinDamaged
from coilbench.records.store import Bin

_MOST_LOST = 20  # lines

HELP = (
    "The motor bin: list, show, export, import, check; notes, archive, motors that are alike, merge, split, undo; "
    "backups."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What can be done with a bin, each with what it needs."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="list|show|export|import|check|...")
    listing = actions.add_parser("list", help="the motors, oldest first")
    listing.add_argument("--all", action="store_true", help="those that are archived, too")
    listing.add_argument("--with", dest="holding", metavar="TEXT", help="those alone that have this in their line")
    show = actions.add_parser("show", help="all that is known of one motor")
    show.add_argument("name", help="the motor's name")
    export = actions.add_parser("export", help="write the bin as JSON, or a table of it as CSV")
    export.add_argument("file", nargs="?", help="file to write, a table where it ends in .csv; else standard output")
    export.add_argument("--csv", action="store_true", help="a table for a spreadsheet, a motor a row")
    export.add_argument("--motor", action="append", metavar="NAME", help="this motor alone (may be repeated)")
    export.add_argument("--force", action="store_true", help="write over an earlier export")
    incoming = actions.add_parser(
        "import", help="add the motors of an exported bin that aren't there yet, all or none"
    )
    incoming.add_argument("file", help="file to read; - for standard input")
    check = actions.add_parser("check", help="look the bin's file over")
    check.add_argument("--set-aside", action="store_true", help="move a damaged file out of the way")
    for each in (listing, show, incoming, check, export, *bin_care.add_actions(actions)):
        each.add_argument("--json", action="store_true", help="one JSON object on standard output")
        # Also accepted after the action; left out, the --bin in front of it holds.
        each.add_argument("--bin", type=Path, metavar="PATH", default=argparse.SUPPRESS, help="the motor bin's file")


def run(args: argparse.Namespace) -> int:
    """Do it; return the exit status."""
    path = args.bin or bin_path()
    if (status := bin_care.action(args, path)) is not None:
        return status
    if args.action == "check":
        return _check(path, set_aside=args.set_aside, as_json=args.json)
    if args.action == "import":
        text = text_in(args.file, exchange.LARGEST_BYTES, "expected an exported bin")
        with Bin.open(path) as bin_:
            return _import(bin_, text, args.file, as_json=args.json)
    if not path.exists():  # looking must not begin a bin
        if args.action != "list":
            raise InputProblem(f"there is no bin at {path} yet", remedy="it begins with the first motor")
        if args.json:
            print_json({"bin": str(path), "motors": []})
        else:
            note(f"no bin yet at {path}: it begins with the first motor")
        return 0
    if args.action == "export":
        return _export(path, args)
    with Bin.open(path) as bin_:
        if args.action == "list":
            return _list(bin_, args)
        return _show(bin_, args.name, as_json=args.json)


def _list(bin_: Bin, args: argparse.Namespace) -> int:
    from coilbench.stages.bin.notes import archived

    away = archived(bin_)
    rows = [
        (each.name, " ".join(each.leads), each.readings, ", ".join(each.stages), each)
        for each in bin_.motors()
        if args.all or each.name not in away
    ]
    if args.holding:
        wanted = args.holding.casefold()
        rows = [row for row in rows if wanted in " ".join(map(str, row[:4])).casefold()]
    if args.json:
        motors = [
            {"name": each.name, "leads": list(each.leads), "readings": each.readings, "stages": list(each.stages)}
            for *_, each in rows
        ]
        print_json({"bin": str(bin_.path), "motors": motors})
    elif rows:
        print_table(("motor", "leads", "readings", "known"), [row[:4] for row in rows])
    if away and not args.all and not args.json:
        note(f"{motor_count(len(away))} archived, left out: --all shows them")
    return 0


def _show(bin_: Bin, name: str, *, as_json: bool) -> int:
    motor = exchange.export_object(bin_, [name])["motors"][0]
    if as_json:
        print_json(motor)
        return 0
    print(f"{inert(motor['name'])}: leads {inert(' '.join(motor['leads'])) or 'not counted yet'}")
    if motor["readings"]:
        print()
        rows = [
            (each["from"], each["to"], each["ohms"] if each["ohms"] == "OL" else f"{each['ohms']:g}", each["meter"])
            for each in motor["readings"]
        ]
        print_table(("from", "to", "ohms", "meter"), rows)
    for stage, fact in motor["facts"].items():
        print(f"\n{inert(stage)}")
        for line in lines_of(fact["value"]):
            print(f"  {inert(line)}")
    if motor["events"]:
        print("\ndone, times in UTC")
    for event in motor["events"]:
        when = event["time"][:16].replace("T", " ")
        print(f"  {inert(when)}  {inert(event['stage'])}: {inert(text_of('', event['value']))}")
    return 0


def _export(path: Path, args: argparse.Namespace) -> int:
    """Write what is whole; of a damaged bin, too, which is then told with the exit status of a data fault."""
    to_file = args.file is not None and args.file != "-"
    if args.csv or (to_file and args.file.lower().endswith(".csv")):
        return _export_table(path, args, to_file=to_file)
    if to_file:
        refuse_others(Path(args.file), path, force=args.force)
    lost: list[str] | None = None
    try:
        with Bin.open(path) as bin_:
            whole = exchange.export_object(bin_, args.motor)
    except BinDamaged as problem:
        found = rescue.rescued(path)
        if not found.whole["motors"]:
            raise
        whole, lost = rescue.only(found.whole, args.motor), found.lost
        note(problem.happened)
    if not to_file:
        print_json(whole)
    else:
        write_whole(Path(args.file), json.dumps(whole, ensure_ascii=False, indent=1) + "\n")
        if args.json:
            print_json({"file": args.file, "motors": len(whole["motors"]), "lost": lost or []})
        else:
            note(f"{motor_count(len(whole['motors']))} written to {args.file}")
    if lost is None:
        return 0
    for line in lost[:_MOST_LOST] or ["nothing that is known of"]:
        note(f"left out: {line}")
    if len(lost) > _MOST_LOST:
        note(f"left out: {len(lost) - _MOST_LOST} more")
    return BinDamaged.exit_code


def _export_table(path: Path, args: argparse.Namespace, *, to_file: bool) -> int:
    from coilbench.stages.bin.table import MARK, as_csv, table_rows

    if args.json:
        raise InputProblem("a table as JSON: expected --csv or --json, not both")
    target = Path(args.file) if to_file else None
    if target is not None:
        refuse_all_but(target, path, MARK, "no earlier table of ours")
    with Bin.open(path) as bin_:
        wanted = None if args.motor is None else {bin_.motor(name).name for name in args.motor}
        rows = [row for row in table_rows(bin_) if wanted is None or row[0] in wanted]
    if target is None:
        print(as_csv(rows), end="")
        return 0
    write_whole(target, "\ufeff" + as_csv(rows))  # the mark by which a spreadsheet knows UTF-8
    note(f"{motor_count(len(rows))} written to {target}")
    return 0


def _import(bin_: Bin, text: str, file: str, *, as_json: bool) -> int:
    try:
        done = exchange.import_text(bin_, text)
    except InputProblem as problem:
        raise InputProblem(f"{file}: {problem}") from problem
    if as_json:
        lists = {"added": done.added, "there_already": done.there_already}
        said = {key: [{"name": old, "as": new} for old, new in pairs] for key, pairs in lists.items()}
        print_json({**said, "bench": done.own})
        return 0
    for old, new in done.there_already:
        note(f"{old} is there already{'' if old == new else f' as {new}'}, the same in everything: left out")
    for old, new in done.added:
        if old != new:
            note(f"{old} was taken by another motor: added as {new}")
    for each in done.own:
        note(f"came to the bench: {each}")
    note(f"{motor_count(len(done.added))} added to {bin_.path}")
    return 0


def _check(path: Path, *, set_aside: bool, as_json: bool) -> int:
    if not path.exists():
        raise InputProblem(f"there is no bin at {path}, expected a bin's file")
    problems = opening.problems_of(path)
    moved = opening.set_aside(path) if problems and set_aside else None
    motors = None
    if not problems:
        with Bin.open(path) as bin_:
            motors = len(bin_.motors())
    if as_json:
        print_json(
            {
                "bin": str(path),
                "sound": not problems,
                "problems": problems,
                "motors": motors,
                "set_aside": None if moved is None else str(moved),
            }
        )
    else:
        print(f"{path}: sound, {motor_count(motors or 0)}" if not problems else "\n".join(map(inert, problems)))
        if moved is not None:
            note(f"moved to {moved}; the next start begins an empty bin at {path}")
            note(f"`coilbench --bin {quote(str(moved))} bin export FILE` saves what is whole in it")
        elif problems:
            note("the file is left as it is; --set-aside moves it out of the way, so that an empty one can begin")
    return 0 if not problems else BinDamaged.exit_code


def motor_count(count: int) -> str:
    """The count with its word."""
    return f"{count} motor{'' if count == 1 else 's'}"
