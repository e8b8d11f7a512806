"""The ratings: what current the motor can take."""

from __future__ import annotations

from dataclasses import field
from typing import ClassVar

from coilbench.records.saved.base import Count, Event, Fact, Figure, NotNegative, Positive, StepAngle, Text, record


@record
class SoakResult:
    """What a temperature-rise test told."""

    winding_celsius: Figure
    rise_kelvin: Figure
    plus_minus_kelvin: NotNegative
    thermal_class: Text | None = None


@record
class Ratings(Fact):
    """Currents are RMS ones of a coil or half-winding, two phases on. ``current_ampere`` is the one to start with.

    ``typed`` holds the fields as they were typed, ``soak_entries`` counts the saved entries of temperature-rise tests
    that were done when the rating was saved: what comes after them is of a new test.
    """

    stage: ClassVar[str] = "ratings"

    current_ampere: Positive | None = None
    estimate_ampere: Positive | None = None
    low_ampere: Positive | None = None
    high_ampere: Positive | None = None
    rise_kelvin: Positive | None = None
    resistance_ohm: Positive | None = None
    inductance_henry: Positive | None = None
    holding_torque_newton_metre: Positive | None = None
    step_angle_degree: StepAngle | None = None
    inertia_kilogram_metre2: Positive | None = None
    basis: tuple[Text, ...] = ()
    soak: SoakResult | None = None
    typed: dict[Text, Text] = field(default_factory=dict)
    soak_entries: Count = 0


@record
class SoakEntry(Event):
    """An entry of a temperature-rise test: a field as typed, ``off`` for the supply switched off, or ``cooling``
    for a reading so many seconds after that."""

    stage: ClassVar[str] = "ratings"

    soak: Text
    text: Text = ""
    second: Count | None = None


FACT = Ratings
EVENT = SoakEntry
