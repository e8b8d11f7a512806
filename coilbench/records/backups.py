"""Copies of the bin, made by themselves and few: a slip that is noticed tomorrow costs a day at the most.

They lie in a folder beside the bin, ``motors.db.backups``, each a whole bin named by its time (UTC). A copy is made
before the first entry of a day's work and before what undo can't take back. The newest ``NEWEST`` stay, and of those
before them one a day, ``MOST`` in all: a day of much tidying up pushes none of the days before out.
"""

from __future__ import annotations

import contextlib
import os
import re
import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.records import opening
from coilbench.records.problems import in_plain_words

MOST, NEWEST = 7, 3
_EVERY = timedelta(hours=20)  # less than a day: one who begins a little earlier each day has one each day
_STAMP = "%Y%m%dT%H%M%SZ"
_NAME = re.compile(r"(\d{8}T\d{6}Z)(?:-\d+)?\.db")


@dataclass(frozen=True, slots=True)
class Backup:
    """A copy and when it was made, UTC."""

    path: Path
    made: datetime

    @property
    def name(self) -> str:
        return self.path.name


def folder_of(bin_path: Path) -> Path:
    """Where the copies of a bin lie."""
    return bin_path.with_name(f"{bin_path.name}.backups")


def backups(bin_path: Path) -> list[Backup]:
    """The copies that are there, the newest first."""
    found = []
    with contextlib.suppress(OSError):
        for path in folder_of(bin_path).iterdir():
            if named := _NAME.fullmatch(path.name):
                found.append(Backup(path, datetime.strptime(named[1], _STAMP).replace(tzinfo=UTC)))
    return sorted(found, key=lambda each: (each.made, len(each.name), each.name), reverse=True)


def make(source: sqlite3.Connection, bin_path: Path, now: datetime) -> Path:
    """Copy the bin behind a connection; those that are too many go. May raise OSError, sqlite3.Error.

    The copy has its name only once it is whole and on the disk.
    """
    folder = folder_of(bin_path)
    folder.mkdir(mode=0o700, exist_ok=True)
    stamp = now.astimezone(UTC).strftime(_STAMP)
    target = folder / f"{stamp}.db"
    number = 2
    while target.exists():
        target, number = folder / f"{stamp}-{number}.db", number + 1
    part = folder / f".{target.name}.{os.getpid()}"
    try:
        os.close(os.open(part, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600))
        with contextlib.closing(sqlite3.connect(part, isolation_level=None)) as copy:
            source.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, that may be carried anywhere
        os.replace(part, target)
    finally:
        for ending in ("", "-wal", "-shm", "-journal"):
            part.with_name(part.name + ending).unlink(missing_ok=True)
    there = backups(bin_path)
    for old in {each.path for each in there} - {each.path for each in _stay(there)}:
        old.unlink(missing_ok=True)
    return target


def _stay(there: list[Backup]) -> list[Backup]:
    """Those that stay of these, the newest first."""
    by_day = {each.made.date(): each for each in reversed(there[NEWEST:])}
    return [*there[:NEWEST], *sorted(by_day.values(), key=lambda each: each.made, reverse=True)][:MOST]


def make_if_due(source: sqlite3.Connection, bin_path: Path, now: datetime) -> None:
    """Copy a bin that holds something, where no copy is of today. What hinders that hinders no entry."""
    with contextlib.suppress(OSError, sqlite3.Error):
        there = backups(bin_path)
        if there and timedelta() <= now - there[0].made < _EVERY:
            return
        if source.execute("SELECT 1 FROM motors LIMIT 1").fetchone() is not None:
            make(source, bin_path, now)


def chosen(bin_path: Path, name: str | None) -> Backup:
    """The copy of this name, the newest without one. Raises InputProblem where there is none, or it isn't sound."""
    there = backups(bin_path)
    if not there:
        raise InputProblem(f"no backup of {bin_path} is there yet", remedy="one is made before the next entry")
    wanted = there[0] if name is None else next((each for each in there if each.name == name), None)
    if wanted is None:
        names = ", ".join(each.name for each in there)
        raise InputProblem(f"no backup {name[:60] if name else name!r}, expected one of {names}")
    if problems := opening.problems_of(wanted.path):
        raise InputProblem(f"{wanted.path}: {problems[0]}", remedy="restore another one by its name")
    return wanted


def restore(bin_path: Path, backup: Backup, now: datetime) -> Path | None:
    """Put the bin back as it was in a sound backup; return where what was there is kept: a backup of its own, or
    the damaged file, set aside. None where nothing was there.

    A bench that has the bin open sees it changed. Raises the faults of ``records.problems``.
    """
    kept = None
    if bin_path.exists() and opening.problems_of(bin_path):
        kept = opening.set_aside(bin_path, was_a_bin=True)
    with (
        in_plain_words(bin_path),
        contextlib.closing(opening.connect(bin_path)) as target,
        contextlib.closing(sqlite3.connect(":memory:")) as held,
    ):
        # Read first: the copy made now may push an older one out, which may be this.
        with contextlib.closing(sqlite3.connect(backup.path.absolute().as_uri() + "?mode=ro", uri=True)) as file:
            file.backup(held)
        if kept is None and target.execute("SELECT 1 FROM motors LIMIT 1").fetchone() is not None:
            kept = make(target, bin_path, now)
        held.backup(target)
    with contextlib.closing(opening.connect(bin_path)):
        pass  # brings one from an earlier version forward
    return kept
