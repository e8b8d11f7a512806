"""A line a motor, kept beside its facts, so that a list of all needn't read them.

A line bears a stamp of what it was made from: the check values of the motor's own row and of its facts, the number of
its readings, and the form in which it was written. With another stamp it is made anew, whoever wrote meanwhile.
"""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from coilbench.records.check_values import crc_of
from coilbench.records.rows import MotorRecord
from coilbench.records.store import Bin


@dataclass(frozen=True, slots=True)
class Line:
    """A motor, the number of its row, the stamp of what is known of it now; ``text`` is what was kept of that, None
    where nothing was."""

    number: int
    motor: MotorRecord
    stamp: str
    text: str | None


def lines(bin: Bin, form: str) -> list[Line]:
    """Every motor, oldest first."""
    with bin.reading() as connection:
        rows = connection.execute(_LINES).fetchall()
    found = []
    for number, name, leads, created, crc, readings, stages, facts, stamp, text, text_crc in rows:
        now = f"{form} {crc} {readings} {facts}"
        whole = stamp == now and text_crc == crc_of(number, stamp, text)
        record = MotorRecord(name, tuple(json.loads(leads)), created, readings, tuple(json.loads(stages)))
        found.append(Line(number, record, now, text if whole else None))
    return found


def keep(bin: Bin, made: Sequence[Line]) -> None:
    """Keep the lines' texts, where the file can be had at once: what is not kept is made again."""
    rows = [(each.number, each.stamp, each.text, crc_of(each.number, each.stamp, each.text)) for each in made]
    with bin.reading() as connection:
        if bin.read_only or connection.in_transaction:
            return
        (waits,) = connection.execute("PRAGMA busy_timeout").fetchone()
        connection.execute("PRAGMA busy_timeout = 0")
        try:
            with contextlib.suppress(sqlite3.OperationalError):
                connection.execute("BEGIN IMMEDIATE")
                connection.executemany(_KEEP, [(*row, row[0]) for row in rows])
                connection.execute("COMMIT")
        finally:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            connection.execute(f"PRAGMA busy_timeout = {waits}")


_LINES = """SELECT motors.id, name, leads, created, motors.crc,
    (SELECT count(*) FROM readings WHERE motor_id = motors.id),
    (SELECT json_group_array(stage) FROM facts WHERE motor_id = motors.id),
    (SELECT group_concat(crc, ' ') FROM (SELECT crc FROM facts WHERE motor_id = motors.id ORDER BY stage)),
    overviews.stamp, overviews.value, overviews.crc
    FROM motors LEFT JOIN overviews ON overviews.id = motors.id ORDER BY motors.id"""
_KEEP = """INSERT OR REPLACE INTO overviews (id, stamp, value, crc)
    SELECT ?, ?, ?, ? WHERE EXISTS (SELECT 1 FROM motors WHERE id = ?)"""
