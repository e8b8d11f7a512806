"""Undo and redo: every change keeps the row as it was and as it became.

The changes stand in the bin itself, in one order for all programs that have it open, so undo works across a restart
and takes back the latest change no matter who made it.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from typing import Any

_COLUMNS = {
    "readings": ("motor_id", "a", "b", "ohm", "range_ohm", "meter", "kind", "time"),
    "events": ("motor_id", "stage", "value", "time"),
    "motors": ("leads",),
}


def insert(connection: sqlite3.Connection, stage: str, table: str, values: Mapping[str, Any]) -> int:
    """Add a row and note it; return its id."""
    columns = _COLUMNS[table]
    marks = ", ".join("?" * len(columns))
    cursor = connection.execute(
        f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})", [values[column] for column in columns]
    )
    row_id = int(cursor.lastrowid or 0)
    _note(connection, values["motor_id"], stage, table, row_id, None, values)
    return row_id


def update(
    connection: sqlite3.Connection, motor_id: int, stage: str, table: str, row_id: int, values: Mapping[str, Any]
) -> None:
    """Change some columns of a row and note it."""
    before = row(connection, table, row_id)
    after = {**(before or {}), **values}
    _write(connection, table, row_id, after)
    _note(connection, motor_id, stage, table, row_id, before, after)


def delete(connection: sqlite3.Connection, motor_id: int, stage: str, table: str, row_id: int) -> None:
    """Take a row out and note it."""
    before = row(connection, table, row_id)
    _write(connection, table, row_id, None)
    _note(connection, motor_id, stage, table, row_id, before, None)


def row(connection: sqlite3.Connection, table: str, row_id: int) -> dict[str, Any] | None:
    """The columns of a row that undo looks after, or None."""
    columns = _COLUMNS[table]
    found = connection.execute(f"SELECT {', '.join(columns)} FROM {table} WHERE id = ?", [row_id]).fetchone()
    return None if found is None else dict(zip(columns, found, strict=True))


def step(connection: sqlite3.Connection, motor_id: int, stage: str | None, *, back: bool) -> str | None:
    """Take back the latest change (of one stage, if named), or do the latest undone one again.

    Returns a few words on what was changed, None when there was nothing.
    """
    found = next_step(connection, motor_id, stage, back=back)
    if found is None:
        return None
    change_id, table, row_id, before_text, after_text = found
    before, after = (None if text is None else json.loads(text) for text in (before_text, after_text))
    _write(connection, table, row_id, before if back else after)
    connection.execute("UPDATE changes SET undone = ? WHERE id = ?", [1 if back else 0, change_id])
    return _words(table, before, after)


def next_step(connection: sqlite3.Connection, motor_id: int, stage: str | None, *, back: bool) -> Any:
    """The change that ``step`` would take back or do again, None where there is none."""
    return connection.execute(
        f"""SELECT id, of, row_id, before, after FROM changes
        WHERE motor_id = ? AND undone = ? AND (? IS NULL OR stage = ?)
        ORDER BY id {"DESC" if back else "ASC"} LIMIT 1""",
        [motor_id, 0 if back else 1, stage, stage],
    ).fetchone()


def _write(connection: sqlite3.Connection, table: str, row_id: int, values: Mapping[str, Any] | None) -> None:
    columns = _COLUMNS[table]
    if values is None:
        connection.execute(f"DELETE FROM {table} WHERE id = ?", [row_id])
        return
    given = [values[column] for column in columns]
    pairs = ", ".join(f"{column} = ?" for column in columns)
    if connection.execute(f"UPDATE {table} SET {pairs} WHERE id = ?", [*given, row_id]).rowcount == 0:
        marks = ", ".join("?" * (len(columns) + 1))
        connection.execute(f"INSERT INTO {table} ({', '.join(columns)}, id) VALUES ({marks})", [*given, row_id])


def _note(
    connection: sqlite3.Connection,
    motor_id: int,
    stage: str,
    table: str,
    row_id: int,
    before: Mapping[str, Any] | None,
    after: Mapping[str, Any] | None,
) -> None:
    # A new change ends what could have been done again.
    connection.execute("DELETE FROM changes WHERE motor_id = ? AND stage = ? AND undone = 1", [motor_id, stage])
    texts = [None if values is None else json.dumps(dict(values)) for values in (before, after)]
    connection.execute(
        "INSERT INTO changes (motor_id, stage, of, row_id, before, after) VALUES (?, ?, ?, ?, ?, ?)",
        [motor_id, stage, table, row_id, *texts],
    )


def _words(table: str, before: Mapping[str, Any] | None, after: Mapping[str, Any] | None) -> str:
    values = after or before or {}
    if table == "readings":
        return f"reading {values['a']} {values['b']}"
    return {"events": "test", "motors": "leads"}[table]
