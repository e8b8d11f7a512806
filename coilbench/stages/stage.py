"""What every stage is: the work on one motor, without a screen."""

from __future__ import annotations

from typing import ClassVar, NamedTuple

from coilbench.records.saved.facts import Facts
from coilbench.stages.desk import Desk


class Known(NamedTuple):
    """One thing that is known, for a narrow column: a short label and what belongs to it."""

    label: str
    text: str


class Stage:
    """The work of one stage on the motor of a desk.

    What takes a moment may be called in a thread; what writes, on the desk's own thread only.
    """

    id: ClassVar[str]

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    @classmethod
    def summary(cls, known: Facts) -> list[Known]:
        """What is saved of this stage, in a line or two, for the others."""
        return []

    def undo(self) -> str | None:
        """Take back the latest act at this stage: a few words on what it was, None where there was none."""
        return self.desk.undo(self.id)

    def redo(self) -> str | None:
        """Do again what undo took back last."""
        return self.desk.redo(self.id)

    @property
    def can_undo(self) -> bool:
        return self.desk.can_undo(self.id)

    @property
    def can_redo(self) -> bool:
        return self.desk.can_redo(self.id)
