"""Digits on the screen, for working by mouse alone."""

from __future__ import annotations

from textual import on
from textual.app import ComposeResult
from textual.containers import Grid
from textual.message import Message
from textual.widgets import Button

_ROWS = (("7", "8", "9", "⌫"), ("4", "5", "6", "OL"), ("1", "2", "3", "skip"), ("0", ".", "k", "save"))


class KeypadButton(Button, can_focus=False):
    """Leaves the focus in the field it types into."""


class Keypad(Grid):
    """Buttons that say what was clicked."""

    class Pressed(Message):
        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    DEFAULT_CSS = """
    Keypad { grid-size: 4 4; grid-rows: 1; height: 4; grid-gutter: 0 1; width: 1fr; min-width: 23; max-width: 44; }
    Keypad KeypadButton { width: 1fr; min-width: 3; }
    """

    def compose(self) -> ComposeResult:
        for row in _ROWS:
            for text in row:
                yield KeypadButton(text, compact=True, variant="primary" if text == "save" else "default", name=text)

    @on(Button.Pressed)
    def pressed(self, event: Button.Pressed) -> None:
        event.stop()
        self.post_message(self.Pressed(event.button.name or ""))
