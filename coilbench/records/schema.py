"""The bin's tables and the steps that bring an older file forward.

A step, once published, is never changed: a new one is appended. Step k brings schema k to k + 1, and an empty
file is schema 0, so a new bin walks the same road as an old one.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Sequence
from typing import Any

from coilbench.plain_text import cleaned
from coilbench.records import check_values
from coilbench.records.saved.forward import forward, forward_own

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


def _plain_texts(connection: sqlite3.Connection) -> None:
    """Take out of what is saved the characters that drive a terminal: they were let in once.

    Raises ValueError where a row holds no JSON: what is damaged already is not to be called whole.
    """
    for table, column in (("motors", "leads"), ("facts", "value"), ("events", "value")):
        for row_id, text in connection.execute(f"SELECT id, {column} FROM {table}").fetchall():
            value = json.loads(text)
            if (tidy := _cleaned(value)) != value:
                connection.execute(f"UPDATE {table} SET {column} = ? WHERE id = ?", [json.dumps(tidy), row_id])


def _cleaned(value: Any) -> Any:
    if isinstance(value, dict):
        return {cleaned(key): _cleaned(each) for key, each in value.items()}
    if isinstance(value, list):
        return [_cleaned(each) for each in value]
    return cleaned(value) if isinstance(value, str) else value


def _own_to_four(connection: sqlite3.Connection) -> None:
    """Bring what is at the bench from version 3 of the records to 4."""
    for row_id, text in connection.execute("SELECT id, value FROM own WHERE kind = 'board'").fetchall():
        thing = json.loads(text)
        forward_own(thing, 3, to=4)
        if thing != json.loads(text):
            connection.execute("UPDATE own SET value = ? WHERE id = ?", [json.dumps(thing), row_id])


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
    (
        # Each row, and the tables' definitions, with a check value.
        _plain_texts,
        *(f"ALTER TABLE {table} ADD COLUMN crc INTEGER" for table in check_values.FIRST),
        "CREATE TABLE tables_crc (crc INTEGER)",
        check_values.seal_rows,
        *(each for table in check_values.FIRST for each in check_values.triggers(table)),
    ),
    (
        # What the person has at the bench, one thing a row.
        """CREATE TABLE own (
            id INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, name TEXT NOT NULL, value TEXT NOT NULL,
            time TEXT NOT NULL, crc INTEGER, UNIQUE (kind, name))""",
        *check_values.triggers("own"),
    ),
    (
        # What was done to motors as a whole, for undo; and a line a motor, kept so that the list of all needn't read
        # every fact: no more than a memory, so that one which is damaged is made anew.
        """CREATE TABLE tidyings (
            id INTEGER PRIMARY KEY AUTOINCREMENT, what TEXT NOT NULL, changed TEXT NOT NULL, time TEXT NOT NULL,
            undone INTEGER NOT NULL DEFAULT 0, crc INTEGER)""",
        *check_values.triggers("tidyings"),
        """CREATE TABLE overviews (
            id INTEGER PRIMARY KEY REFERENCES motors (id) ON DELETE CASCADE,
            stamp TEXT NOT NULL, value TEXT NOT NULL, crc INTEGER NOT NULL)""",
        "CREATE INDEX facts_seen ON facts (motor_id, stage, crc)",
    ),
    (_own_to_four,),
)
VERSION = len(STEPS)
RECORDS_TWO_FROM = 3  # the first schema whose records are of version 2
SEALED_FROM = 4  # the first schema whose rows carry check values


def version_of(connection: sqlite3.Connection) -> int:
    """The schema version a file says it has."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def bring_forward(connection: sqlite3.Connection, steps: Sequence[Sequence[Step]] = STEPS) -> None:
    """Run the steps that are missing, all or none; two programs may try at once."""
    check_values.register(connection)
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
        if len(steps) >= SEALED_FROM:
            check_values.seal_tables(connection)
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:  # sqlite ends it by itself on some faults
            connection.execute("ROLLBACK")
        raise
