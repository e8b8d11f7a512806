"""Opening a bin's file without ever harming one that is damaged, newer, or somebody else's."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import time
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from coilbench.records import schema
from coilbench.records.problems import BinDamaged, BinNewer, BinUnreachable, in_plain_words

BUSY_SECONDS = 10.0
_MAGIC = b"SQLite format 3\x00"


def connect(path: Path, busy_seconds: float = BUSY_SECONDS) -> sqlite3.Connection:
    """A connection to the bin at ``path``, made if there is none; its schema brought forward.

    It waits ``busy_seconds`` for another program that holds the file.

    Raises BinDamaged, BinNewer, BinUnreachable or BinBusy; the file is then as it was.
    """
    with in_plain_words(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        _look_first(path)
        if is_read_only(path):
            return _for_looking(path)
        connection = sqlite3.connect(path, timeout=busy_seconds, isolation_level=None, check_same_thread=False)
        try:
            _into_wal(connection, busy_seconds)
            # FULL: a commit is on the disk when it returns, not merely in the system's hands.
            connection.execute("PRAGMA synchronous = FULL")
            connection.execute("PRAGMA foreign_keys = ON")
            schema.bring_forward(connection)
        except BaseException:
            connection.close()
            raise
        return connection


def in_memory() -> sqlite3.Connection:
    """A bin that is gone when it is closed."""
    connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    connection.execute("PRAGMA foreign_keys = ON")
    schema.bring_forward(connection)
    return connection


def is_read_only(path: Path) -> bool:
    """Whether a bin is there that this person may not write; what stands beside it is written with it."""
    there = path.exists() and path.stat().st_size > 0
    return there and not (os.access(path, os.W_OK) and os.access(path.absolute().parent, os.W_OK))


def _for_looking(path: Path) -> sqlite3.Connection:
    connection = _looking(path)
    if schema.version_of(connection) != schema.VERSION:
        connection.close()
        raise BinUnreachable(
            path, "it is from an older coilbench and may only be read, so it can't be brought forward"
        )
    return connection


def problems_of(path: Path) -> list[str]:
    """Everything a thorough look at an existing bin finds, one line each; empty when it is sound."""
    try:
        with in_plain_words(path):
            if not path.is_file():
                return [f"there is no file {path}"]
            _look_first(path)
            with contextlib.closing(_looking(path)) as connection:
                found = [str(row[0]) for row in connection.execute("PRAGMA integrity_check(20)")]
                strays = connection.execute("PRAGMA foreign_key_check").fetchall()
    except BinDamaged as problem:
        return [problem.happened]
    lines = [" ".join(line.split()) for line in found if line != "ok"]
    return lines + [f"a row of {row[0]} belongs to no motor" for row in strays]


def set_aside_damaged(path: Path) -> Path | None:
    """Set a bin aside that is damaged still; None, and nothing is moved, when it is sound.

    Another program may have done it meanwhile: then what stands there is that one's new bin.
    """
    return set_aside(path) if problems_of(path) else None


def set_aside(path: Path) -> Path:
    """Move a file, with its write-ahead log, out of the way under a name that says when; return that name."""
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S")
    with in_plain_words(path):
        for tries in count():
            mark = f".aside-{stamp}" + (f"-{tries}" if tries else "")
            target = path.with_name(path.name + mark)
            with contextlib.suppress(FileExistsError):
                target.open("x").close()  # the name is ours from now on, whoever else sets a file aside
                break
        # The log first: left alone beside a new bin it would be taken for the new one's.
        for ending in ("-wal", "-shm"):
            beside = path.with_name(path.name + ending)
            if beside.exists():
                beside.rename(target.with_name(target.name + ending))
        path.replace(target)
    return target


def _look_first(path: Path) -> None:
    """Judge an existing file by reading alone: opening it to write could already change it."""
    if path.is_dir():
        raise IsADirectoryError(21, "it is a folder")
    if not path.exists() or path.stat().st_size == 0:
        return
    with path.open("rb") as file:
        if file.read(len(_MAGIC)) != _MAGIC:
            raise BinDamaged(path, "it does not begin as a bin does")
    with contextlib.closing(_looking(path)) as connection:
        version = schema.version_of(connection)
        if version > schema.VERSION:
            raise BinNewer(path, version, schema.VERSION)
        tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
        application = connection.execute("PRAGMA application_id").fetchone()[0]
        if tables and application != schema.APPLICATION_ID:
            raise BinDamaged(path, "it is a database of another program")
        found = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
        if found != "ok":
            raise BinDamaged(path, " ".join(str(found).split()))


def _looking(path: Path) -> sqlite3.Connection:
    # A program killed while it began the bin leaves a rollback journal, which only a writer may play back.
    begun = path.with_name(path.name + "-journal").exists()
    uri = path.absolute().as_uri() + ("?mode=rw" if begun else "?mode=ro")
    if not os.access(path.absolute().parent, os.W_OK) and not path.with_name(path.name + "-wal").exists():
        uri += "&immutable=1"  # the log's index can't be made in this folder; with no log there nobody is writing
    return sqlite3.connect(uri, uri=True, timeout=BUSY_SECONDS, isolation_level=None)


def _into_wal(connection: sqlite3.Connection, busy_seconds: float) -> None:
    """Switch to write-ahead logging; sqlite doesn't wait by itself when two programs switch at once."""
    give_up = time.monotonic() + busy_seconds
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as problem:
            if "locked" not in str(problem) or time.monotonic() > give_up:
                raise
            time.sleep(0.02)
