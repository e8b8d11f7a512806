"""The bin as one JSON object, out and in again."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from coilbench.records import incoming
from coilbench.records.checks import free_name
from coilbench.records.place import Place
from coilbench.records.saved.decode import json_of, own_of
from coilbench.records.saved.forward import VERSION
from coilbench.records.saved.own import Own
from coilbench.records.store import Bin, utc_now

FORMAT = "coilbench-bin"
LARGEST_BYTES = 32_000_000
READING_COLUMNS = ("a", "b", "ohm", "range_ohm", "meter", "kind", "time")
_READING_KEYS = ("from", "to", "ohms", "range_ohms", "meter", "kind", "time")


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did: for each motor its name in the text and its name in the bin; of the bench's own things
    the names of those that came."""

    added: list[tuple[str, str]] = field(default_factory=list)
    there_already: list[tuple[str, str]] = field(default_factory=list)
    own: list[str] = field(default_factory=list)


def export_object(bin_: Bin, names: Sequence[str] | None = None) -> dict[str, Any]:
    """The bin, or the motors named, as a JSON-plain object; ohms are ``"OL"`` for open.

    Imported into an empty bin and exported again it is the same object. Undo history stays behind, and with motors
    named so does what is the person's own at the bench.
    """
    wanted = [bin_.motor(name).name for name in names] if names is not None else None
    with bin_.reading() as connection:
        connection.execute("BEGIN")  # one moment for all motors, whatever another program does meanwhile
        try:
            motors = [each for each in _motor_objects(connection) if wanted is None or each["name"] in wanted]
            rows = connection.execute("SELECT value FROM own ORDER BY id").fetchall() if wanted is None else []
        finally:
            connection.execute("COMMIT")
    return envelope(motors, [json.loads(value) for (value,) in rows])


def envelope(motors: list[dict[str, Any]], bench: Sequence[dict[str, Any]] = ()) -> dict[str, Any]:
    """The exported object of these motors, and of what is the person's own at the bench."""
    return {"format": FORMAT, "version": VERSION, "bench": list(bench), "motors": motors}


def reading_object(*columns: Any) -> dict[str, Any]:
    """A reading as an export holds it, from the columns of its row."""
    a, b, ohm, *rest = columns
    return dict(zip(_READING_KEYS, (a, b, "OL" if ohm is None else ohm, *rest), strict=True))


def import_text(bin_: Bin, text: str) -> Imported:
    """Add the motors of an exported object, all of them or none; those that are there already are left out.

    A motor is there already when one with the same leads, readings, results and times is in the bin, under any name;
    with nothing done on it yet, only under its own. Names differ where one was taken by another motor (``M-07``
    becomes ``M-07 (2)``). Of the bench's own things those come whose kind and name are not there. Raises InputProblem
    naming the place in the text, the value and what was
    expected.
    """
    motors, bench = incoming.parts_of(text, FORMAT, VERSION)
    done = Imported()
    with bin_.writing() as connection:
        there: dict[str, list[str]] = {}
        for motor in _motor_objects(connection):
            there.setdefault(_content(motor), []).append(motor["name"])
        taken = {str(name) for (name,) in connection.execute("SELECT name FROM motors")}
        for motor in motors:
            same = there.get(_content(motor), [])
            if motor["name"] in same or (same and (motor["readings"] or motor["facts"] or motor["events"])):
                done.there_already.append((motor["name"], motor["name"] if motor["name"] in same else same[0]))
                continue
            name = free_name(motor["name"], taken)
            taken.add(name)
            _insert(connection, motor, name)
            done.added.append((motor["name"], name))
        done.own.extend(_insert_own(connection, bench))
    return done


def _insert_own(connection: sqlite3.Connection, bench: Sequence[Own]) -> Iterator[str]:
    """Add what isn't there; the usual one of a kind is so here only where none is yet."""
    there = [
        own_of(Place(json.loads(value), kind))
        for kind, value in connection.execute("SELECT kind, value FROM own ORDER BY id")
    ]
    names = {(each.kind, each.name) for each in there}
    with_usual = {each.kind for each in there if each.usual}
    for thing in bench:
        if (thing.kind, thing.name) in names:
            continue
        kept = replace(thing, usual=thing.usual and thing.kind not in with_usual)
        connection.execute(
            "INSERT INTO own (kind, name, value, time) VALUES (?, ?, ?, ?)",
            [kept.kind, kept.name, json_of(kept), utc_now()],
        )
        yield f"{kept.kind} {kept.name}"


def _content(motor: dict[str, Any]) -> str:
    """Everything of a motor but its name."""
    readings = [
        {**each, "ohms": _as_kept(each["ohms"]), "range_ohms": _as_kept(each["range_ohms"])}
        for each in motor["readings"]
    ]
    return json.dumps({**motor, "readings": readings, "name": ""}, sort_keys=True)


def _as_kept(ohms: Any) -> Any:
    return float(ohms) if isinstance(ohms, int) else ohms


def _motor_objects(connection: sqlite3.Connection) -> list[dict[str, Any]]:
    rows = connection.execute("SELECT id, name, leads, created FROM motors ORDER BY id").fetchall()
    return [_motor_object(connection, *row) for row in rows]


def _motor_object(
    connection: sqlite3.Connection, motor_id: int, name: str, leads: str, created: str
) -> dict[str, Any]:
    readings = connection.execute(
        f"SELECT {', '.join(READING_COLUMNS)} FROM readings WHERE motor_id = ? ORDER BY id", [motor_id]
    )
    facts = connection.execute("SELECT stage, value, time FROM facts WHERE motor_id = ? ORDER BY stage", [motor_id])
    events = connection.execute("SELECT stage, value, time FROM events WHERE motor_id = ? ORDER BY id", [motor_id])
    return {
        "name": name,
        "leads": json.loads(leads),
        "created": created,
        "readings": [reading_object(*row) for row in readings],
        "facts": {stage: {"value": json.loads(value), "time": time} for stage, value, time in facts},
        "events": [{"stage": stage, "value": json.loads(value), "time": time} for stage, value, time in events],
    }


def _insert(connection: sqlite3.Connection, motor: dict[str, Any], name: str) -> None:
    motor_id = connection.execute(
        "INSERT INTO motors (name, leads, created) VALUES (?, ?, ?)",
        [name, json.dumps(motor["leads"]), motor["created"]],
    ).lastrowid
    connection.executemany(
        """INSERT INTO readings (motor_id, a, b, ohm, range_ohm, meter, kind, time)
        VALUES (?, ?, ?, ?, ?, ?, ?, ?)""",
        [
            (motor_id, *(None if each[key] == "OL" and key == "ohms" else each[key] for key in _READING_KEYS))
            for each in motor["readings"]
        ],
    )
    connection.executemany(
        "INSERT INTO facts (motor_id, stage, value, time) VALUES (?, ?, ?, ?)",
        [(motor_id, stage, json.dumps(fact["value"]), fact["time"]) for stage, fact in motor["facts"].items()],
    )
    connection.executemany(
        "INSERT INTO events (motor_id, stage, value, time) VALUES (?, ?, ?, ?)",
        [(motor_id, each["stage"], json.dumps(each["value"]), each["time"]) for each in motor["events"]],
    )
