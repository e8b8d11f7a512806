"""The clock of a temperature-rise test: a button for the switching off, and a field for the readings after it."""

from __future__ import annotations

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import Button, Input

from coilbench.stages.ratings.stage import OFF_NOW
from coilbench.ui.widgets.field import Field


class CoolingInput(Field):
    """Takes the meter's ohms while the motor cools; the clock puts the seconds to them."""

    def __init__(self) -> None:
        super().__init__(id="soak-now", compact=True, placeholder="ohms, Enter")
        self.help_title = "reading now"
        self.help_text = (
            "Press the button as you switch the supply off. Then type what the meter says, Enter, and again each "
            "half minute: every reading goes to the cooling line with its seconds, and is kept at once."
        )


class SoakClock(Horizontal):
    """Says that the supply goes off now, and hands over what is read after that."""

    DEFAULT_CSS = """
    SoakClock { height: 1; }
    SoakClock Button { width: 11; min-width: 8; padding: 0; }
    SoakClock CoolingInput { width: 1fr; }
    """

    class Off(Message):
        """The supply went off this moment."""

    class Read(Message):
        """The meter was read this moment."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    def compose(self) -> ComposeResult:
        yield Button(OFF_NOW, id="soak-off", compact=True)
        yield CoolingInput()
        yield Button("undo (^z)", id="soak-undo", compact=True)

    def put_running(self, running: bool) -> None:
        """Say whether it counts."""
        self.query_one("#soak-off", Button).label = "clock runs" if running else OFF_NOW

    def clear(self) -> None:
        """Make room for the next reading."""
        self.query_one(CoolingInput).put("")

    @on(Button.Pressed, "#soak-off")
    def switched_off(self, event: Button.Pressed) -> None:
        event.stop()
        self.post_message(self.Off())
        self.query_one(CoolingInput).focus()

    @on(Input.Submitted)
    def reading_now(self, event: Input.Submitted) -> None:
        event.stop()
        self.post_message(self.Read(event.value))
