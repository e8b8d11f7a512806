"""What stands first at a stage, drawn: a figure large, its words beside it; three rows at most."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import Digits, Static

from coilbench.stages.head import NOTHING, STOP, Head
from coilbench.ui.leads import lead_content
from coilbench.ui.widgets.seven_segments import seven_segments

ROWS = 3
LEAST_BESIDE = 24  # cells for the words; a figure that leaves them less stands small


class HeadLines(Horizontal):
    """Draws a head; with ``plain`` characters its figure is made of seven segments."""

    DEFAULT_CSS = """
    HeadLines { height: auto; max-height: 3; padding: 0 1; background: $surface; }
    HeadLines Digits, HeadLines #head-plain { width: auto; height: 3; color: $text-primary; text-style: bold; }
    HeadLines #head-unit { width: auto; height: 3; padding: 2 2 0 1; color: $text-primary; text-style: bold; }
    HeadLines #head-words { width: 1fr; height: auto; max-height: 3; }
    HeadLines.-cut #head-words { text-wrap: nowrap; text-overflow: ellipsis; }
    """

    head = NOTHING
    plain = False

    def compose(self) -> ComposeResult:
        yield Digits("", id="head-figure")
        yield Static("", id="head-plain", markup=False)
        yield Static("", id="head-unit", markup=False)
        yield Static("", id="head-words", markup=False)

    def put(self, head: Head, *, plain: bool = False) -> None:
        """Show a head; one that says nothing takes no room."""
        self.head, self.plain = head, plain
        self.display = bool(head.lines)
        self._draw()

    def on_resize(self, event: events.Resize) -> None:
        self._draw()

    def _draw(self) -> None:
        head, width = self.head, self.content_size.width
        taken = (4 if self.plain else 3) * len(head.number) + len(head.unit) + 3 if head.figure else 0
        large = bool(head.figure) and width - taken >= LEAST_BESIDE
        figure, plain = self.query_one("#head-figure", Digits), self.query_one("#head-plain", Static)
        unit = self.query_one("#head-unit", Static)
        figure.display, plain.display, unit.display = large and not self.plain, large and self.plain, large
        if large:
            figure.update(head.number)
            plain.update("\n".join(seven_segments(head.number)))
            unit.update(head.unit)
        beside = max(width - (taken if large else 0), 1)
        # Where there is no room for all, the doubt gives way first, then the act: the question stands whole.
        first, doubt, act = self._lines(large)
        ways = [[line for line in lines if line.plain] for lines in ((first, doubt, act), (first, act), (first,))]
        fitting = [lines for lines in ways if _rows(lines, beside) <= ROWS]
        self.set_class(not fitting, "-cut")
        lines = fitting[0] if fitting else ways[0]
        self.query_one("#head-words", Static).update(Content("\n").join(lines))

    def _lines(self, large: bool) -> tuple[Content, Content, Content]:
        head = self.head
        said = " ".join(part for part in ("" if large else head.figure, head.says) if part)
        style = {"answer": "bold $text-primary", "stop": "bold $text-error"}.get(head.kind, "bold")
        first = Content.styled(f"{STOP if head.kind == 'stop' else ''}{said}", style)
        for place, lead in enumerate(head.leads):
            first = Content.assemble(first, " and " if place else " ", lead_content(lead).stylize("bold"))
        return first, Content.styled(head.doubt, "$text-muted"), Content(head.act)


def _rows(lines: Sequence[Content], width: int) -> int:
    """How many rows they take, broken at words."""
    return sum(len(textwrap.wrap(line.plain, width)) if line.cell_length > width else 1 for line in lines)
