"""A line to type in, as the bench uses it everywhere."""

from __future__ import annotations

from textual.widgets import Input


class Field(Input):
    """An input whose cursor stands still: nothing moves on the screen unless it changed."""

    def on_mount(self) -> None:
        self.cursor_blink = False
