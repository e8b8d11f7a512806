"""One question, large: where to put the two probes, and what that will tell."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Container, Vertical
from textual.content import Content
from textual.widgets import Static

from coilbench.stages.windings.words import Asked
from coilbench.ui.leads import lead_content


class Question(Vertical):
    """Shows an ask; empty while there is none."""

    DEFAULT_CSS = """
    Question { height: auto; }
    Question #ask-title { text-style: bold; color: $text-primary; height: auto; }
    Question #ask-pair { layout: vertical; height: auto; border: round $foreground 60%; padding: 0 1; }
    Question .probe { width: 1fr; height: auto; text-style: bold; }
    Question .probe.-away { display: none; }
    Question #ask-why { height: auto; color: $text-muted; }
    Question #said { height: auto; }
    Question #said.-problem { color: $text-error; }
    """

    def compose(self) -> ComposeResult:
        yield Static("", id="ask-title", markup=False)
        with Container(id="ask-pair"):
            yield Static("", id="probe-one", classes="probe", markup=False)
            yield Static("", id="probe-other", classes="probe", markup=False)
        yield Static("", id="ask-why", markup=False)
        yield Static("", id="said", markup=False)

    def put(self, ask: Asked | None) -> None:
        """Show an ask, or nothing."""
        self.display = ask is not None
        self.say("")
        if ask is None:
            return
        boxes = [lead_content(name) for name in ask.probes] or [Content(ask.text)]
        self.query_one("#ask-title", Static).update(ask.title)
        self.query_one("#probe-one", Static).update(boxes[0])
        self.query_one("#probe-other", Static).update(boxes[1] if len(boxes) > 1 else "")
        self.query_one("#probe-other").set_class(len(boxes) < 2, "-away")
        self.query_one("#ask-why", Static).update(ask.why)

    def say(self, text: str, *, problem: bool = False) -> None:
        """A line under the question: a hint, or what is wrong with what was typed."""
        said = self.query_one("#said", Static)
        said.update(text)
        said.display = bool(text)
        said.set_class(problem, "-problem")
