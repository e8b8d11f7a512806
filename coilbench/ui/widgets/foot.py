"""The keys at the foot of a screen."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widgets import Footer
from textual.widgets._footer import FooterKey


class Foot(Footer):
    """Without a key of its own for the palette, which has one in the table of actions."""

    def __init__(self) -> None:
        super().__init__(show_command_palette=False)

    def compose(self) -> ComposeResult:
        for part in super().compose():
            if isinstance(part, FooterKey):
                # Else each key is taken for a narrow one first, and its styles are looked up three times.
                part.set_reactive(FooterKey.compact, self.compact)
            yield part
