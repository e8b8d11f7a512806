"""The driver: what it is set to."""

from __future__ import annotations

from dataclasses import field
from typing import ClassVar

from coilbench.records.saved.base import Fact, Microsteps, NotNegative, Positive, Text, record


@record
class Driver(Fact):
    """The chip, its sense resistor, and the peak current it is set to."""

    stage: ClassVar[str] = "driver"

    chip: Text
    peak_ampere: Positive
    sense_ohm: Positive | None = None
    vref_volt: NotNegative | None = None
    supply_volt: Positive | None = None
    microsteps: Microsteps | None = None
    typed: dict[Text, Text] = field(default_factory=dict)


FACT = Driver
EVENT = None
