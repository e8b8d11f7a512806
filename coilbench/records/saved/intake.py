"""The intake: what the motor looks like."""

from __future__ import annotations

from typing import ClassVar

from coilbench.records.saved.base import Fact, Positive, StepAngle, Text, record


@record
class Intake(Fact):
    """Everything may be unknown. ``label`` is what is printed on the motor or written about it."""

    stage: ClassVar[str] = "intake"

    frame: Text | None = None
    diameter_metre: Positive | None = None
    length_metre: Positive | None = None
    label: Text | None = None
    step_angle_degree: StepAngle | None = None


FACT = Intake
EVENT = None
