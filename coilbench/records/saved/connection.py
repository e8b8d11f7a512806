"""The connection: how the leads go to the driver."""

from __future__ import annotations

from dataclasses import field
from typing import ClassVar

from coilbench.records.saved.base import Fact, Positive, Text, record


@record
class Connection(Fact):
    """The chosen connection. ``current_ampere``: the peak to set, per winding as connected."""

    stage: ClassVar[str] = "connection"

    connection: Text
    current_ampere: Positive
    resistance_ohm: Positive | None = None
    inductance_henry: Positive | None = None
    wiring: tuple[Text, ...] = ()
    typed: dict[Text, Text] = field(default_factory=dict)


FACT = Connection
EVENT = None
