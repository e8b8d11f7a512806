"""The end of the sorting: what the motor is, the lead table, what can't be told, what next."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from coilbench.winding.engine.verdict import Verdict


class WindingResult(VerticalScroll):
    """Shows a verdict in full; can be scrolled by keys."""

    HELP_TITLE = "the result"
    HELP = "What the readings say. Scroll with the arrow keys; p takes one more reading, F3 goes to the next stage."
    DEFAULT_CSS = """
    WindingResult { height: 1fr; min-height: 8; }
    WindingResult Static { height: auto; }
    """

    def compose(self) -> ComposeResult:
        yield Static("", id="result-text", markup=False)

    def show(self, verdict: Verdict | None) -> None:
        """Show the result, or nothing."""
        self.display = verdict is not None
        if verdict is not None:
            from coilbench.ui.facts import result_text

            self.query_one("#result-text", Static).update(result_text(verdict))
