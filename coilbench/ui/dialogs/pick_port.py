"""Choose the port the helper board is on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from coilbench.board.link.ports import PORT_TYPED
from coilbench.plain_text import inert
from coilbench.ui.steady import Dialog
from coilbench.ui.widgets.field import Field

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.board.link.ports import PortChoice


class PortField(Field):
    """The name of a port that isn't listed."""

    help_title, help_text = "port", PORT_TYPED


class PickPortDialog(Dialog[str | None]):
    """A list of ports; the answer is the chosen one's URL."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape", "dismiss(None)", "never mind")]

    def __init__(self, ports: Sequence[PortChoice], title: str = "which port is the helper board on?") -> None:
        super().__init__()
        self.ports, self._title = ports, title

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static(self._title, classes="dialog-title", markup=False)
            if self.ports:
                yield OptionList(*(Option(Content(inert(port.words))) for port in self.ports), id="pick")
            yield Static("another, type it:" if self.ports else "none found: plug it in, or type it:", markup=False)
            yield PortField(id="typed", compact=True, placeholder="/dev/pts/3 or socket://HOST:NUMBER")
            yield Static("Tab, Enter, or a click; Escape: never mind", classes="field-note", markup=False)

    def on_mount(self) -> None:
        likely = bool(self.ports) and self.ports[0].is_likely
        self.query_one("#pick" if likely else "#typed").focus()  # Enter takes no port that is likely none

    @on(Field.Submitted)
    def typed(self, event: Field.Submitted) -> None:
        event.stop()
        if event.value.strip():
            self.dismiss(event.value.strip())

    @on(OptionList.OptionSelected)
    def picked(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(self.ports[event.option_index].url)
