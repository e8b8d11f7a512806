"""Rows of one motor given to another: what merging and splitting records comes to in the bin's tables.

A motor's own undo ends at either: its steps name rows as they were. Taken back as an act of ``tidying`` they return.
"""

from __future__ import annotations

import json
from collections.abc import Collection
from sqlite3 import Connection

from coilbench.errors import InputProblem
from coilbench.records.checks import check_ends, checked_name
from coilbench.records.store import Bin, utc_now
from coilbench.winding.readings.reading import FRAME


def merge(bin: Bin, name: str, other: str) -> tuple[str, ...]:
    """Give ``name`` the readings and events of ``other``, and the facts that it hasn't itself; ``other`` is gone.
    Return the stages whose facts were taken. Raises InputProblem as ``check_merge`` does.
    """
    check_merge(bin, name, other)
    one, two = bin.motor(name), bin.motor(other)
    with bin.writing() as connection:
        ids = bin.motor_id(connection, one.name), bin.motor_id(connection, two.name)
        _forget_steps(connection, *ids)
        if not one.leads:
            connection.execute("UPDATE motors SET leads = ? WHERE id = ?", [json.dumps(two.leads), ids[0]])
        for table in ("readings", "events"):
            connection.execute(f"UPDATE {table} SET motor_id = ? WHERE motor_id = ?", ids)
        has = {stage for (stage,) in connection.execute("SELECT stage FROM facts WHERE motor_id = ?", [ids[0]])}
        took = [
            s for (s,) in connection.execute("SELECT stage FROM facts WHERE motor_id = ?", [ids[1]]) if s not in has
        ]
        for stage in took:
            connection.execute("UPDATE facts SET motor_id = ? WHERE motor_id = ? AND stage = ?", [*ids, stage])
        connection.execute("DELETE FROM motors WHERE id = ?", [ids[1]])
    return tuple(sorted(took))


def check_merge(bin: Bin, name: str, other: str) -> None:
    """Raise InputProblem for one motor, and for two with other leads."""
    one, two = bin.motor(name), bin.motor(other)
    if one.name == two.name:
        raise InputProblem(f"{name!r} and {other!r} are one record, expected two")
    if one.leads and two.leads and set(one.leads) != set(two.leads):
        raise InputProblem(
            f"{one.name} and {two.name} have other leads: {' '.join(one.leads)} and {' '.join(two.leads)}",
            remedy="name the leads alike first, where it is one motor",
        )


def split(bin: Bin, name: str, new: str, leads: Collection[str], keeps: Collection[str]) -> tuple[str, ...]:
    """Take ``leads``, with the readings among them, out of a motor as one of its own. What was found out about the
    two together is forgotten, but for the stages it ``keeps``. Return those that were forgotten.
    Raises InputProblem as ``check_split`` does.
    """
    check_split(bin, name, new, leads)
    motor, new = bin.motor(name), checked_name(new)
    with bin.writing() as connection:
        motor_id = bin.motor_id(connection, motor.name)
        _forget_steps(connection, motor_id)
        theirs, ours = (tuple(each for each in motor.leads if (each in leads) is wanted) for wanted in (True, False))
        new_id = connection.execute(
            "INSERT INTO motors (name, leads, created) VALUES (?, ?, ?)", [new, json.dumps(theirs), utc_now()]
        ).lastrowid
        connection.execute("UPDATE motors SET leads = ? WHERE id = ?", [json.dumps(ours), motor_id])
        for row_id, a, b in connection.execute(
            "SELECT id, a, b FROM readings WHERE motor_id = ?", [motor_id]
        ).fetchall():
            if _among(a, b, theirs) and not _among(a, b, ours):
                connection.execute("UPDATE readings SET motor_id = ? WHERE id = ?", [new_id, row_id])
            elif not _among(a, b, ours):
                connection.execute("DELETE FROM readings WHERE id = ?", [row_id])
        stages = {stage for (stage,) in connection.execute("SELECT stage FROM facts WHERE motor_id = ?", [motor_id])}
        for stage in stages - set(keeps):
            connection.execute("DELETE FROM facts WHERE motor_id = ? AND stage = ?", [motor_id, stage])
        connection.execute("DELETE FROM events WHERE motor_id = ?", [motor_id])
    return tuple(sorted(stages - set(keeps)))


def check_split(bin: Bin, name: str, new: str, leads: Collection[str]) -> None:
    """Raise InputProblem for leads that the motor hasn't, for fewer than two on either side, for a name that is
    taken, and where a reading shows that they belong together."""
    motor, new = bin.motor(name), checked_name(new)
    if strange := [lead for lead in leads if lead not in motor.leads]:
        raise InputProblem(f"{strange[0]!r} is no lead of {motor.name}, expected some of {', '.join(motor.leads)}")
    if min(len(set(leads)), len(set(motor.leads) - set(leads))) < 2:
        raise InputProblem(f"{' '.join(leads)} of {' '.join(motor.leads)}: expected two leads or more on either side")
    if new in {each.name for each in bin.motors()}:
        raise InputProblem(f"there is a motor {new!r} already, expected another name")
    for reading in bin.readings(motor.name):
        across = (reading.a in leads) != (reading.b in leads) and FRAME not in (reading.a, reading.b)
        if across and reading.a != reading.b and reading.ohm != float("inf"):
            raise InputProblem(
                f"{reading.a} and {reading.b} were read with {reading.ohm:g} ohm between them: they are of one motor"
            )


def _among(a: str, b: str, leads: Collection[str]) -> bool:
    try:
        check_ends(a, b, tuple(leads))
    except InputProblem:
        return False
    return True


def _forget_steps(connection: Connection, *motor_ids: int) -> None:
    for motor_id in motor_ids:
        connection.execute("DELETE FROM changes WHERE motor_id = ?", [motor_id])
