"""A line to type in, as the bench uses it everywhere."""

from __future__ import annotations

from textual import events, on
from textual.widgets import Input

from coilbench.plain_text import cleaned

LONGEST_PASTE = 1000  # characters; more was copied from somewhere else by mistake


class Field(Input):
    """An input whose cursor stands still: nothing moves on the screen unless it changed."""

    before = ""  # what it said when the edit that is at work began

    def on_mount(self) -> None:
        self.cursor_blink = False

    @on(events.Focus)
    @on(Input.Submitted)
    def begin_edit(self) -> None:
        """From here on Escape brings back what it says now."""
        self.before = self.value

    def take_over(self) -> None:
        """Take the focus with the text as it is and the cursor at its end, so that the next key goes on with it."""
        self.select_on_focus = False
        self.screen.set_focus(self)  # at once: the next key may be waiting
        self.cursor_position = len(self.value)
        self.call_after_refresh(setattr, self, "select_on_focus", True)

    def put(self, text: str) -> None:
        """Say something that nobody typed."""
        self.value = text
        self.begin_edit()

    def give_up_edit(self) -> bool:
        """Bring back what it said before the edit; whether there was one."""
        if self.value == self.before:
            return False
        self.value = self.before
        return True

    @on(events.Paste)
    def paste_plain(self, event: events.Paste) -> None:
        """What is pasted is cleaned; several lines become one."""
        event.text = cleaned(event.text[:LONGEST_PASTE]).strip()
