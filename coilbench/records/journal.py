"""Undo and redo: every change keeps the row as it was and as it became.

The changes stand in the bin itself, in one order for all programs that have it open, so undo works across a restart
and takes back the latest act no matter who did it. An act is what was done at once: all its changes go together.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from typing import Any

_COLUMNS = {
    "readings": ("motor_id", "a", "b", "ohm", "range_ohm", "meter", "kind", "time"),
    "events": ("motor_id", "stage", "value", "time"),
    "facts": ("motor_id", "stage", "value", "time"),
    "motors": ("leads",),
}

_MOST_NAMED = 3  # more changes of one act are counted


class Act:
    """What a stage does to one motor at once, noted change by change. For use within one transaction."""

    def __init__(self, connection: sqlite3.Connection, motor_id: int, stage: str) -> None:
        self._connection = connection
        self._motor_id = motor_id
        self._stage = stage
        self._number: int | None = None

    def insert(self, table: str, values: Mapping[str, Any]) -> int:
        """Add a row; return its id."""
        columns = _COLUMNS[table]
        marks = ", ".join("?" * len(columns))
        cursor = self._connection.execute(
            f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})", [values[column] for column in columns]
        )
        row_id = int(cursor.lastrowid or 0)
        self._note(table, row_id, None, values)
        return row_id

    def update(self, table: str, row_id: int, values: Mapping[str, Any]) -> None:
        """Change some columns of a row."""
        before = row(self._connection, table, row_id)
        after = {**(before or {}), **values}
        _write(self._connection, table, row_id, after)
        self._note(table, row_id, before, after)

    def delete(self, table: str, row_id: int) -> None:
        """Take a row out."""
        before = row(self._connection, table, row_id)
        _write(self._connection, table, row_id, None)
        self._note(table, row_id, before, None)

    def _note(
        self, table: str, row_id: int, before: Mapping[str, Any] | None, after: Mapping[str, Any] | None
    ) -> None:
        connection = self._connection
        if self._number is None:
            # A new change ends what could have been done again.
            connection.execute(
                "DELETE FROM changes WHERE motor_id = ? AND stage = ? AND undone = 1", [self._motor_id, self._stage]
            )
        texts = [None if values is None else json.dumps(dict(values)) for values in (before, after)]
        change_id = connection.execute(
            "INSERT INTO changes (motor_id, stage, of, row_id, before, after) VALUES (?, ?, ?, ?, ?, ?)",
            [self._motor_id, self._stage, table, row_id, *texts],
        ).lastrowid
        self._number = self._number or int(change_id or 0)
        connection.execute("UPDATE changes SET act = ? WHERE id = ?", [self._number, change_id])


def row(connection: sqlite3.Connection, table: str, row_id: int) -> dict[str, Any] | None:
    """The columns of a row that undo looks after, or None."""
    columns = _COLUMNS[table]
    found = connection.execute(f"SELECT {', '.join(columns)} FROM {table} WHERE id = ?", [row_id]).fetchone()
    return None if found is None else dict(zip(columns, found, strict=True))


def step(connection: sqlite3.Connection, motor_id: int, stage: str | None, *, back: bool) -> str | None:
    """Take back the latest act (of one stage, if named), or do the latest undone one again.

    Returns a few words on what was changed, None when there was nothing.
    """
    act = next_act(connection, motor_id, stage, back=back)
    if act is None:
        return None
    changes = connection.execute(
        f"SELECT of, row_id, before, after FROM changes WHERE act = ? ORDER BY id {'DESC' if back else 'ASC'}", [act]
    ).fetchall()
    words: list[str] = []
    for table, row_id, before_text, after_text in changes:
        before, after = (None if text is None else json.loads(text) for text in (before_text, after_text))
        now, then = (after, before) if back else (before, after)
        # What another stage has written since stays.
        if table != "facts" or row(connection, table, row_id) == now:
            _write(connection, table, row_id, then)
        words.append(_words(table, after or before or {}))
    connection.execute("UPDATE changes SET undone = ? WHERE act = ?", [1 if back else 0, act])
    unique = list(dict.fromkeys(words))
    return ", ".join(unique) if len(unique) <= _MOST_NAMED else f"{len(unique)} changes"


def next_act(connection: sqlite3.Connection, motor_id: int, stage: str | None, *, back: bool) -> int | None:
    """The act that ``step`` would take back or do again, None where there is none."""
    found = connection.execute(
        f"""SELECT act FROM changes WHERE motor_id = ? AND undone = ? AND (? IS NULL OR stage = ?)
        ORDER BY id {"DESC" if back else "ASC"} LIMIT 1""",
        [motor_id, 0 if back else 1, stage, stage],
    ).fetchone()
    return None if found is None else int(found[0])


def _write(connection: sqlite3.Connection, table: str, row_id: int, values: Mapping[str, Any] | None) -> None:
    columns = _COLUMNS[table]
    if values is None:
        connection.execute(f"DELETE FROM {table} WHERE id = ?", [row_id])
        return
    given = [values[column] for column in columns]
    pairs = ", ".join(f"{column} = ?" for column in columns)
    if connection.execute(f"UPDATE {table} SET {pairs} WHERE id = ?", [*given, row_id]).rowcount == 0:
        marks = ", ".join("?" * (len(columns) + 1))
        # A fact that was written anew meanwhile stays.
        connection.execute(
            f"INSERT OR IGNORE INTO {table} ({', '.join(columns)}, id) VALUES ({marks})", [*given, row_id]
        )


def _words(table: str, values: Mapping[str, Any]) -> str:
    if table == "readings":
        return f"reading {values['a']} {values['b']}"
    if table == "facts":
        return f"what was kept of the {values['stage']}"
    return {"events": "test", "motors": "leads"}[table]
