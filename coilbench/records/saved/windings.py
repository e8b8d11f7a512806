"""The windings: which lead is which."""

from __future__ import annotations

from dataclasses import field
from typing import ClassVar

from coilbench.records.saved.base import BRIEFLY, Count, Event, Fact, NotNegative, Pair, Positive, Text, record


@record
class Coil:
    """A coil from end to end, the probes' resistance removed."""

    name: Text
    ends: Pair
    tap: Text | None = None
    ohms: Positive | None = None
    ohms_sd: NotNegative | None = None
    henry: Positive | None = field(default=None, metadata=BRIEFLY)
    henry_sd: NotNegative | None = field(default=None, metadata=BRIEFLY)


@record
class WindingFault:
    """A fault and the leads that it concerns."""

    kind: Text
    leads: tuple[Text, ...] = ()


@record
class Windings(Fact):
    """What the readings tell, names of leads as they were given.

    ``lead_ohms`` is between any two leads, where no coil can be told apart.
    """

    stage: ClassVar[str] = "windings"

    arrangement: Text
    confidence: NotNegative = 0.0
    coils: tuple[Coil, ...] = ()
    common: Text | None = None
    spare: tuple[Text, ...] = ()
    cannot_tell: tuple[Text, ...] = ()
    faults: tuple[WindingFault, ...] = ()
    repeat: tuple[Pair, ...] = ()
    next: Pair | Text | None = None
    order: tuple[Text, ...] | None = None
    readings: Count = 0
    lead_ohms: Positive | None = None
    lead_ohms_sd: NotNegative | None = None


@record
class Inductance(Event):
    """What the rise of the current between two leads tells, on the clips of a board."""

    stage: ClassVar[str] = "windings"

    a: Text
    b: Text
    henry: Positive
    henry_sd: NotNegative


FACT = Windings
EVENT = Inductance
