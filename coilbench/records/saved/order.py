"""The phase order: in which order the coils turn the shaft, and which halves make a phase."""

from __future__ import annotations

from typing import ClassVar

from coilbench.records.saved.base import Count, Event, Fact, NotNegative, Pair, Text, record
from coilbench.winding.order.types import Answer, TestKind


@record
class Order(Fact):
    """What the tests tell; ``sequence`` is empty while it isn't known.

    ``halves`` names, for eight leads, each phase's two halves, written from start to finish in one sense. Without
    ``direction_known`` sequence and reverse may be swapped.
    """

    stage: ClassVar[str] = "order"

    ends: tuple[Text, ...] = ()
    sequence: tuple[Text, ...] = ()
    reverse: tuple[Text, ...] = ()
    phases: tuple[Pair, ...] = ()
    halves: dict[Text, tuple[Pair, Pair]] | None = None
    series: tuple[Pair, ...] = ()
    parallel: tuple[Pair, ...] = ()
    confidence: NotNegative = 0.0
    tests: Count = 0
    done: bool = False
    direction_known: bool = True


@record
class HandTest(Event):
    """One test by hand, or a board's kick, and what was seen (``winding.order.types.OrderTest``)."""

    stage: ClassVar[str] = "order"

    kind: TestKind
    reference: Text
    touched: Text
    answer: Answer


FACT = Order
EVENT = HandTest
