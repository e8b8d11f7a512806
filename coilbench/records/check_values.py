"""A check value a row: what comes back from the disk is known to be what was written.

SQLite finds a file that hangs together badly, not a digit that has become another one. Each row carries the CRC-32 of
its columns; triggers in the file write it, so no writer can forget it, and refuse to change a row that is damaged,
which would make it whole again in name only. The tables' own definitions are covered in the same way.
"""

from __future__ import annotations

import sqlite3
import zlib
from typing import Any

# A later step of the schema that gives a table another column drops its triggers and writes them anew.
COLUMNS = {
    "motors": ("id", "name", "leads", "created"),
    "readings": ("id", "motor_id", "a", "b", "ohm", "range_ohm", "meter", "kind", "time"),
    "facts": ("id", "motor_id", "stage", "value", "time"),
    "events": ("id", "motor_id", "stage", "value", "time"),
    "changes": ("id", "motor_id", "stage", "of", "row_id", "before", "after", "undone", "act"),
    "own": ("id", "kind", "name", "value", "time"),
    "tidyings": ("id", "what", "changed", "time", "undone"),
}
FIRST = ("motors", "readings", "facts", "events", "changes")  # those there were when check values came
_NUMBERS = {"id", "motor_id", "ohm", "range_ohm", "row_id", "undone", "act"}
DAMAGED_ROW = "a damaged row"  # how the triggers' refusal is known


def register(connection: sqlite3.Connection) -> None:
    """Give a connection the function that the triggers call: without it nothing can be written."""
    connection.create_function("crc_of", -1, crc_of, deterministic=True)


def crc_of(*values: Any) -> int:
    """The CRC-32 of a row. In ASCII: which characters are printable changes from Python to Python."""
    return zlib.crc32(ascii(values).encode("ascii"))


def reckoned(table: str, before: str = "") -> str:
    """The check value of a row as an SQL expression. Of each column its kind, too; texts as bytes: damaged ones are
    no longer UTF-8."""
    columns = [before + column for column in COLUMNS[table]]
    kinds = " || ".join(f"typeof({column})" for column in columns)
    values = ", ".join(
        column if name in _NUMBERS else f"CAST({column} AS BLOB)"
        for name, column in zip(COLUMNS[table], columns, strict=True)
    )
    return f"crc_of('{table}', {kinds}, {values})"


def triggers(table: str) -> tuple[str, ...]:
    """The statements that have a table's rows carry their check value."""
    columns = ", ".join(COLUMNS[table])
    write = f"BEGIN UPDATE {table} SET crc = {reckoned(table)} WHERE id = NEW.id; END"
    return (
        f"CREATE TRIGGER {table}_added AFTER INSERT ON {table} {write}",
        f"CREATE TRIGGER {table}_changed AFTER UPDATE OF {columns} ON {table} {write}",
        f"""CREATE TRIGGER {table}_whole BEFORE UPDATE OF {columns} ON {table}
        WHEN OLD.crc IS NOT {reckoned(table, "OLD.")} BEGIN SELECT RAISE(ABORT, '{DAMAGED_ROW} of {table}'); END""",
    )


def seal_rows(connection: sqlite3.Connection) -> None:
    """Give every row that is there its check value."""
    for table in FIRST:
        connection.execute(f"UPDATE {table} SET crc = {reckoned(table)}")


def seal_tables(connection: sqlite3.Connection) -> None:
    """Note the check value of the tables' definitions, once they are made."""
    connection.execute("DELETE FROM tables_crc")
    connection.execute("INSERT INTO tables_crc (crc) VALUES (?)", [_tables_crc(connection)])


def flaws(connection: sqlite3.Connection, most: int = 20) -> list[str]:
    """Rows and definitions that are not what was written, one line each."""
    if not tables_hold(connection):
        return ["the tables' definitions are not what was written"]
    found: list[str] = []
    there = {str(name) for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
    for table in filter(there.__contains__, COLUMNS):
        rows = connection.execute(f"SELECT id FROM {table} WHERE crc IS NOT {reckoned(table)} LIMIT ?", [most])
        found += [f"row {row_id} of {table} is not what was written" for (row_id,) in rows]
    return found[:most]


def tables_hold(connection: sqlite3.Connection) -> bool:
    """Whether the tables' definitions, and the version they are of, are what was written."""
    try:
        noted = connection.execute("SELECT crc FROM tables_crc").fetchall()
    except sqlite3.OperationalError:
        return False
    return noted == [(_tables_crc(connection),)]


def _tables_crc(connection: sqlite3.Connection) -> int:
    rows = connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_schema WHERE sql NOT NULL ORDER BY name")
    return crc_of(connection.execute("PRAGMA user_version").fetchone()[0], *rows.fetchall())
