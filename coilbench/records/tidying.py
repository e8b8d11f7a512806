"""What is done to motors as a whole, merged, split, put away or deleted, as acts that can be taken back.

An act keeps each row that it changed as it was and as it became; undo puts them back under their own numbers, with
the motors' own steps for undo. It does so only where all of them are still as the act left them: what was done since
is never lost.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterator
from sqlite3 import Connection
from typing import Any, NamedTuple

from coilbench.errors import InputProblem
from coilbench.records.check_values import COLUMNS
from coilbench.records.checks import shown
from coilbench.records.store import Bin, utc_now

MOST = 20  # acts that are kept
_TABLES = ("motors", "readings", "facts", "events", "changes")  # in this order rows find their motor

Row = dict[str, Any]


class _Change(NamedTuple):
    table: str
    row_id: int
    before: Row | None
    after: Row | None

    def turned(self) -> _Change:
        return self._replace(before=self.after, after=self.before)


@contextlib.contextmanager
def act(bin: Bin, what: str, *names: str) -> Iterator[Connection]:
    """What is done within, to the motors of these names and to those begun meanwhile, is one act, wholly done or not
    at all; ``what`` are a few words on it. Raises InputProblem where the bin has no such motor."""
    with bin.writing() as connection:
        ids = [bin.motor_id(connection, name) for name in names]
        (last,) = connection.execute("SELECT coalesce(max(id), 0) FROM motors").fetchone()
        before = _rows_of(connection, ids)
        yield connection
        begun = [number for (number,) in connection.execute("SELECT id FROM motors WHERE id > ?", [last])]
        after = _rows_of(connection, [*ids, *begun])
        changes = [
            _Change(*key, before.get(key), after.get(key))
            for key in dict.fromkeys((*before, *after))
            if before.get(key) != after.get(key)
        ]
        if changes:
            connection.execute("DELETE FROM tidyings WHERE undone = 1")  # a new act ends what could be done again
            connection.execute(
                "INSERT INTO tidyings (what, changed, time) VALUES (?, ?, ?)", [what, json.dumps(changes), utc_now()]
            )
            connection.execute(
                "DELETE FROM tidyings WHERE id NOT IN (SELECT id FROM tidyings ORDER BY id DESC LIMIT ?)", [MOST]
            )


def next_act(bin: Bin, *, back: bool = True) -> str:
    """The act that ``step`` would take back or do again, in words; empty where there is none."""
    with bin.reading() as connection:
        found = _next(connection, back=back)
    return "" if found is None else str(found[1])


def step(bin: Bin, *, back: bool = True) -> str | None:
    """Take back the latest act, or do the latest undone one again: what it was, None where there is none.

    Raises InputProblem where something that it changed has changed since; nothing is done then.
    """
    with bin.writing() as connection:
        if (found := _next(connection, back=back)) is None:
            return None
        number, what, text = found
        changes = [_Change(*each) for each in json.loads(text)]
        _put(connection, [each.turned() for each in changes] if back else changes, what)
        connection.execute("UPDATE tidyings SET undone = ? WHERE id = ?", [1 if back else 0, number])
    return what


def _next(connection: Connection, *, back: bool) -> tuple[int, str, str] | None:
    found: tuple[int, str, str] | None = connection.execute(
        f"SELECT id, what, changed FROM tidyings WHERE undone = ? ORDER BY id {'DESC' if back else 'ASC'} LIMIT 1",
        [0 if back else 1],
    ).fetchone()
    return found


def _rows_of(connection: Connection, motor_ids: list[int]) -> dict[tuple[str, int], Row]:
    found: dict[tuple[str, int], Row] = {}
    for table in _TABLES:
        owner = "id" if table == "motors" else "motor_id"
        for number in motor_ids:
            rows = connection.execute(
                f"SELECT {_columns(table)} FROM {table} WHERE {owner} = ? ORDER BY id", [number]
            )
            found |= {(table, row[0]): dict(zip(COLUMNS[table], row, strict=True)) for row in rows}
    return found


def _columns(table: str) -> str:
    return ", ".join(f'"{column}"' for column in COLUMNS[table])


def _put(connection: Connection, changes: list[_Change], what: str) -> None:
    """Bring every row from ``before`` to ``after``."""
    for each in changes:
        if _row(connection, each.table, each.row_id) != each.before:
            raise _changed_since(what)
    gone = [each.row_id for each in changes if each.table == "motors" and each.after is None]
    if _rows_of(connection, gone).keys() - {(each.table, each.row_id) for each in changes}:
        raise _changed_since(what)
    for each in changes:
        if each.after is None and each.table != "motors":
            connection.execute(f"DELETE FROM {each.table} WHERE id = ?", [each.row_id])
    for table in _TABLES:
        for each in changes:
            if each.table == table and each.after is not None:
                _write(connection, each, each.after)
    for number in gone:
        connection.execute("DELETE FROM motors WHERE id = ?", [number])


def _write(connection: Connection, change: _Change, row: Row) -> None:
    table, columns = change.table, COLUMNS[change.table]
    values = [row[column] for column in columns]
    if change.before is not None:
        pairs = ", ".join(f'"{column}" = ?' for column in columns)
        connection.execute(f"UPDATE {table} SET {pairs} WHERE id = ?", [*values, change.row_id])
        return
    if table == "motors" and connection.execute("SELECT 1 FROM motors WHERE name = ?", [row["name"]]).fetchone():
        raise InputProblem(
            f"there is another motor {shown(row['name'])} meanwhile", remedy="give that one another name first"
        )
    marks = ", ".join("?" * len(columns))
    connection.execute(f"INSERT INTO {table} ({_columns(table)}) VALUES ({marks})", values)


def _row(connection: Connection, table: str, row_id: int) -> Row | None:
    found = connection.execute(f"SELECT {_columns(table)} FROM {table} WHERE id = ?", [row_id]).fetchone()
    return None if found is None else dict(zip(COLUMNS[table], found, strict=True))


def _changed_since(what: str) -> InputProblem:
    return InputProblem(
        f"{shown(what)}: something of it has changed since, so it stays as it is",
        title="It stays",
        remedy="take back first what was done since; a backup still has the bin as it was",
    )
