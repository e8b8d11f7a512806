"""One motor on the desk: what is known of it, and the one way by which a stage keeps more."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

from coilbench.errors import InputProblem
from coilbench.records import writing
from coilbench.records.rows import Entry, SavedReading
from coilbench.records.saved.base import Event, Fact
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.own import OwnBench
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import Reading

E = TypeVar("E", bound=Event)


class Desk:
    """A motor of a bin. ``motor`` changes when it is renamed. For use on one thread."""

    def __init__(self, bin: Bin, motor: str) -> None:
        self.bin = bin
        self.motor = motor

    # What is known

    @property
    def read_only(self) -> bool:
        """Whether nothing can be kept."""
        return self.bin.read_only

    @property
    def leads(self) -> tuple[str, ...]:
        """The leads' names."""
        return self.bin.motor(self.motor).leads

    @property
    def readings(self) -> list[SavedReading]:
        """The readings in the order in which they were taken."""
        return self.bin.readings(self.motor)

    @property
    def known(self) -> Facts:
        """What is known at every stage."""
        return self.bin.known(self.motor)

    @property
    def own(self) -> OwnBench:
        """What the person has at the bench."""
        return self.bin.own()

    def entries(self, kind: type[E]) -> list[Entry[E]]:
        """What was done, in order: the events of this kind."""
        return self.bin.entries(self.motor, kind)

    # Keeping

    def keep(self, stage: str, *facts: Fact, leads: Sequence[str] | None = None) -> None:
        """Keep facts (and leads) as one act of ``stage``, which undo takes back."""
        writing.keep(self.bin, self.motor, stage, *facts, leads=leads)

    def derive(self, fact: Fact) -> None:
        """Keep a fact that follows from readings or events, unless it says what is known already."""
        if not self.read_only and self.known.get(type(fact)) != fact:
            writing.derive(self.bin, self.motor, fact)

    def withdraw(self, stage: str) -> None:
        """Forget a derived fact: what it rested on is gone."""
        if not self.read_only and stage in self.known:
            writing.withdraw(self.bin, self.motor, stage)

    def add(self, event: Event) -> int:
        """Keep something done; return its number."""
        return writing.add_event(self.bin, self.motor, event)

    def add_reading(self, reading: Reading, *, meter: str = "") -> int:
        """Keep a reading, taken with this meter; return its number."""
        return writing.add_reading(self.bin, self.motor, reading, meter=meter)

    def add_readings(
        self,
        readings: Sequence[Reading],
        *,
        meter: str,
        events: Sequence[Event] = (),
        instead_of: Iterable[int] = (),
    ) -> None:
        """Keep readings in place of all that this meter has taken before, and events in place of others; one act."""
        writing.add_readings(self.bin, self.motor, readings, meter=meter, events=events, instead_of=instead_of)

    def edit_reading(self, reading_id: int, ohm: float) -> None:
        """Correct what the meter said."""
        writing.edit_reading(self.bin, reading_id, ohm)

    def remove_reading(self, reading_id: int) -> None:
        """Take a reading out."""
        writing.remove_reading(self.bin, reading_id)

    def set_range(self, range_ohm: float) -> None:
        """Say on which range the meter stood for the readings of which that isn't known, as one act."""
        writing.set_range(self.bin, self.motor, range_ohm)

    def rename(self, name: str) -> None:
        """Give the motor another name. Raises InputProblem for one that is taken or no name."""
        self.motor = self.bin.rename(self.motor, name)

    # Undo

    def undo(self, stage: str) -> str | None:
        """Take back the stage's latest act: a few words on what it was, None where there was none."""
        return writing.undo(self.bin, self.motor, stage)

    def redo(self, stage: str) -> str | None:
        """Do again what undo took back last."""
        return writing.redo(self.bin, self.motor, stage)

    def can_undo(self, stage: str) -> bool:
        """Whether there is something for ``undo``."""
        return not self.read_only and self.bin.can_undo(self.motor, stage)

    def can_redo(self, stage: str) -> bool:
        """Whether there is something for ``redo``."""
        return not self.read_only and self.bin.can_redo(self.motor, stage)


SCRATCH_NAME = "this motor"


def scratch_desk(leads: Sequence[str] = ()) -> Desk:
    """A desk for a motor that is kept nowhere, as a command without a motor's name has it."""
    bin = Bin.scratch()
    bin.add_motor(SCRATCH_NAME, leads)
    return Desk(bin, SCRATCH_NAME)


def desk_of(bin: Bin, motor: str, leads: Sequence[str] | None = None) -> Desk:
    """The desk of a motor in the bin; with ``leads`` a new one is begun where there is none.

    Raises InputProblem for a motor that isn't there, or that has other leads.
    """
    there = {} if leads is None else {record.name: record for record in bin.motors()}
    if leads is not None and motor not in there:
        bin.add_motor(motor, leads)
    elif leads is not None and set(there[motor].leads) != set(leads):
        raise InputProblem(f"motor {motor!r} is in the bin with other leads", remedy="choose another name")
    return Desk(bin, bin.motor(motor).name)
