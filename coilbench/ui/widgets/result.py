"""The end of the sorting: what the motor is, the lead table, what can't be told, what next."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static


class WindingResult(VerticalScroll):
    """Shows the result in full; can be scrolled by keys."""

    HELP_TITLE = "the result"
    HELP = "What the readings say. Scroll with the arrow keys; p takes one more reading, F3 goes to the next stage."
    DEFAULT_CSS = """
    WindingResult { height: 1fr; min-height: 8; }
    WindingResult Static { height: auto; }
    """

    def compose(self) -> ComposeResult:
        yield Static("", id="result-text", markup=False)

    def put(self, text: str) -> None:
        """Show the result, or nothing while there is none."""
        self.display = bool(text)
        self.query_one("#result-text", Static).update(text)
