"""Dialogs with a list to choose from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Button, OptionList, Static
from textual.widgets.option_list import Option

from coilbench.plain_text import inert
from coilbench.ui.steady import Dialog

if TYPE_CHECKING:
    from textual.binding import BindingType

A = TypeVar("A")


class PickDialog(Dialog[A | None]):
    """What every such dialog does: the list ``pick`` has the focus, and there is a way out; no answer is None."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape", "dismiss(None)", "never mind")]

    def on_mount(self) -> None:
        pick = self.query_one("#pick", OptionList)
        pick.highlighted = 0
        pick.focus()

    @on(Button.Pressed, "#no")
    def never_mind(self) -> None:
        self.dismiss(None)


def never_mind_button() -> Horizontal:
    """The way out of a dialog, in a row of its own."""
    return Horizontal(Button("never mind (esc)", id="no", compact=True), classes="dialog-buttons")


class PickOneDialog(PickDialog[int]):
    """Choose one of some lines; the answer is its place."""

    def __init__(self, title: str, note: str, lines: Sequence[str]) -> None:
        super().__init__()
        self._title, self._note, self._lines = title, note, lines

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static(self._title, classes="dialog-title", markup=False)
            if self._note:
                yield Static(self._note, classes="field-note", markup=False)
            yield OptionList(*(Option(Content(inert(line))) for line in self._lines), id="pick", compact=True)
            yield never_mind_button()

    @on(OptionList.OptionSelected)
    def picked(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(event.option_index)
