"""One question, large: where to put the two probes, and what that will tell."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Container, Vertical
from textual.content import Content
from textual.widgets import Static

from coilbench.ui.leads import lead_content, lead_words
from coilbench.winding.engine.verdict import Ask


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

    def show(self, ask: Ask | None) -> None:
        """Show an ask, or nothing."""
        self.display = ask is not None
        self.say("")
        if ask is None:
            return
        title, one, other = asked_words(ask)
        self.query_one("#ask-title", Static).update(title)
        self.query_one("#probe-one", Static).update(one)
        self.query_one("#probe-other", Static).update(other or "")
        self.query_one("#probe-other").set_class(other is None, "-away")
        self.query_one("#ask-why", Static).update(ask.why)

    def say(self, text: str, *, problem: bool = False) -> None:
        """A line under the question: a hint, or what is wrong with what was typed."""
        said = self.query_one("#said", Static)
        said.update(text)
        said.display = bool(text)
        said.set_class(problem, "-problem")


def placeholder(ask: Ask | None) -> str:
    """What the empty field says."""
    return "its top, 200 or 2k; Enter: auto" if ask is not None and ask.kind == "range" else "ohms, or o for OL"


def asked_words(ask: Ask) -> tuple[str, Content, Content | None]:
    """Title and the one or two boxes of an ask."""
    if ask.kind == "probes-together":
        return "hold the probes together", Content("both probe tips, touching each other"), None
    if ask.kind == "range":
        return "which range was the meter on?", Content(f"{lead_words(ask.a)} – {lead_words(ask.b)}: OL"), None
    title = "leak to the frame? fingers off the tips" if ask.kind == "frame" else "put the probes on"
    return title, lead_content(ask.a), lead_content(ask.b)
