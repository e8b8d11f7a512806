"""Writing to the bin what is found out about a motor: for the stages alone.

Every function has its entry on the disk when it returns, and may raise the faults of ``records.problems``, and
InputProblem where the bin has no such motor or entry. What a stage does at once is one act for undo.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from sqlite3 import Connection
from typing import Any

from coilbench.errors import InputProblem
from coilbench.records import journal
from coilbench.records.checks import check_ends, checked_leads, checked_name, checked_ohm, shown
from coilbench.records.saved.base import Event, Fact
from coilbench.records.saved.decode import json_of, kept_own
from coilbench.records.saved.own import Own
from coilbench.records.store import WINDINGS, Bin, utc_now
from coilbench.winding.readings.reading import FRAME, PROBES, Reading


def add_reading(bin: Bin, motor: str, reading: Reading, *, meter: str = "", kind: str = "ohms") -> int:
    """Save a reading; return its id."""
    ohm = checked_ohm(reading.ohm)
    with bin.writing() as connection:
        motor_id = bin.motor_id(connection, motor)
        leads = json.loads(journal.row(connection, "motors", motor_id)["leads"])  # type: ignore[index]
        check_ends(reading.a, reading.b, leads)
        values = {"motor_id": motor_id, "a": reading.a, "b": reading.b, "ohm": ohm}
        values |= {"range_ohm": reading.range_ohm, "meter": meter, "kind": kind, "time": utc_now()}
        return journal.Act(connection, motor_id, WINDINGS).insert("readings", values)


def add_readings(
    bin: Bin,
    motor: str,
    readings: Sequence[Reading],
    *,
    meter: str,
    events: Sequence[Event],
    instead_of: Iterable[int],
) -> None:
    """Save readings in place of all that this meter has taken before, and events in place of others; one act."""
    with bin.writing() as connection:
        motor_id = bin.motor_id(connection, motor)
        leads = json.loads(journal.row(connection, "motors", motor_id)["leads"])  # type: ignore[index]
        act = journal.Act(connection, motor_id, WINDINGS)
        earlier = "SELECT id FROM readings WHERE motor_id = ? AND meter = ? AND kind = 'ohms'"
        for (row_id,) in connection.execute(earlier, [motor_id, meter]).fetchall():
            act.delete("readings", row_id)
        for reading in readings:
            check_ends(reading.a, reading.b, leads)
            values = {"motor_id": motor_id, "a": reading.a, "b": reading.b, "ohm": checked_ohm(reading.ohm)}
            values |= {"range_ohm": reading.range_ohm, "meter": meter, "kind": "ohms", "time": utc_now()}
            act.insert("readings", values)
        for row_id in instead_of:
            act.delete("events", row_id)
        for event in events:
            act.insert("events", _event_values(motor_id, event))


def edit_reading(bin: Bin, reading_id: int, ohm: float) -> None:
    """Correct what the meter said."""
    with bin.writing() as connection:
        act = journal.Act(connection, _owner(connection, "readings", reading_id), WINDINGS)
        act.update("readings", reading_id, {"ohm": checked_ohm(ohm)})


def set_range(bin: Bin, motor: str, range_ohm: float) -> None:
    """Say on which range the meter stood, for all readings of which that isn't known; one act."""
    with bin.writing() as connection:
        motor_id = bin.motor_id(connection, motor)
        act = journal.Act(connection, motor_id, WINDINGS)
        for (row_id,) in connection.execute(
            "SELECT id FROM readings WHERE motor_id = ? AND range_ohm IS NULL", [motor_id]
        ).fetchall():
            act.update("readings", row_id, {"range_ohm": range_ohm})


def remove_reading(bin: Bin, reading_id: int) -> None:
    """Take a reading out; undo brings it back."""
    with bin.writing() as connection:
        act = journal.Act(connection, _owner(connection, "readings", reading_id), WINDINGS)
        act.delete("readings", reading_id)


def keep(bin: Bin, motor: str, stage: str, *facts: Fact, leads: Sequence[str] | None = None) -> None:
    """Keep facts, in place of what was known before, as one act of ``stage``; with ``leads`` the leads too.

    Raises InputProblem when a lead that has readings would be gone.
    """
    with bin.writing() as connection:
        motor_id = bin.motor_id(connection, motor)
        act = journal.Act(connection, motor_id, stage)
        if leads is not None:
            _put_leads(connection, act, motor_id, leads)
        for fact in facts:
            value, found = json_of(fact), _fact_row(connection, motor_id, fact.stage)
            values = {"motor_id": motor_id, "stage": fact.stage, "value": value, "time": utc_now()}
            if found is None:
                act.insert("facts", values)
            elif found[1] != value:
                act.update("facts", found[0], values)


def derive(bin: Bin, motor: str, fact: Fact) -> None:
    """Keep a fact that follows from readings or events: it is no act of its own, undo takes back what it rests on."""
    with bin.writing() as connection:
        motor_id = bin.motor_id(connection, motor)
        connection.execute(
            """INSERT INTO facts (motor_id, stage, value, time) VALUES (?, ?, ?, ?)
            ON CONFLICT (motor_id, stage) DO UPDATE SET value = excluded.value, time = excluded.time""",
            [motor_id, fact.stage, json_of(fact), utc_now()],
        )


def withdraw(bin: Bin, motor: str, stage: str) -> None:
    """Forget a derived fact whose readings or events are gone."""
    with bin.writing() as connection:
        connection.execute(
            "DELETE FROM facts WHERE motor_id = ? AND stage = ?", [bin.motor_id(connection, motor), stage]
        )


def add_event(bin: Bin, motor: str, event: Event) -> int:
    """Save something done at a stage; return its id."""
    with bin.writing() as connection:
        motor_id = bin.motor_id(connection, motor)
        return journal.Act(connection, motor_id, event.stage).insert("events", _event_values(motor_id, event))


def _event_values(motor_id: int, event: Event) -> dict[str, Any]:
    return {"motor_id": motor_id, "stage": event.stage, "value": json_of(event), "time": utc_now()}


def put_own(bin: Bin, thing: Own, *, instead_of: str | None = None) -> None:
    """Keep a thing of the bench, in place of the one of its kind that is named ``instead_of``.

    The first of its kind is the usual one, and there is never more than one. Raises InputProblem for a name that is
    taken, and where there is nothing to replace.
    """
    thing = replace(thing, name=checked_name(thing.name, "a name"))
    with bin.writing() as connection:
        things = _own_rows(connection, thing.kind)
        if instead_of is not None and instead_of not in things:
            raise InputProblem(f"no {thing.kind} {shown(instead_of)} at the bench", remedy=_names(things))
        if thing.name != instead_of and thing.name in things:
            raise InputProblem(f"there is a {thing.kind} {shown(thing.name)} already, expected another name")
        others = {name: each for name, each in things.items() if name != instead_of}
        usual = thing.usual or not any(each.usual for _, each in others.values())
        if usual:
            _make_none_usual(connection, others)
        values = [thing.kind, thing.name, json_of(replace(thing, usual=usual)), utc_now()]
        if instead_of is None:
            connection.execute("INSERT INTO own (kind, name, value, time) VALUES (?, ?, ?, ?)", values)
        else:
            row_id = things[instead_of][0]
            connection.execute(
                "UPDATE own SET kind = ?, name = ?, value = ?, time = ? WHERE id = ?", [*values, row_id]
            )


def remove_own(bin: Bin, kind: str, name: str) -> None:
    """Take a thing off the bench; where it was the usual one, the oldest of its kind is so now.

    Raises InputProblem where there is none of this name.
    """
    with bin.writing() as connection:
        things = _own_rows(connection, kind)
        if name not in things:
            raise InputProblem(f"no {kind} {shown(name)} at the bench", remedy=_names(things))
        row_id, gone = things.pop(name)
        connection.execute("DELETE FROM own WHERE id = ?", [row_id])
        if gone.usual and things:
            row_id, heir = next(iter(things.values()))
            connection.execute("UPDATE own SET value = ? WHERE id = ?", [json_of(replace(heir, usual=True)), row_id])


def _own_rows(connection: Connection, kind: str) -> dict[str, tuple[int, Own]]:
    rows = connection.execute("SELECT id, name, value FROM own WHERE kind = ? ORDER BY id", [kind]).fetchall()
    return {name: (row_id, kept_own(kind, value)) for row_id, name, value in rows}


def _make_none_usual(connection: Connection, things: Mapping[str, tuple[int, Own]]) -> None:
    for row_id, each in things.values():
        if each.usual:
            connection.execute("UPDATE own SET value = ? WHERE id = ?", [json_of(replace(each, usual=False)), row_id])


def _names(things: Mapping[str, object]) -> str:
    return f"there is {', '.join(map(shown, things))}" if things else "there is none yet"


def undo(bin: Bin, motor: str, stage: str | None = None) -> str | None:
    """Take back the latest act (of one stage, if named): a few words on what it was, None when there is none."""
    with bin.writing() as connection:
        return journal.step(connection, bin.motor_id(connection, motor), stage, back=True)


def redo(bin: Bin, motor: str, stage: str | None = None) -> str | None:
    """Do again what undo took back last."""
    with bin.writing() as connection:
        return journal.step(connection, bin.motor_id(connection, motor), stage, back=False)


def _put_leads(connection: Connection, act: journal.Act, motor_id: int, leads: Sequence[str]) -> None:
    leads = checked_leads(leads)
    used = connection.execute(
        "SELECT a FROM readings WHERE motor_id = ? UNION SELECT b FROM readings WHERE motor_id = ?",
        [motor_id, motor_id],
    )
    lost = sorted({lead for (lead,) in used} - {*leads, FRAME, PROBES})
    if lost:
        raise InputProblem(f"lead {lost[0]!r} has readings", remedy="remove them first, or keep the lead")
    act.update("motors", motor_id, {"leads": json.dumps(leads)})


def _fact_row(connection: Connection, motor_id: int, stage: str) -> tuple[int, str] | None:
    found = connection.execute(
        "SELECT id, value FROM facts WHERE motor_id = ? AND stage = ?", [motor_id, stage]
    ).fetchone()
    return None if found is None else (int(found[0]), str(found[1]))


def _owner(connection: Connection, table: str, row_id: int) -> int:
    found = connection.execute(f"SELECT motor_id FROM {table} WHERE id = ?", [row_id]).fetchone()
    if found is None:
        raise InputProblem(f"that entry ({row_id}) is gone", remedy="it may have been removed in another window")
    return int(found[0])
