"""``coilbench bin``: look into the motor bin, carry it elsewhere, check its file."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from shlex import quote

from coilbench.cli.export_file import refuse_others, write_whole
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

HELP = "The motor bin: list, show, export, import, check."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The five things to do with a bin, each with what it needs."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="list|show|export|import|check")
    listing = actions.add_parser("list", help="the motors, oldest first")
    show = actions.add_parser("show", help="all that is known of one motor")
    show.add_argument("name", help="the motor's name")
    export = actions.add_parser("export", help="write the bin as JSON")
    export.add_argument("file", nargs="?", help="file to write; standard output without it")
    export.add_argument("--motor", action="append", metavar="NAME", help="this motor alone (may be repeated)")
    export.add_argument("--force", action="store_true", help="write over an earlier export")
    incoming = actions.add_parser(
        "import", help="add the motors of an exported bin that aren't there yet, all or none"
    )
    incoming.add_argument("file", help="file to read; - for standard input")
    check = actions.add_parser("check", help="look the bin's file over")
    check.add_argument("--set-aside", action="store_true", help="move a damaged file out of the way")
    for each in (listing, show, incoming, check, export):
        each.add_argument("--json", action="store_true", help="one JSON object on standard output")
        # Also accepted after the action; left out, the --bin in front of it holds.
        each.add_argument("--bin", type=Path, metavar="PATH", default=argparse.SUPPRESS, help="the motor bin's file")


def run(args: argparse.Namespace) -> int:
    """Do it; return the exit status."""
    path = args.bin or bin_path()
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
            return _list(bin_, as_json=args.json)
        return _show(bin_, args.name, as_json=args.json)


def _list(bin_: Bin, *, as_json: bool) -> int:
    motors = bin_.motors()
    if as_json:
        rows = [
            {"name": each.name, "leads": list(each.leads), "readings": each.readings, "stages": list(each.stages)}
            for each in motors
        ]
        print_json({"bin": str(bin_.path), "motors": rows})
    elif motors:
        print_table(
            ("motor", "leads", "readings", "known"),
            [(each.name, " ".join(each.leads), each.readings, ", ".join(each.stages)) for each in motors],
        )
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
