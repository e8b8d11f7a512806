"""The field for one meter reading: while it is empty letters are keys, after that they are part of it."""

from __future__ import annotations

from textual import events

from coilbench.ui.widgets.field import Field

_BEGINS_A_READING = set("0123456789.,-RrIi∞")  # R47, and inf: what some meters show for open
OPEN_TEXT = "open"


class ReadingInput(Field):
    """Takes what the meter says. ``open`` is put in whole by its key, so the letters of OL or open are swallowed."""

    HELP_TITLE = "what the meter says"
    HELP = (
        "Set the meter to ohms, hold a probe on each of the two leads, and type what the display says: 12.3, "
        "12,3, 12R3, 1k2 or 0.8 ohm. OL, 1 or --- at the left of the display means open: press o, then Enter. "
        "Touch the bare ends with the probes only, not with your fingers: a body reads as megohms."
    )

    def check_consume_key(self, key: str, character: str | None) -> bool:
        if character is None or not character.isprintable():
            return False
        return bool(self.value) or character in _BEGINS_A_READING

    def _on_key(self, event: events.Key) -> None:  # type: ignore[override]
        if not event.is_printable:
            return
        if self.value == OPEN_TEXT and event.character is not None:
            if event.character.lower() in "openl. ":
                event.stop()
                event.prevent_default()
                return
            self.value = ""
        if not self.check_consume_key(event.key, event.character):
            event.prevent_default()

    def watch_value(self, before: str, after: str) -> None:
        if bool(before) != bool(after):
            self.refresh_bindings()

    def type_text(self, text: str) -> None:
        """Type as if by keys: from the digits on screen."""
        if self.value == OPEN_TEXT or text == OPEN_TEXT:
            self.value = ""
        self.value += text
        self.take_over()

    def backspace(self) -> None:
        """Take the last character away; the whole word, where it is ``open``."""
        self.value = "" if self.value == OPEN_TEXT else self.value[:-1]
        self.cursor_position = len(self.value)
        self.focus()
