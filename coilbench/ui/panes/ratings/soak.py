"""The entries of a hot soak as the bin keeps them: each one an event, saved the moment it is made.

A soak takes half an hour and can't be repeated at once, so nothing of it waits for the rating to be saved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from time import monotonic
from typing import TYPE_CHECKING, Any

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import Button, Input

from coilbench.errors import CoilbenchError
from coilbench.ui.widgets.field import Field

if TYPE_CHECKING:
    from coilbench.records.rows import SavedEvent

COOLING = "after"  # the field that the readings after switching off go to
LONGEST_SECOND = 1800.0
OFF_NOW = "off now"


@dataclass(frozen=True, slots=True)
class SoakKept:
    """What the events say: the fields' texts, when the supply went off (ISO 8601), and the latest event's id."""

    texts: dict[str, str] = field(default_factory=dict)
    off_time: str | None = None
    last_event: int = 0

    @property
    def off_second_ago(self) -> float | None:
        """Seconds since the supply went off; None where it didn't, or so long ago that the motor is cold again."""
        if self.off_time is None:
            return None
        second = (datetime.now(UTC) - datetime.fromisoformat(self.off_time)).total_seconds()
        return second if 0 <= second < LONGEST_SECOND else None


def soak_kept(events: Sequence[SavedEvent], after_event: int) -> SoakKept:
    """The entries made since the event ``after_event``, with which the rating was last saved."""
    texts: dict[str, str] = {}
    off_time, last = None, 0
    for event in events:
        if event.id <= after_event:
            continue
        last, value = event.id, event.value
        what, text = value.get("soak"), str(value.get("text", ""))
        if what == "off":
            off_time, texts["hot"], texts[COOLING] = event.time, "", ""  # those of an earlier run are done with
        elif what == "cooling":
            # Semicolons part the readings: a comma may be the decimal sign.
            point = f"{value.get('second')}s:{text}"
            texts[COOLING] = "; ".join(part for part in (texts.get(COOLING), point) if part)
        elif isinstance(what, str):
            texts[what] = text
    return SoakKept(texts, off_time, last)


def off_event() -> dict[str, Any]:
    """The supply was switched off this moment."""
    return {"soak": "off"}


def cooling_event(second: int, text: str) -> dict[str, Any]:
    """A reading, so many seconds after switching off."""
    return {"soak": "cooling", "second": second, "text": text}


def field_event(field_id: str, text: str) -> dict[str, Any]:
    """A field of the form as it was typed."""
    return {"soak": field_id, "text": text}


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
    """Counts from the moment of switching off, and takes the readings after it."""

    DEFAULT_CSS = """
    SoakClock { height: 1; }
    SoakClock Button { width: 11; min-width: 8; padding: 0; }
    SoakClock CoolingInput { width: 1fr; }
    """

    class Off(Message):
        """The supply went off this moment."""

    class Read(Message):
        """The meter was read so many seconds after that."""

        def __init__(self, second: int, text: str) -> None:
            super().__init__()
            self.second, self.text = second, text

    class Wrong(Message):
        """What was typed can't be taken, and why."""

        def __init__(self, says: str) -> None:
            super().__init__()
            self.says = says

    def __init__(self) -> None:
        super().__init__()
        self._off_since: float | None = None  # by the monotonic clock, which nobody sets
        self._off_time: str | None = None

    def compose(self) -> ComposeResult:
        yield Button(OFF_NOW, id="soak-off", compact=True)
        yield CoolingInput()
        yield Button("undo (^z)", id="soak-undo", compact=True)

    def show(self, kept: SoakKept) -> None:
        """Count from the switching off that is kept, or stand still."""
        ago = kept.off_second_ago
        if ago is None:
            self._off_since = None
        elif kept.off_time != self._off_time:
            self._off_since = monotonic() - ago
        self._off_time = kept.off_time
        self.query_one("#soak-off", Button).label = OFF_NOW if ago is None else "clock runs"

    @on(Button.Pressed, "#soak-off")
    def switched_off(self, event: Button.Pressed) -> None:
        event.stop()
        self.post_message(self.Off())
        self.query_one(CoolingInput).focus()

    @on(Input.Submitted)
    def reading_now(self, event: Input.Submitted) -> None:
        from coilbench.quantity import parse_reading

        event.stop()
        if self._off_since is None:
            self.post_message(self.Wrong(f'press "{OFF_NOW}" as you switch the supply off, then read'))
            return
        try:
            parse_reading(event.value)
        except CoilbenchError as problem:
            self.post_message(self.Wrong(str(problem)))
            return
        self.post_message(self.Read(max(1, round(monotonic() - self._off_since)), event.value.strip()))
        event.input.value = ""
