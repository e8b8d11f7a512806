"""The part of ``coilbench bin`` that keeps a bin in order: notes, archive, duplicates, backups."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from coilbench.cli.output import note, print_json, print_table
from coilbench.errors import InputProblem
from coilbench.plain_text import inert
from coilbench.records import backups
from coilbench.records.store import Bin
from coilbench.stages.bin import undoing
from coilbench.stages.desk import desk_of

Actions = Any  # argparse's own type for subparsers is private


def add_actions(actions: Actions) -> list[argparse.ArgumentParser]:
    """The actions' own arguments; their parsers."""
    noted = actions.add_parser("note", help="write down where a motor came from, a photo's path, anything else")
    noted.add_argument("name", help="the motor's name")
    noted.add_argument("--from", dest="origin", metavar="TEXT", help="what it was taken out of")
    noted.add_argument("--photo", metavar="PATH", help="a picture of it; the path is kept as it is given")
    noted.add_argument("--text", metavar="TEXT", help="anything else; '' takes a note back")
    away = actions.add_parser("archive", help="put motors away: they stay, and the list passes them over")
    away.add_argument("names", nargs="+", metavar="NAME", help="a motor's name")
    away.add_argument("--back", action="store_true", help="take them out of the archive again")
    alike = actions.add_parser("alike", help="motors that look like the same type, group by group")
    merge = actions.add_parser("merge", help="make one of two records of the same motor")
    merge.add_argument("name", help="the one that stays")
    merge.add_argument("other", help="the one whose readings it takes, and what it doesn't know itself")
    split = actions.add_parser("split", help="make two of a record that holds two motors")
    split.add_argument("name", help="the one that stays, with the other leads")
    split.add_argument("new", help="the name of the one that is taken out of it")
    split.add_argument("leads", nargs="+", metavar="LEAD", help="a lead that goes with the new one")
    undo = actions.add_parser("undo", help="take back the latest note, archive, merge, split or delete")
    redo = actions.add_parser("redo", help="do again what undo took back last")
    kept = actions.add_parser("backups", help="the copies that are kept, the newest first")
    back = actions.add_parser("restore", help="put the bin back as it was in the newest backup, or in a named one")
    back.add_argument("backup", nargs="?", metavar="NAME", help="a name that `coilbench bin backups` shows")
    return [noted, away, alike, merge, split, undo, redo, kept, back]


def action(args: argparse.Namespace, path: Path) -> int | None:
    """Do one of these actions; None where it is another's."""
    found: Callable[[argparse.Namespace, Path], dict[str, Any]] | None = _ACTIONS.get(args.action)
    if found is None:
        return None
    if args.action not in ("backups", "restore") and not path.exists():
        raise InputProblem(f"there is no bin at {path} yet", remedy="it begins with the first motor")
    told = found(args, path)
    if args.json:
        print_json(told)
    return 0


def _note(args: argparse.Namespace, path: Path) -> dict[str, Any]:
    from coilbench.stages.bin.notes import write_down

    if args.origin is None and args.photo is None and args.text is None:
        raise InputProblem("nothing to write down", remedy="give --from, --photo or --text")
    with Bin.open(path) as bin_:
        desk = desk_of(bin_, args.name)
        notes = write_down(desk, origin=args.origin, photo=args.photo, text=args.text)
    if notes.photo and not Path(notes.photo).exists():
        note(f"there is no file {notes.photo} from here; the path is kept as it is")
    if not args.json:
        note(f"noted of {desk.motor}")
    return {"motor": desk.motor, "from": notes.origin, "photo": notes.photo, "text": notes.text}


def _archive(args: argparse.Namespace, path: Path) -> dict[str, Any]:
    from coilbench.stages.bin.notes import archive

    names = list(dict.fromkeys(args.names))
    with Bin.open(path) as bin_:
        archive(bin_, names, back=args.back)
    if not args.json:
        note(f"{', '.join(names)} {'back from the archive' if args.back else 'put away; --back takes them out'}")
    return {"motors": names, "archived": not args.back}


def _alike(args: argparse.Namespace, path: Path) -> dict[str, Any]:
    from coilbench.stages.bin.alike import groups, words

    with Bin.open(path) as bin_:
        found = groups(bin_)
    if not args.json:
        if not found:
            note("no two motors of the bin look alike, as far as is known")
        for group in found:
            print(inert(f"{words(group)}:"))
            print(inert(f"  {', '.join(group.motors)}"))
    return {
        "groups": [
            {
                "motors": list(group.motors),
                "arrangement": group.arrangement,
                "ohms_half_winding": [group.low_ohm, group.high_ohm],
                "face": group.face or None,
                "step_angle_degree": group.step_angle_degree,
            }
            for group in found
        ]
    }


def _merge(args: argparse.Namespace, path: Path) -> dict[str, Any]:
    from coilbench.stages.bin.joining import merge

    with Bin.open(path) as bin_:
        done = merge(bin_, args.name, args.other)
    if not args.json:
        note(f"{args.other} is in {args.name} now; `coilbench bin undo` takes it back")
        _tell_backup(done.backup)
    return {"motor": args.name, "took": list(done.took), "backup": _name_of(done.backup)}


def _split(args: argparse.Namespace, path: Path) -> dict[str, Any]:
    from coilbench.stages.bin.joining import split

    with Bin.open(path) as bin_:
        done = split(bin_, args.name, args.new, args.leads)
    if not args.json:
        note(f"{args.new} has {' '.join(args.leads)} now; sort both windings again")
        note("`coilbench bin undo` takes it back")
        _tell_backup(done.backup)
    return {"motor": args.name, "new": args.new, "forgot": list(done.took), "backup": _name_of(done.backup)}


def _tell_backup(backup: Path | None) -> None:
    if backup is not None:
        note(f"the bin as it was is kept as backup {backup.name}")


def _name_of(backup: Path | None) -> str | None:
    return None if backup is None else backup.name


def _undo(args: argparse.Namespace, path: Path) -> dict[str, Any]:
    return _step(args, path, "taken back", undoing.undo)


def _redo(args: argparse.Namespace, path: Path) -> dict[str, Any]:
    return _step(args, path, "done again", undoing.redo)


def _step(args: argparse.Namespace, path: Path, says: str, step: Callable[[Bin], str | None]) -> dict[str, Any]:
    with Bin.open(path) as bin_:
        what = step(bin_)
    if not args.json:
        note(f"{says}: {what}" if what else f"nothing to be {says}")
    return {says.replace(" ", "_"): what}


def _backups(args: argparse.Namespace, path: Path) -> dict[str, Any]:
    there = backups.backups(path)
    rows = [(each.name, each.made.strftime("%Y-%m-%d %H:%M UTC"), each.path.stat().st_size // 1024) for each in there]
    if not args.json:
        print_table(("backup", "made", "kB"), rows) if rows else note(f"no backup of {path} is there yet")
    return {
        "folder": str(backups.folder_of(path)),
        "backups": [{"name": each.name, "made": each.made.isoformat()} for each in there],
    }


def _restore(args: argparse.Namespace, path: Path) -> dict[str, Any]:
    wanted = backups.chosen(path, args.backup)
    kept = backups.restore(path, wanted, datetime.now(UTC))
    with Bin.open(path) as bin_:
        count = len(bin_.motors())
    if not args.json:
        note(f"{path} is as it was in {wanted.name}: {count} motor{'' if count == 1 else 's'}")
        if kept is not None:
            note(f"what was there is kept: {kept}")
    return {"bin": str(path), "restored": wanted.name, "motors": count, "kept": None if kept is None else str(kept)}


_ACTIONS: dict[str, Callable[[argparse.Namespace, Path], dict[str, Any]]] = {
    "note": _note,
    "archive": _archive,
    "alike": _alike,
    "merge": _merge,
    "split": _split,
    "undo": _undo,
    "redo": _redo,
    "backups": _backups,
    "restore": _restore,
}
