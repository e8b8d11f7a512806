"""The windings: which lead is which."""

from __future__ import annotations

from typing import ClassVar

from coilbench.records.saved.base import Count, Fact, NotNegative, Pair, Positive, Text, record


@record
class Coil:
    """A coil from end to end, the probes' resistance removed."""

    name: Text
    ends: Pair
    tap: Text | None = None
    ohms: Positive | None = None
    ohms_sd: NotNegative | None = None


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


FACT = Windings
EVENT = None
