"""Opening a bin's file without ever harming one that is damaged, newer, or somebody else's."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import time
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.records import check_values, schema
from coilbench.records.paths import bin_path
from coilbench.records.problems import BinDamaged, BinNewer, BinUnreachable, in_plain_words

BUSY_SECONDS = 10.0
LARGE_BYTES = 8_000_000  # some hundred worked motors, whose rows are looked over in 50 ms
_MAGIC = b"SQLite format 3\x00"
_LARGEST_HEAD = 1 << 20  # of a file, to know a bin by
# Of sqlite's words those that come where nothing more can be written, the log's index included.
_OF_NO_ROOM = ("disk is full", "disk I/O error", "unable to open database file")


def connect(path: Path, busy_seconds: float = BUSY_SECONDS, *, thorough: bool = True) -> sqlite3.Connection:
    """A connection to the bin at ``path``, made if there is none; its schema brought forward. Its rows are looked
    over where it is to be ``thorough``: else ``look_over`` is to follow.

    It waits ``busy_seconds`` for another program that holds the file. Where nothing can be written (a full disk, no
    right to) what is there can still be read: the connection is then for looking alone.

    Raises BinDamaged, BinNewer, BinUnreachable or BinBusy; the file is then as it was.
    """
    with in_plain_words(path):
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        _look_first(path, thorough=thorough)
        if _may_not_write(path):
            return _for_looking(path)
        with contextlib.suppress(FileExistsError):
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))  # what stands beside it follows
        connection = sqlite3.connect(
            path.absolute(), timeout=busy_seconds, isolation_level=None, check_same_thread=False
        )
        try:
            _into_wal(connection, busy_seconds)
            # FULL: a commit is on the disk when it returns, not merely in the system's hands.
            connection.execute("PRAGMA synchronous = FULL")
            connection.execute("PRAGMA foreign_keys = ON")
            if schema.version_of(connection) != schema.VERSION:
                with contextlib.suppress(OSError):
                    path.chmod(0o600)  # begun by a version that left it to others to read
            schema.bring_forward(connection)
        except BaseException as problem:
            connection.close()
            if _no_room(problem) and path.stat().st_size > 0:
                return _for_looking(path)
            raise
        return connection


def in_memory() -> sqlite3.Connection:
    """A bin that is gone when it is closed."""
    connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    connection.execute("PRAGMA foreign_keys = ON")
    schema.bring_forward(connection)
    return connection


def is_for_looking(connection: sqlite3.Connection) -> bool:
    """Whether nothing can be written by this connection."""
    return bool(connection.execute("PRAGMA query_only").fetchone()[0])


def _may_not_write(path: Path) -> bool:
    """Whether a bin is there that this person may not write; what stands beside it is written with it."""
    there = path.exists() and path.stat().st_size > 0
    return there and not (os.access(path, os.W_OK) and os.access(path.absolute().parent, os.W_OK))


def _for_looking(path: Path) -> sqlite3.Connection:
    connection = _looking(path)
    version = schema.version_of(connection)
    if version != schema.VERSION:
        connection.close()
        what = "it is from an older coilbench and may only be read, so it can't be brought forward"
        raise BinUnreachable(path, what if version else "it holds nothing yet, and nothing can be written to it")
    connection.execute("PRAGMA query_only = ON")
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
                sealed = found == ["ok"] and schema.version_of(connection) >= schema.SEALED_FROM
                flaws = check_values.flaws(connection) if sealed else []
    except BinDamaged as problem:
        return [problem.happened]
    lines = [" ".join(line.split()) for line in found if line != "ok"]
    return lines + [f"a row of {row[0]} belongs to no motor" for row in strays] + flaws


def set_aside_damaged(path: Path) -> Path | None:
    """Set a bin aside that is damaged still; None, and nothing is moved, when it is sound.

    Another program may have done it meanwhile: then what stands there is that one's new bin.
    """
    return set_aside(path) if problems_of(path) else None


def has_mark(path: Path) -> bool:
    """Whether a file is, or was before it was damaged, a motor bin."""
    with path.open("rb") as file:
        head = file.read(_LARGEST_HEAD)
    return head[68:72] == schema.APPLICATION_ID.to_bytes(4, "big") or b"CREATE TABLE motors (" in head


def set_aside(path: Path, *, was_a_bin: bool = False) -> Path:
    """Move a file, with its write-ahead log, out of the way under a name that says when; return that name.

    Raises InputProblem for a file that never was a bin, unless it stands where the bin is to be, or backups beside it
    tell that it ``was_a_bin``.
    """
    with in_plain_words(path):
        if not was_a_bin and not has_mark(path) and path.absolute() != bin_path().absolute():
            raise InputProblem(
                f"{path} is no motor bin; it stays where it is", remedy="choose another file with --bin"
            )
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


def is_large(path: Path) -> bool:
    """Whether to look all its rows over takes long enough to be waited for."""
    return path.exists() and path.stat().st_size > LARGE_BYTES


def look_over(path: Path) -> None:
    """Look a bin over row by row. Raises BinDamaged."""
    with in_plain_words(path):
        _look_first(path)


def _look_first(path: Path, *, thorough: bool = True) -> None:
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
            if has_mark(path) and not check_values.tables_hold(connection):
                raise BinDamaged(path, f"its version, {version}, is not what was written")
            raise BinNewer(path, version, schema.VERSION)
        tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
        application = connection.execute("PRAGMA application_id").fetchone()[0]
        if tables and application != schema.APPLICATION_ID:
            raise BinDamaged(path, "it is a database of another program")
        if not thorough and version >= schema.SEALED_FROM:
            if not check_values.tables_hold(connection):
                raise BinDamaged(path, "the tables' definitions are not what was written")
            return
        # Indexes too: a row that an index has lost is never found again.
        found = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
        if found != "ok":
            raise BinDamaged(path, " ".join(str(found).split()))
        if version >= schema.SEALED_FROM and (flaws := check_values.flaws(connection, 1)):
            raise BinDamaged(path, flaws[0])


def _looking(path: Path) -> sqlite3.Connection:
    # A program killed while it began the bin leaves a rollback journal, which only a writer may play back.
    begun = path.with_name(path.name + "-journal").exists()
    uri = path.absolute().as_uri() + ("?mode=rw" if begun else "?mode=ro")
    if not os.access(path.absolute().parent, os.W_OK) and not path.with_name(path.name + "-wal").exists():
        uri += "&immutable=1"  # the log's index can't be made in this folder; with no log there nobody is writing
    connection = _read_by(uri)
    try:
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError as problem:
        connection.close()
        if not _no_room(problem):
            raise
        return _looking_without_room(path)
    return connection


def _looking_without_room(path: Path) -> sqlite3.Connection:
    """On a full disk the log's index can't be made: without a log the file alone is read, else the index is kept in
    memory, for which the file must be held by nobody else."""
    log = path.with_name(path.name + "-wal")
    if not log.exists() or log.stat().st_size == 0:
        return _read_by(path.absolute().as_uri() + "?mode=ro&immutable=1")
    connection = _read_by(path.absolute().as_uri() + "?mode=rw")
    connection.execute("PRAGMA locking_mode = EXCLUSIVE")
    return connection


def _read_by(uri: str) -> sqlite3.Connection:
    connection = sqlite3.connect(uri, uri=True, timeout=BUSY_SECONDS, isolation_level=None, check_same_thread=False)
    check_values.register(connection)
    return connection


def _no_room(problem: BaseException) -> bool:
    return isinstance(problem, sqlite3.OperationalError) and any(words in str(problem) for words in _OF_NO_ROOM)


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
