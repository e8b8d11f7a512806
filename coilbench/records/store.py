"""The motor bin: one SQLite file, every entry on the disk when the call returns."""

from __future__ import annotations

import contextlib
import difflib
import json
import math
import sqlite3
import threading
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self, TypeVar

from coilbench.errors import InputProblem
from coilbench.records import journal, opening
from coilbench.records.checks import checked_leads, checked_name, shown
from coilbench.records.paths import bin_path
from coilbench.records.problems import in_plain_words
from coilbench.records.rows import Entry, MotorRecord, SavedReading
from coilbench.records.saved.base import Event, Fact
from coilbench.records.saved.facts import Facts

if TYPE_CHECKING:
    from coilbench.records.saved.own import OwnBench

E = TypeVar("E", bound=Event)

_NAMES_SHOWN = 8
_IN_MEMORY = Path(":memory:")
WINDINGS = "windings"  # the stage that readings and leads belong to


class Bin:
    """The motors and all that is known of them. May be used from any thread; several programs may share a file.

    Every method may raise the faults of ``records.problems``; those that take a name raise InputProblem when the bin
    has no such motor.
    """

    def __init__(self, path: Path, connection: sqlite3.Connection, *, looked_over: bool = True) -> None:
        self.path = path
        self.looked_over = looked_over  # when it was opened; else ``opening.look_over`` is to follow
        self.read_only = opening.is_for_looking(connection)
        self._connection = connection
        self._lock = threading.RLock()
        self._looked_after = path == _IN_MEMORY  # whether a backup was thought of

    @classmethod
    def open(
        cls, path: Path | None = None, *, busy_seconds: float = opening.BUSY_SECONDS, thorough: bool = True
    ) -> Self:
        """Open the bin at ``path`` (else ``COILBENCH_BIN``, else the platform's data folder), or begin one there.

        Not ``thorough``, the rows of a large one are left for its opener to have looked over, beside other work.
        """
        where = path or bin_path()
        thorough = thorough or not opening.is_large(where)
        return cls(where, opening.connect(where, busy_seconds, thorough=thorough), looked_over=thorough)

    def close(self) -> None:
        """Let go of the file. Nothing is waiting to be written."""
        with self._lock:
            self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, problem: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    # motors

    def motors(self) -> list[MotorRecord]:
        """All motors, oldest first."""
        with self.reading() as connection:
            rows = connection.execute(f"{_MOTORS} ORDER BY id").fetchall()
        return [_motor_record(*row) for row in rows]

    def motor(self, name: str) -> MotorRecord:
        """One motor by name; the error of a name that isn't there offers the nearest."""
        with self.reading() as connection:
            motor_id = self.motor_id(connection, name)
            (row,) = connection.execute(f"{_MOTORS} WHERE id = ?", [motor_id]).fetchall()
        return _motor_record(*row)

    def add_motor(self, name: str, leads: Sequence[str] = ()) -> MotorRecord:
        """Begin a motor's record. Raises InputProblem for a name that is taken or no name."""
        name, leads = checked_name(name), checked_leads(leads)
        with self.writing() as connection:
            self._refuse_taken(connection, name)
            connection.execute(
                "INSERT INTO motors (name, leads, created) VALUES (?, ?, ?)", [name, json.dumps(leads), utc_now()]
            )
        return self.motor(name)

    def rename(self, name: str, new_name: str) -> str:
        """Give a motor another name; return it in the form it is kept."""
        new_name = checked_name(new_name)
        with self.writing() as connection:
            motor_id = self.motor_id(connection, name)
            if new_name != name:
                self._refuse_taken(connection, new_name)
                connection.execute("UPDATE motors SET name = ? WHERE id = ?", [new_name, motor_id])
        return new_name

    def delete_motor(self, name: str) -> None:
        """Take a motor and all that is known of it out of the bin; a backup holds it. Undo brings it back where this
        is part of an act of ``tidying``."""
        if not self._connection.in_transaction:  # sqlite can't copy what it is about to write
            self.back_up()
        with self.writing() as connection:
            connection.execute("DELETE FROM motors WHERE id = ?", [self.motor_id(connection, name)])

    # readings

    def readings(self, name: str) -> list[SavedReading]:
        """A motor's readings in the order they were taken."""
        with self.reading() as connection:
            rows = connection.execute(
                """SELECT id, a, b, ohm, range_ohm, meter, time, kind FROM readings
                WHERE motor_id = ? ORDER BY id""",
                [self.motor_id(connection, name)],
            ).fetchall()
        return [
            SavedReading(row_id, a, b, math.inf if ohm is None else ohm, range_ohm, meter, time, kind)
            for row_id, a, b, ohm, range_ohm, meter, time, kind in rows
        ]

    def can_undo(self, name: str, stage: str | None = None) -> bool:
        """Whether there is something for ``undo``; not for a motor that is gone."""
        return self._has_step(name, stage, back=True)

    def can_redo(self, name: str, stage: str | None = None) -> bool:
        """Whether there is something for ``redo``; not for a motor that is gone."""
        return self._has_step(name, stage, back=False)

    def _has_step(self, name: str, stage: str | None, *, back: bool) -> bool:
        with self.reading() as connection:
            found = connection.execute("SELECT id FROM motors WHERE name = ?", [name]).fetchone()
            return found is not None and journal.next_act(connection, int(found[0]), stage, back=back) is not None

    # facts and events

    def known(self, name: str) -> Facts:
        """What is known at every stage, as records."""
        with self.reading() as connection:
            rows = connection.execute(
                "SELECT stage, value FROM facts WHERE motor_id = ? ORDER BY stage", [self.motor_id(connection, name)]
            ).fetchall()
        if not rows:
            return Facts()
        from coilbench.records.saved import decode

        facts = {stage: decode.kept_fact(name, stage, value) for stage, value in rows}
        return Facts({stage: fact for stage, fact in facts.items() if fact is not None})

    def known_of_all(self, *stages: str) -> dict[str, Facts]:
        """What is known of every motor at these stages (of all, where none is named), oldest motor first."""
        marks = ", ".join("?" * len(stages))
        where = f"AND stage IN ({marks})" if stages else ""
        with self.reading() as connection:
            rows = connection.execute(
                f"""SELECT name, stage, value FROM motors LEFT JOIN facts ON motor_id = motors.id {where}
                ORDER BY motors.id""",
                stages,
            ).fetchall()
        from coilbench.records.saved import decode

        found: dict[str, dict[str, Fact]] = {}
        for name, stage, value in rows:
            facts = found.setdefault(name, {})
            if stage is not None and (fact := decode.kept_fact(name, stage, value)) is not None:
                facts[stage] = fact
        return {name: Facts(facts) for name, facts in found.items()}

    def back_up(self) -> Path | None:
        """Copy the bin now, before what takes much away; return where to. None where that can't be, which hinders
        nothing, and for one in memory."""
        if self.path == _IN_MEMORY:
            return None
        with contextlib.suppress(OSError, sqlite3.Error), self._lock:
            self._looked_after = True
            from coilbench.records import backups

            return backups.make(self._connection, self.path, datetime.now(UTC))
        return None

    def entries(self, name: str, kind: type[E]) -> list[Entry[E]]:
        """What was done at a stage, in order: the records of this kind (``Event`` itself: of every kind)."""
        with self.reading() as connection:
            rows = connection.execute(
                "SELECT id, stage, value, time FROM events WHERE motor_id = ? ORDER BY id",
                [self.motor_id(connection, name)],
            ).fetchall()
        from coilbench.records.saved import decode

        found = [
            (row_id, decode.kept_event(name, stage, value), time)
            for row_id, stage, value, time in rows
            if stage == getattr(kind, "stage", stage)
        ]
        return [Entry(row_id, event, time) for row_id, event, time in found if isinstance(event, kind)]

    # the bench

    def own(self) -> OwnBench:
        """What the person has at the bench."""
        with self.reading() as connection:
            rows = connection.execute("SELECT kind, value FROM own ORDER BY id").fetchall()
        from coilbench.records.saved import decode
        from coilbench.records.saved.own import OwnBench

        return OwnBench(tuple(decode.kept_own(kind, value) for kind, value in rows))

    # the file

    @classmethod
    def scratch(cls) -> Self:
        """A bin in memory, for what is kept nowhere."""
        return cls(_IN_MEMORY, opening.in_memory())

    def in_memory_copy(self) -> Self:
        """All that is in the bin, in one that is gone when it is closed."""
        copy = type(self).scratch()
        with self.reading() as source, copy.reading() as target:
            source.backup(target)
        return copy

    def seen(self) -> int:
        """A number that changes when another program changes the bin: then read again."""
        with self.reading() as connection:
            return int(connection.execute("PRAGMA data_version").fetchone()[0])

    @contextlib.contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """The connection, for this room's own use: held against other threads."""
        with self._lock, in_plain_words(self.path):
            yield self._connection

    @contextlib.contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """The connection, for this room's own use: what is done with it is done wholly or not at all.

        The write lock is taken first, so that what is read here can't change before it is written back. Within
        another such it is a part of that.
        """
        with self.reading() as connection:
            if connection.in_transaction:
                yield connection
                return
            if not self._looked_after:
                self._looked_after = True
                from coilbench.records import backups

                backups.make_if_due(connection, self.path, datetime.now(UTC))
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:  # sqlite ends it by itself on some faults
                    connection.execute("ROLLBACK")
                raise

    def motor_id(self, connection: sqlite3.Connection, name: str) -> int:
        """A motor's number, for this room's own use."""
        wanted = name.encode("utf-8", "replace").decode()  # bytes from a shell that are no UTF-8 find nothing
        found = connection.execute("SELECT id FROM motors WHERE name = ?", [wanted]).fetchone()
        if found is None:
            raise self._no_motor(name)
        return int(found[0])

    def _no_motor(self, name: str) -> InputProblem:
        names = [each.name for each in self.motors()]
        near = difflib.get_close_matches(name, names, 3, 0.5)
        if near:
            remedy = f"the nearest names are {', '.join(map(repr, near))}"
        else:
            more = f" and {len(names) - _NAMES_SHOWN} more" if len(names) > _NAMES_SHOWN else ""
            remedy = f"it holds {', '.join(map(shown, names[:_NAMES_SHOWN]))}{more}" if names else "the bin is empty"
        return InputProblem(f"no motor {shown(name)} in the bin", title="No such motor", remedy=remedy)

    @staticmethod
    def _refuse_taken(connection: sqlite3.Connection, name: str) -> None:
        if connection.execute("SELECT 1 FROM motors WHERE name = ?", [name]).fetchone():
            raise InputProblem(f"there is a motor {shown(name)} already, expected another name")


_MOTORS = """SELECT name, leads, created, (SELECT count(*) FROM readings WHERE motor_id = motors.id),
    (SELECT json_group_array(stage) FROM facts WHERE motor_id = motors.id) FROM motors"""


def _motor_record(name: str, leads: str, created: str, readings: int, stages: str) -> MotorRecord:
    return MotorRecord(name, tuple(json.loads(leads)), created, readings, tuple(json.loads(stages)))


def utc_now() -> str:
    """The time in UTC, ISO 8601 to the millisecond."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
