"""A line under the title: what is known of the motor; a click on a part goes to its stage."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import Static

from coilbench.plain_text import inert

if TYPE_CHECKING:
    from coilbench.stages.strip import StripPart

PARTS = 6


class StageWanted(Message):
    """A part of the strip was clicked."""

    def __init__(self, stage_id: str) -> None:
        super().__init__()
        self.stage_id = stage_id


class StripLabel(Static):
    """One part; what isn't known yet stands back."""

    stage_id = ""

    def on_click(self, event: events.Click) -> None:
        event.stop()
        self.post_message(StageWanted(self.stage_id))


class MotorStrip(Horizontal):
    """The parts side by side."""

    def compose(self) -> ComposeResult:
        for number in range(PARTS):
            yield StripLabel("", markup=False, id=f"strip-{number}")

    def show(self, parts: Sequence[StripPart], stage_id: str) -> None:
        """Show what is known; the parts of the stage at work are marked."""
        for place, (label, part) in enumerate(zip(self.query(StripLabel), parts, strict=True)):
            label.stage_id = part.stage
            label.update(f"{'· ' if place else ''}{inert(part.text)}")
            label.set_class(part.is_known, "-known")
            label.set_class(part.stage == stage_id, "-present")
            label.tooltip = f"go to {part.stage}"
