"""What every saved record is built from: frozen data, whose limits are checked wherever it is read.

A limit keeps out what no bench yields and a stage would stumble over.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, TypeVar, dataclass_transform

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Limits:
    """Of a number."""

    least: float
    most: float

    def hold(self, value: float) -> bool:
        """Whether a value lies within."""
        return self.least <= value <= self.most

    @property
    def words(self) -> str:
        """What is expected, in words."""
        if self.least == -self.most:
            return "a number"
        low = (
            "above zero" if self.least == LEAST else "of zero or more" if self.least == 0 else f"from {self.least:g}"
        )
        return f"a number {low}" if self.most >= MOST_COUNT else f"a number {low} to {self.most:g}"


@dataclass(frozen=True, slots=True)
class Longest:
    """Of a text."""

    characters: int


MOST = 1e15  # no figure of a bench comes near, and sums of its squares stay finite
MOST_COUNT = 2**53 - 1  # what JSON carries exactly

LEAST = 1e-15  # and what it is divided by doesn't run over

Text = Annotated[str, Longest(10_000)]
Positive = Annotated[float, Limits(LEAST, MOST)]
StepAngle = Annotated[float, Limits(0.01, 360)]
NotNegative = Annotated[float, Limits(0, MOST)]
Figure = Annotated[float, Limits(-MOST, MOST)]
Count = Annotated[int, Limits(0, MOST_COUNT)]
Microsteps = Annotated[int, Limits(1, 256)]
Pair = tuple[Text, Text]


BRIEFLY = {"brief": True}  # of a field: not written out where it has its usual value


@dataclass_transform(frozen_default=True, kw_only_default=True)
def record(cls: type[T]) -> type[T]:
    """Make a class a record: frozen, its fields given by name."""
    return dataclass(frozen=True, kw_only=True)(cls)


class Fact:
    """What is known at a stage; a motor has one a stage at the most."""

    stage: ClassVar[str]


class Event:
    """Something done at a stage; a motor has any number, in the order in which they were done."""

    stage: ClassVar[str]
    BRIEF: ClassVar[bool] = True  # what has its usual value is not written out
