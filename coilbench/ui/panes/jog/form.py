"""The form of the jog stage: port, drive, shaft, who watches; then what to wire where, and what to see to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Button, Input, Select, Static

from coilbench.board.link.ports import PORT_TYPED, PortChoice
from coilbench.stages.jog.driving import Setup
from coilbench.stages.jog.setting import CHOICES, FIELDS, ROWS, asked_rows
from coilbench.ui.panes.base import Caution, in_sight
from coilbench.ui.widgets.field import Field

TYPED = ""  # the choice of a port whose name is typed

_FIELDS = {each.id: each for each in FIELDS}
_CHOICES = {each.id: each for each in CHOICES}


class JogField(Field):
    """A field of the jog stage, with its own help."""

    def __init__(self, name: str, help_text: str) -> None:
        super().__init__(id=f"jog-field-{name}", compact=True)
        self.help_title = name
        self.help_text = f"{help_text} F5 connects the board."


class JogForm(VerticalScroll):
    """Fields and buttons; the pane acts on them. Once a board is connected, the wiring takes the fields' place."""

    class Grown(Message):
        """There is more in the form than there is room for, or no longer."""

    _overflows = False

    def compose(self) -> ComposeResult:
        with Horizontal(classes="jog-row", id="jog-row-port"):
            yield Static("board", markup=False)
            yield Select[str]([], prompt="looking", id="jog-port", compact=True)
        with Horizontal(classes="jog-row", id="jog-row-typed"):
            yield Static("its name", markup=False)
            yield JogField("typed", PORT_TYPED)
        for name in ROWS:
            with Horizontal(classes="jog-row", id=f"jog-row-{name}"):
                if name in _FIELDS:
                    yield Static(_FIELDS[name].label, markup=False)
                    yield JogField(name, _FIELDS[name].help)
                else:
                    offered = _CHOICES[name].offered
                    yield Static(_CHOICES[name].label, markup=False)
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
        yield Caution(id="jog-mind")

    def on_mount(self) -> None:
        self.draw(Setup())
        self.watch(self, "virtual_size", self._more)
        self.watch(self, "size", self._more)

    @property
    def texts(self) -> dict[str, str]:
        """What stands in the form; no ``port`` while none is chosen."""
        texts = {name: self.query_one(f"#jog-field-{name}", JogField).value for name in _FIELDS}
        texts |= {name: str(self.query_one(f"#jog-choose-{name}", Select).value) for name in _CHOICES}
        url = self.query_one("#jog-port", Select).value
        if isinstance(url, str):
            texts["port"] = url or self.query_one("#jog-field-typed", JogField).value
        return texts

    def fill(self, texts: Mapping[str, str]) -> None:
        """Put texts and choices into the form."""
        for name in _FIELDS:
            self.query_one(f"#jog-field-{name}", JogField).put(texts[name])
        for name in _CHOICES:
            self.query_one(f"#jog-choose-{name}", Select).value = texts[name]

    def offer(self, found: Sequence[PortChoice], *, take_first: bool, usual: str = "") -> None:
        """Offer ports to choose from, likely ones first; the ``usual`` one is chosen where it is among them, else the
        only likely one."""
        ports = self.query_one("#jog-port", Select)
        ports.prompt = (
            "no board on USB: plug it in, or choose" if not any(port.is_likely for port in found) else "choose"
        )
        ports.set_options([*((Content(port.words), port.url) for port in found), ("another: type its name", TYPED)])
        if any(port.url == usual for port in found):
            ports.value = usual
        elif found and found[0].is_likely and (take_first or not any(port.is_likely for port in found[1:])):
            ports.value = found[0].url

    @on(Select.Changed)
    @on(Input.Changed)
    def fit_rows(self) -> None:
        """Only what matters for this drive and shaft is asked."""
        shown = {"port", *asked_rows(self.texts)}
        if self.query_one("#jog-port", Select).value == TYPED:
            shown.add("typed")
        connected = self.has_class("-connected")
        for name in ("port", "typed", *ROWS):
            self.query_one(f"#jog-row-{name}").display = not connected and name in shown

    def draw(self, setup: Setup) -> None:
        """The fields, or the wiring, and then the focus on nothing that moves."""
        connected = bool(setup.wiring)
        self.set_class(connected, "-connected")
        mind = self.query_one("#jog-mind", Caution)
        mind.put(setup.mind[0])
        mind.set_class(setup.mind[0] == setup.unset, "-unset")
        self.query_one("#jog-wiring", Static).update("\n".join(setup.wiring))
        self.query_one("#jog-wiring").display = connected
        self.query_one("#jog-buttons").display = not connected
        for name in ("turn", "settings"):
            self.query_one(f"#jog-{name}").display = connected
        self.fit_rows()
        if connected:
            self.focus(scroll_visible=False)
            return
        at = self.screen.focused
        if at is None or self not in at.ancestors or not in_sight(at):
            fields = [each for each in self.query(JogField) if in_sight(each)]
            empty = next((each for each in fields if not each.value), self.query_one("#jog-connect"))
            empty.focus(scroll_visible=False)

    def _more(self) -> None:
        """Say so when there begins or ends to be more than there is room for."""
        if self._overflows != bool(self.max_scroll_y):
            self._overflows = not self._overflows
            self.post_message(self.Grown())

    def put_said(self, text: str, *, problem: bool = False) -> None:
        """A line or two under the form."""
        said = self.query_one("#jog-said", Static)
        said.update(text)
        said.set_class(problem, "-problem")
