"""The form of the jog stage: which port, how the driver is set, who watches; what to see to before it moves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widgets import Button, Select, Static

from coilbench.errors import InputProblem
from coilbench.ui.stages.base import Caution
from coilbench.ui.stages.jog_setup import PortChoice, Setting, read_setting
from coilbench.ui.widgets.field import Field

FIELDS = (
    ("microsteps", "microsteps", "How many STEP pulses make a full step, as the driver's pins or jumpers are set."),
    ("turn", "steps/turn", "Full steps in one turn of the shaft: 200 for 1.8 degrees a step, 48 for 7.5."),
    ("acceleration", "accelerate", "How fast to speed up, full steps/s each second. Heavier loads want less."),
)
CAUTIONS = (
    "never plug or unplug a motor on a live driver",
    "clamp the motor; fingers, hair and sleeves clear; be ready to press space: it stops",
)


class JogField(Field):
    """A field of the jog stage, with its own help."""

    def __init__(self, name: str, help_text: str) -> None:
        super().__init__(id=f"jog-field-{name}", compact=True)
        self.help_title = name
        self.help_text = f"{help_text} F5 connects the board."


class JogForm(VerticalScroll):
    """Fields and buttons; the pane acts on them."""

    def compose(self) -> ComposeResult:
        yield Static("prove it moves", classes="dialog-title", markup=False)
        with Horizontal(classes="jog-row"):
            yield Static("board", markup=False)
            yield Select[str]([], prompt="looking", id="jog-port", compact=True)
        for name, label, help_text in FIELDS:
            with Horizontal(classes="jog-row"):
                yield Static(label, markup=False)
                yield JogField(name, help_text)
        with Horizontal(classes="jog-row"):
            yield Static("watched by", markup=False)
            watched = [("eye: a taped flag", "eye"), ("index sensor", "sensor")]
            yield Select(watched, value="eye", allow_blank=False, id="jog-watch", compact=True)
        with Horizontal(classes="jog-row", id="jog-buttons"):
            yield Button("connect (F5)", id="jog-connect", variant="primary", compact=True)
            yield Button("ports anew", id="jog-ports", compact=True)
        yield Button("one slow turn (F6)", id="jog-turn", variant="primary", compact=True)
        yield Static("", id="jog-said", markup=False)
        for caution in CAUTIONS:
            yield Caution(caution)

    @property
    def texts(self) -> dict[str, str]:
        """What stands in the fields, by name."""
        return {name: self.query_one(f"#jog-field-{name}", JogField).value for name, _, _ in FIELDS}

    def fill(self, texts: Mapping[str, str]) -> None:
        """Put texts into the fields."""
        for name, text in texts.items():
            self.query_one(f"#jog-field-{name}", JogField).value = text

    @property
    def microsteps(self) -> int:
        """The microsteps as far as they can be read, else full steps."""
        text = self.texts["microsteps"]
        return int(text) if text.isdecimal() else 1

    def setting(self) -> Setting:
        """The whole form, read. Raises InputProblem."""
        url = self.query_one("#jog-port", Select).value
        if not isinstance(url, str):
            raise InputProblem("choose the port your helper board is on")
        return read_setting(url, self.texts, self.query_one("#jog-watch", Select).value == "sensor")

    def offer(self, found: Sequence[PortChoice], *, take_first: bool) -> None:
        """Offer ports to choose from."""
        ports = self.query_one("#jog-port", Select)
        ports.prompt = "choose" if found else "no port: plug the board in"
        ports.set_options([(Content(port.words), port.url) for port in found])
        if found and (take_first or len(found) == 1):
            ports.value = found[0].url

    def show(self, *, connected: bool) -> None:
        """Put the focus on what comes next."""
        self.query_one("#jog-turn").display = connected
        self.query_one("#jog-turn" if connected else "#jog-connect").focus(scroll_visible=False)

    def say(self, text: str, *, problem: bool = False) -> None:
        """A line or two under the form."""
        said = self.query_one("#jog-said", Static)
        said.update(text)
        said.set_class(problem, "-problem")
