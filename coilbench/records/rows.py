"""What the bin holds, as plain data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

from coilbench.records.saved.base import Event
from coilbench.winding.readings.reading import Reading

E = TypeVar("E", bound=Event, covariant=True)


@dataclass(frozen=True)
class MotorRecord:
    """A motor of the bin. ``created`` is UTC, ISO 8601; ``stages`` are those with something known."""

    name: str
    leads: tuple[str, ...]
    created: str
    readings: int = 0
    stages: tuple[str, ...] = ()


@dataclass(frozen=True)
class SavedReading:
    """A reading of the bin: ohms (``math.inf`` for open), the meter it was taken with, UTC time in ISO 8601."""

    id: int
    a: str
    b: str
    ohm: float
    range_ohm: float | None
    meter: str
    time: str
    kind: str = "ohms"

    @property
    def reading(self) -> Reading:
        """The part that the sorting of leads needs."""
        return Reading(self.a, self.b, self.ohm, self.range_ohm)


@dataclass(frozen=True)
class Entry(Generic[E]):
    """Something done at a stage, with its number in this bin and the time (UTC, ISO 8601)."""

    id: int
    value: E
    time: str
