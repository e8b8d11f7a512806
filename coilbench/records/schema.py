"""The bin's tables and the steps that bring an older file forward.

A step, once published, is never changed: a new one is appended. Step k brings schema k to k + 1, and an empty
file is schema 0, so a new bin walks the same road as an old one.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Sequence
from typing import Any

from coilbench.records.saved.forward import forward

APPLICATION_ID = 0x434F494C  # "COIL": tells a bin from any other SQLite file


def _records_to_two(connection: sqlite3.Connection) -> None:
    """Bring the saved records from version 1 to 2."""
    for (motor_id,) in connection.execute("SELECT id FROM motors").fetchall():
        facts = connection.execute("SELECT stage, value, time FROM facts WHERE motor_id = ?", [motor_id]).fetchall()
        events = connection.execute("SELECT stage, time FROM events WHERE motor_id = ?", [motor_id]).fetchall()
        motor: dict[str, Any] = {
            "facts": {stage: {"value": json.loads(value), "time": time} for stage, value, time in facts},
            "events": [{"stage": stage, "time": time} for stage, time in events],
        }
        forward(motor, 1, to=2)
        for stage, fact in motor["facts"].items():
            connection.execute(
                "UPDATE facts SET value = ? WHERE motor_id = ? AND stage = ?",
                [json.dumps(fact["value"]), motor_id, stage],
            )


Step = str | Callable[[sqlite3.Connection], None]

STEPS: tuple[tuple[Step, ...], ...] = (
    (
        """CREATE TABLE motors (
            id INTEGER PRIMARY KEY AUTOINCREMENT, name TEXT NOT NULL UNIQUE, leads TEXT NOT NULL,
            created TEXT NOT NULL)""",
        # An open reading has no ohms: NULL.
        """CREATE TABLE readings (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            motor_id INTEGER NOT NULL REFERENCES motors (id) ON DELETE CASCADE,
            a TEXT NOT NULL, b TEXT NOT NULL, ohm REAL, range_ohm REAL,
            meter TEXT NOT NULL, kind TEXT NOT NULL, time TEXT NOT NULL)""",
        """CREATE TABLE facts (
            motor_id INTEGER NOT NULL REFERENCES motors (id) ON DELETE CASCADE,
            stage TEXT NOT NULL, value TEXT NOT NULL, time TEXT NOT NULL, PRIMARY KEY (motor_id, stage))""",
        """CREATE TABLE events (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            motor_id INTEGER NOT NULL REFERENCES motors (id) ON DELETE CASCADE,
            stage TEXT NOT NULL, value TEXT NOT NULL, time TEXT NOT NULL)""",
        "CREATE INDEX readings_of ON readings (motor_id)",
        "CREATE INDEX events_of ON events (motor_id, stage)",
    ),
    (
        # What was changed, for undo: the row before and after, as JSON, NULL where there was none.
        """CREATE TABLE changes (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            motor_id INTEGER NOT NULL REFERENCES motors (id) ON DELETE CASCADE,
            stage TEXT NOT NULL, of TEXT NOT NULL, row_id INTEGER NOT NULL, before TEXT, after TEXT,
            undone INTEGER NOT NULL DEFAULT 0)""",
        "CREATE INDEX changes_of ON changes (motor_id, stage)",
    ),
    (
        _records_to_two,
        # Facts are rows that undo can name, and what was done at once is taken back at once: an act is the number of
        # its first change.
        """CREATE TABLE new_facts (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            motor_id INTEGER NOT NULL REFERENCES motors (id) ON DELETE CASCADE,
            stage TEXT NOT NULL, value TEXT NOT NULL, time TEXT NOT NULL, UNIQUE (motor_id, stage))""",
        "INSERT INTO new_facts (motor_id, stage, value, time) SELECT motor_id, stage, value, time FROM facts",
        "DROP TABLE facts",
        "ALTER TABLE new_facts RENAME TO facts",
        "ALTER TABLE changes ADD COLUMN act INTEGER NOT NULL DEFAULT 0",
        "UPDATE changes SET act = id",
    ),
)
VERSION = len(STEPS)


def version_of(connection: sqlite3.Connection) -> int:
    """The schema version a file says it has."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def bring_forward(connection: sqlite3.Connection, steps: Sequence[Sequence[Step]] = STEPS) -> None:
    """Run the steps that are missing, all or none; two programs may try at once."""
    if version_of(connection) == len(steps):
        return
    connection.execute("BEGIN IMMEDIATE")
    try:
        for step in steps[version_of(connection) :]:
            for each in step:
                if isinstance(each, str):
                    connection.execute(each)
                else:
                    each(connection)
        connection.execute(f"PRAGMA user_version = {len(steps)}")
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
