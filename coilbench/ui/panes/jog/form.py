"""The form of the jog stage: port, drive, shaft, who watches; then what to wire where, and what to see to."""

from __future__ import annotations

from collections.abc import Sequence

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Button, Input, Select, Static

from coilbench.errors import InputProblem
from coilbench.ui.panes.base import Caution
from coilbench.ui.panes.jog.setup import PORT_TYPED, Form, PortChoice, Setting, read_setting, typed_port
from coilbench.ui.widgets.field import Field

# Name in ``Form``, label, help. The rows stand in the order in which they are named here.
FIELDS = {
    "microsteps": ("microsteps", "How many STEP pulses make a full step, as the driver's pins or jumpers are set."),
    "turn": ("steps/turn", "Full steps in one turn of the rotor: 200 for 1.8 degrees a step, 48 for 7.5."),
    "gear": ("gear", "Turns of the rotor for one turn of the output shaft: 1 without a gear, such as 64 with one."),
    "acceleration": ("accelerate", "How fast to speed up, full steps/s each second. Heavier loads want less."),
}
CHOICES: dict[str, tuple[str, tuple[tuple[str, str], ...]]] = {
    "kind": (
        "drive",
        (("step/dir driver", "driver"), ("coils: array", "array"), ("coils: H-bridge", "bridge")),
    ),
    "form": (
        "switched",
        (("full steps", "full"), ("half steps", "half"), ("wave drive", "wave")),
    ),
    "flag_on": (
        "flag is on",
        (("output shaft", "output"), ("rotor's shaft", "rotor")),
    ),
    "watch": (
        "watched by",
        (("eye: a flag", "eye"), ("index sensor", "sensor")),
    ),
}
ROWS = ("kind", "form", "microsteps", "turn", "gear", "flag_on", "acceleration", "watch")
CAUTIONS = (
    "never plug or unplug a motor on a live driver",
    "clamp it; fingers, hair, sleeves clear; space stops it",
)


TYPED = ""  # the choice of a port whose name is typed


class JogField(Field):
    """A field of the jog stage, with its own help."""

    def __init__(self, name: str, help_text: str) -> None:
        super().__init__(id=f"jog-field-{name}", compact=True)
        self.help_title = name
        self.help_text = f"{help_text} F5 connects the board."


class JogForm(VerticalScroll):
    """Fields and buttons; the pane acts on them. Once a board is connected, the wiring takes the fields' place."""

    def compose(self) -> ComposeResult:
        yield Static("prove it moves", id="jog-heading", classes="dialog-title", markup=False)
        yield Static("", id="jog-unset", markup=False)
        with Horizontal(classes="jog-row", id="jog-row-port"):
            yield Static("board", markup=False)
            yield Select[str]([], prompt="looking", id="jog-port", compact=True)
        with Horizontal(classes="jog-row", id="jog-row-typed"):
            yield Static("its name", markup=False)
            yield JogField("typed", PORT_TYPED)
        for name in ROWS:
            with Horizontal(classes="jog-row", id=f"jog-row-{name}"):
                if name in FIELDS:
                    label, help_text = FIELDS[name]
                    yield Static(label, markup=False)
                    yield JogField(name, help_text)
                else:
                    label, offered = CHOICES[name]
                    yield Static(label, markup=False)
                    yield Select(
                        offered, value=offered[0][1], allow_blank=False, id=f"jog-choose-{name}", compact=True
                    )
        with Horizontal(id="jog-wiring-side"):
            yield Static("", id="jog-wiring", markup=False)
            with VerticalScroll(id="jog-next", can_focus=False):
                with Horizontal(id="jog-buttons"):
                    yield Button("connect (F5)", id="jog-connect", variant="primary", compact=True)
                    yield Button("look for ports", id="jog-ports", compact=True)
                yield Button("one slow turn (F6)", id="jog-turn", variant="primary", compact=True)
                yield Button("settings (F7)", id="jog-settings", compact=True)
                yield Static("", id="jog-said", markup=False)
        yield Static("", id="jog-drive-cautions", markup=False)
        with Vertical(id="jog-cautions"):
            for caution in CAUTIONS:
                yield Caution(caution)

    def on_mount(self) -> None:
        self.show(connected=False)
        self.watch(self, "virtual_size", self._head)
        self.watch(self, "size", self._head)

    @property
    def texts(self) -> Form:
        """What stands in the form."""
        fields = {name: self.query_one(f"#jog-field-{name}", JogField).value for name in FIELDS}
        chosen = {name: str(self.query_one(f"#jog-choose-{name}", Select).value) for name in CHOICES}
        return Form(**fields, **chosen)

    def fill(self, form: Form) -> None:
        """Put texts and choices into the form."""
        for name in FIELDS:
            self.query_one(f"#jog-field-{name}", JogField).value = getattr(form, name)
        for name in CHOICES:
            self.query_one(f"#jog-choose-{name}", Select).value = getattr(form, name)

    def setting(self) -> Setting:
        """The whole form, read. Raises InputProblem."""
        url = self.query_one("#jog-port", Select).value
        if url == TYPED:
            url = typed_port(self.query_one("#jog-field-typed", JogField).value)
        if not isinstance(url, str):
            raise InputProblem("choose the port your helper board is on")
        return read_setting(url, self.texts)

    def offer(self, found: Sequence[PortChoice], *, take_first: bool) -> None:
        """Offer ports to choose from."""
        ports = self.query_one("#jog-port", Select)
        ports.prompt = "choose" if found else "no port: plug the board in"
        ports.set_options([*((Content(port.words), port.url) for port in found), ("another: type its name", TYPED)])
        if found and (take_first or len(found) == 1):
            ports.value = found[0].url

    @on(Select.Changed)
    @on(Input.Changed)
    def fit_rows(self) -> None:
        """Only what matters for this drive and shaft is asked."""
        connected = self.has_class("-connected")
        form = self.texts
        shown = {"form": form.kind != "driver", "microsteps": form.kind == "driver"}
        shown["flag_on"] = form.gear.strip() not in ("", "1")
        shown["typed"] = self.query_one("#jog-port", Select).value == TYPED
        for name in ("port", "typed", *ROWS):
            self.query_one(f"#jog-row-{name}").display = not connected and shown.get(name, True)

    def show(
        self, *, connected: bool, wiring: Sequence[str] = (), cautions: Sequence[str] = (), unset: str = ""
    ) -> None:
        """The fields, or the wiring; the focus on what comes next. ``unset``: what to mind without a current set."""
        self.set_class(connected, "-connected")
        self._head()
        self.query_one("#jog-unset", Static).update(f"caution: {unset}")
        self.query_one("#jog-unset").display = bool(unset)
        self.query_one("#jog-wiring", Static).update("\n".join(wiring))
        self.query_one("#jog-wiring").display = connected
        self.query_one("#jog-drive-cautions", Static).update("\n".join(f"caution: {text}" for text in cautions))
        self.query_one("#jog-drive-cautions").display = bool(cautions)
        self.query_one("#jog-buttons").display = not connected
        for name in ("turn", "settings"):
            self.query_one(f"#jog-{name}").display = connected
        self.fit_rows()
        self.query_one("#jog-turn" if connected else "#jog-connect").focus(scroll_visible=False)

    def _head(self) -> None:
        """What is done here, and the key to what there is no room for."""
        text = "wire it, supply off" if self.has_class("-connected") else "prove it moves"
        self.query_one("#jog-heading", Static).update(f"{text}   PgDn: more" if self.max_scroll_y else text)

    def say(self, text: str, *, problem: bool = False) -> None:
        """A line or two under the form."""
        said = self.query_one("#jog-said", Static)
        said.update(text)
        said.set_class(problem, "-problem")
