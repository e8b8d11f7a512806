"""Getting out of a damaged bin all that is whole, and saying what is not. The file is only read."""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from coilbench.errors import InputProblem
from coilbench.records import check_values, exchange, opening, schema
from coilbench.records.checks import checked_leads, checked_name, free_name, shown
from coilbench.records.incoming import check_motor
from coilbench.records.problems import BinDamaged, in_plain_words
from coilbench.records.saved.forward import forward
from coilbench.winding.readings.reading import FRAME, PROBES

_OF_MOTORS = ("motors", "readings", "facts", "events")
_HEAD, _PAGE = 100, 4096
_MOST_ROWS = 1_000_000  # where the file doesn't say how many it holds


@dataclass(frozen=True)
class Rescued:
    """``whole`` is what an export of the sound rows holds; ``lost`` names the others, one line each."""

    whole: dict[str, Any]
    lost: list[str] = field(default_factory=list)


def rescued(path: Path) -> Rescued:
    """All that is whole in the file. Raises the faults of ``records.problems`` where nothing of it can be read."""
    lost: list[str] = []
    with in_plain_words(path), contextlib.closing(_opened(path)) as connection:
        sealed = _has(connection, "motors", "crc")
        version = schema.VERSION if sealed else schema.version_of(connection)
        rows = {table: list(_whole_rows(connection, table, lost, sealed=sealed)) for table in _OF_MOTORS}
        own = list(_whole_rows(connection, "own", lost, sealed=sealed)) if _has(connection, "own", "value") else []
    motors = _Motors(rows["motors"], lost)
    for table in ("readings", "facts", "events"):
        for row in rows[table]:
            motors.add(table, row)
    bench = [json.loads(row["value"]) for row in own]  # as it was written: its check value holds
    return Rescued(exchange.envelope(motors.checked(version), bench), lost)


def _opened(path: Path) -> sqlite3.Connection:
    """A connection that can't change the file. Raises BinDamaged for what never was a bin."""
    if not opening.has_mark(path):
        raise BinDamaged(path, "it is no motor bin")
    log = path.with_name(path.name + "-wal")
    if log.exists() and log.stat().st_size > 0:
        connection = sqlite3.connect(path.absolute().as_uri() + "?mode=ro", uri=True)
    else:
        connection = sqlite3.connect(":memory:")
        connection.deserialize(_with_sound_head(path.read_bytes()))
        _put_definitions_right(connection)
    check_values.register(connection)
    connection.text_factory = lambda raw: raw.decode("utf-8", "replace")
    return connection


def _put_definitions_right(connection: sqlite3.Connection) -> None:
    """Give a copy in memory the tables' definitions as they were made: every bin has walked the same road."""
    connection.execute("PRAGMA writable_schema = ON")  # a definition that can't be read is passed over
    with contextlib.closing(opening.in_memory()) as model:
        made = model.execute("SELECT type, name, tbl_name, sql, rowid FROM sqlite_schema").fetchall()
    with contextlib.suppress(sqlite3.DatabaseError):
        if not _has(connection, "tables_crc", "crc") and not _has(connection, "motors", "crc"):
            return  # from before there were check values
    with contextlib.suppress(sqlite3.DatabaseError):
        connection.executemany(
            "UPDATE sqlite_schema SET type = ?, name = ?, tbl_name = ?, sql = ? WHERE rowid = ?", made
        )
        connection.commit()
    connection.execute("PRAGMA writable_schema = RESET")
    connection.execute("PRAGMA writable_schema = ON")


def _with_sound_head(data: bytes) -> bytes:
    """The file with that right in its header which is the same in every bin (SQLite's file format, section 1.3)."""
    whole = bytearray(data.ljust(_HEAD))
    whole[0:16] = b"SQLite format 3\x00"
    whole[16:18] = _PAGE.to_bytes(2, "big")
    whole[18:24] = bytes((1, 1, 0, 64, 32, 32))  # no write-ahead log beside a file in memory
    whole[28:32] = (len(whole) // _PAGE).to_bytes(4, "big")
    whole[44:48] = (4).to_bytes(4, "big")
    whole[56:60] = (1).to_bytes(4, "big")
    return bytes(whole[: len(whole) // _PAGE * _PAGE])


def _has(connection: sqlite3.Connection, table: str, *columns: str) -> bool:
    try:
        connection.execute(f"SELECT {', '.join(columns)} FROM {table} LIMIT 0")
    except sqlite3.OperationalError:
        return False
    return True


def _whole_rows(
    connection: sqlite3.Connection, table: str, lost: list[str], *, sealed: bool
) -> Iterator[dict[str, Any]]:
    """The rows that are what was written, by their number; before check values, those that can be read."""
    columns = check_values.COLUMNS[table]
    asked = ("rowid", *columns[1:]) + ((f"crc IS {check_values.reckoned(table)}",) if sealed else ())
    try:
        connection.execute(f"SELECT {', '.join(asked)} FROM {table} LIMIT 0")
    except sqlite3.DatabaseError as problem:
        lost.append(f"all {table}: {problem}")
        return
    for row_id, values in _rows(connection, table, asked, lost):
        if sealed and not values[-1]:
            named = f", {shown(str(values[1]))}" if table == "motors" else ""
            lost.append(f"row {row_id} of {table}{named}: not what was written")
        else:
            yield dict(zip(columns, values, strict=False))


def _rows(
    connection: sqlite3.Connection, table: str, asked: tuple[str, ...], lost: list[str]
) -> Iterator[tuple[int, tuple[Any, ...]]]:
    """Every row that can be reached; a stretch with a damaged page in it is halved until the page stands alone."""
    last = _MOST_ROWS
    with contextlib.suppress(sqlite3.DatabaseError):
        found = connection.execute(f"SELECT max(rowid) FROM {table}").fetchone()[0]
        last = min(int(found or 0), _MOST_ROWS)
    select = f"SELECT {', '.join(asked)} FROM {table} NOT INDEXED WHERE rowid BETWEEN ? AND ? ORDER BY rowid"
    stretches, unread = [(1, last)], 0
    while stretches:
        low, high = stretches.pop()
        if low > high:
            continue
        try:
            found_rows = connection.execute(select, [low, high]).fetchall()
        except sqlite3.DatabaseError:
            if low == high:
                unread += 1
            else:
                middle = (low + high) // 2
                stretches += [(middle + 1, high), (low, middle)]
            continue
        yield from ((int(row[0]), tuple(row)) for row in found_rows)
    if unread:
        lost.append(f"{table}: {unread} row{'s' if unread > 1 else ''} on pages that can't be read")


class _Motors:
    """Motors put together again; one whose own row is lost gets a name and leads from what else is known of it."""

    def __init__(self, rows: list[dict[str, Any]], lost: list[str]) -> None:
        self._lost = lost
        self._found: dict[int, dict[str, Any]] = {}
        self._nameless: set[int] = set()
        self._ends: dict[int, dict[str, None]] = defaultdict(dict)
        for row in rows:
            with self._noting(f"motor {row['id']}"):
                self._found[row["id"]] = _motor(row["name"], json.loads(row["leads"]), row["created"])

    def add(self, table: str, row: dict[str, Any]) -> None:
        """Put a row where it belongs."""
        owner = row["motor_id"]
        if not isinstance(owner, int):
            self._lost.append(f"row {row['id']} of {table}: belongs to no motor")
            return
        if owner not in self._found:
            self._nameless.add(owner)
            self._found[owner] = _motor(f"rescued {owner}", [], row["time"])
        motor = self._found[owner]
        with self._noting(f"row {row['id']} of {table}"):
            if table == "readings":
                self._ends[owner] |= dict.fromkeys((row["a"], row["b"]))
                motor["readings"].append(exchange.reading_object(*(row[key] for key in exchange.READING_COLUMNS)))
            elif table == "facts":
                motor["facts"][row["stage"]] = {"value": json.loads(row["value"]), "time": row["time"]}
            else:
                entry = {"stage": row["stage"], "value": json.loads(row["value"]), "time": row["time"]}
                motor["events"].append(entry)

    def checked(self, version: int) -> list[dict[str, Any]]:
        """The motors that an import takes, in the order in which they were begun."""
        good: list[dict[str, Any]] = []
        for number, motor in sorted(self._found.items()):
            if number in self._nameless:
                motor["leads"] = [end for end in self._ends[number] if end not in (FRAME, PROBES)]
                self._lost.append(f"the name and leads of motor {number}: it is {motor['name']!r} now")
            motor["name"] = free_name(motor["name"], {each["name"] for each in good})
            if version < schema.RECORDS_TWO_FROM:
                forward(motor, 1)
            good.append(motor if version >= schema.SEALED_FROM else self._taken(motor))
        return good

    def _taken(self, motor: dict[str, Any]) -> dict[str, Any]:
        """The motor without what an import refuses: of rows without a check value no more can be told."""
        for part in ("readings", "events"):
            kept = []
            for number, entry in enumerate(motor[part]):
                with self._noting(f"{part} {number + 1} of {motor['name']!r}"):
                    check_motor({**motor, "readings": [], "events": [], "facts": {}, part: [entry]})
                    kept.append(entry)
            motor[part] = kept
        facts = {}
        for stage, fact in motor["facts"].items():
            with self._noting(f"the {stage} of {motor['name']!r}"):
                check_motor({**motor, "readings": [], "events": [], "facts": {stage: fact}})
                facts[stage] = fact
        motor["facts"] = facts
        return motor

    @contextlib.contextmanager
    def _noting(self, what: str) -> Iterator[None]:
        try:
            yield
        except (InputProblem, ValueError, TypeError, AttributeError, RecursionError) as problem:
            self._lost.append(f"{what}: {problem}")


def _motor(name: Any, leads: Any, created: Any) -> dict[str, Any]:
    checked_leads(leads)
    return {
        "name": checked_name(name),
        "leads": leads,
        "created": created,
        "readings": [],
        "facts": {},
        "events": [],
    }


def only(whole: dict[str, Any], names: Sequence[str] | None) -> dict[str, Any]:
    """The export with these motors alone. Raises InputProblem for one that is not among them."""
    if names is None:
        return whole
    there = [each["name"] for each in whole["motors"]]
    for name in names:
        if name not in there:
            raise InputProblem(f"no motor {shown(name)} is whole in the bin, expected {', '.join(map(shown, there))}")
    return exchange.envelope([each for each in whole["motors"] if each["name"] in names])
