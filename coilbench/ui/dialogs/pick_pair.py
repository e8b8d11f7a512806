"""Pick a pair of leads oneself: first one probe, then the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from coilbench.stages.windings.stage import ProbePlace
from coilbench.ui.leads import lead_content
from coilbench.ui.steady import Dialog

if TYPE_CHECKING:
    from textual.binding import BindingType


class PickPairDialog(Dialog[tuple[str, str] | None]):
    """Two lists, one after the other; the frame and the probes' own tips can be picked too."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape", "dismiss(None)", "never mind")]

    def __init__(self, places: Callable[[str | None], Sequence[ProbePlace]]) -> None:
        """``places`` gives where the other probe can be put when the first is on a place, or the first itself."""
        super().__init__()
        self.places = places
        self.first: str | None = None
        self._offered: Sequence[ProbePlace] = ()

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static("", id="pick-title", classes="dialog-title", markup=False)
            yield OptionList(id="pick")
            yield Static("up, down and Enter, or a click; Escape: never mind", classes="field-note", markup=False)

    def on_mount(self) -> None:
        self.offer(self.places(None), "one probe on")

    def offer(self, places: Sequence[ProbePlace], title: str) -> None:
        """Show what can be picked."""
        self._offered = places
        self.query_one("#pick-title", Static).update(title)
        pick = self.query_one("#pick", OptionList)
        pick.clear_options()
        for place in places:
            words = "both probes held together" if place.whole else lead_content(place.name)
            pick.add_option(Option(words))
        pick.highlighted = 0
        pick.focus()

    @on(OptionList.OptionSelected)
    def picked(self, event: OptionList.OptionSelected) -> None:
        place = self._offered[event.option_index]
        if self.first is None and not place.whole:
            self.first = place.name
            self.offer(self.places(place.name), f"one on {place.name}, the other on")
        else:
            self.dismiss((self.first or place.name, place.name))
