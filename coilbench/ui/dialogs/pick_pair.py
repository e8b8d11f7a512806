"""Pick a pair of leads oneself: first one probe, then the other."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from coilbench.ui.leads import lead_content
from coilbench.winding.readings.reading import FRAME, PROBES

if TYPE_CHECKING:
    from textual.binding import BindingType


class PickPairDialog(ModalScreen[tuple[str, str] | None]):
    """Two lists, one after the other; the frame and the probes' own tips can be picked too."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape", "dismiss(None)", "never mind")]

    def __init__(self, leads: tuple[str, ...]) -> None:
        super().__init__()
        self.leads = leads
        self.first: str | None = None
        self._offered: list[str] = []

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static("", id="pick-title", classes="dialog-title", markup=False)
            yield OptionList(id="pick")
            yield Static("up, down and Enter, or a click; Escape: never mind", classes="field-note", markup=False)

    def on_mount(self) -> None:
        self.offer([*self.leads, PROBES], "one probe on")

    def offer(self, names: list[str], title: str) -> None:
        """Show what can be picked."""
        self._offered = names
        self.query_one("#pick-title", Static).update(title)
        pick = self.query_one("#pick", OptionList)
        pick.clear_options()
        for name in names:
            words = "both probes held together" if name == PROBES else lead_content(name)
            pick.add_option(Option(words))
        pick.highlighted = 0
        pick.focus()

    @on(OptionList.OptionSelected)
    def picked(self, event: OptionList.OptionSelected) -> None:
        name = self._offered[event.option_index]
        if name == PROBES:
            self.dismiss((PROBES, PROBES))
        elif self.first is None:
            self.first = name
            self.offer([*(lead for lead in self.leads if lead != name), FRAME], f"one on {name}, the other on")
        else:
            self.dismiss((self.first, name))
