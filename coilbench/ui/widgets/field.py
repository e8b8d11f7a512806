"""A line to type in, as the bench uses it everywhere."""

from __future__ import annotations

from textual import events, on
from textual.widgets import Input

from coilbench.plain_text import cleaned

LONGEST_PASTE = 1000  # characters; more was copied from somewhere else by mistake


class Field(Input):
    """An input whose cursor stands still: nothing moves on the screen unless it changed."""

    def on_mount(self) -> None:
        self.cursor_blink = False

    @on(events.Paste)
    def paste_plain(self, event: events.Paste) -> None:
        """What is pasted is cleaned; several lines become one."""
        event.text = cleaned(event.text[:LONGEST_PASTE]).strip()
