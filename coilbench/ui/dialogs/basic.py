"""Small dialogs: a question to confirm, a problem with its remedy, a text to read and copy."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Button, Static

from coilbench.errors import CoilbenchError, as_started
from coilbench.ui.steady import Dialog

if TYPE_CHECKING:
    from textual.binding import BindingType


SENT = "sent to the terminal's clipboard"  # which not every terminal takes


class ConfirmDialog(Dialog[bool]):
    """Ask before something that can't be taken back; the harmless answer has the focus."""

    BINDINGS: ClassVar[list[BindingType]] = [
        ("escape", "dismiss(False)", "keep it"),
        ("n", "dismiss(False)", "no"),
        ("y", "dismiss(True)", "yes"),
    ]

    def __init__(self, title: str, text: str, yes: str, no: str = "keep it") -> None:
        super().__init__()
        self._title, self._text, self._yes, self._no = title, text, yes, no

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static(self._title, classes="dialog-title", markup=False)
            yield Static(self._text, classes="dialog-text", markup=False)
            with Horizontal(classes="dialog-buttons"):
                yield Button(self._no, id="no", variant="primary")
                yield Button(self._yes, id="yes", variant="error")

    def on_mount(self) -> None:
        self.query_one("#no").focus()

    @on(Button.Pressed)
    def answer(self, event: Button.Pressed) -> None:
        self.dismiss(event.button.id == "yes")


class TextDialog(Dialog[bool]):
    """A text to read; it can be selected with the mouse, or copied whole by one key.

    ``act`` is the label of one more button; the dialog's answer is whether that was pressed.
    """

    BINDINGS: ClassVar[list[BindingType]] = [("escape,enter,q", "close", "close"), ("c", "copy", "copy")]

    def __init__(self, title: str, text: str, act: str = "") -> None:
        super().__init__()
        self.title_text, self.text, self._act = title, text, act

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static(self.title_text, classes="dialog-title", markup=False)
            with VerticalScroll(classes="dialog-scroll"):
                yield Static(self.text, classes="dialog-text", markup=False)
            with Horizontal(classes="dialog-buttons"):
                yield Button("copy (c)", id="copy", compact=True)
                if self._act:
                    yield Button(self._act, id="act", variant="warning", compact=True)
                yield Button("close (esc)", id="close", variant="primary", compact=True)

    def on_mount(self) -> None:
        self.query(VerticalScroll).focus()  # none is left where it was closed at once

    @on(Button.Pressed, "#copy")
    def action_copy(self) -> None:
        self.app.copy_to_clipboard(f"{self.title_text}\n{self.text}")
        for button in self.query("#copy").results(Button):  # none is left where it was closed at once
            button.label = SENT

    @on(Button.Pressed, "#act")
    def do_act(self) -> None:
        self.dismiss(True)

    @on(Button.Pressed, "#close")
    def action_close(self) -> None:
        self.dismiss(False)


class ProblemDialog(TextDialog):
    """An error as title, what happened, what to do."""

    def __init__(self, error: CoilbenchError, act: str = "") -> None:
        happened = error.happened[:1].upper() + error.happened[1:]
        remedy = f"\n\nWhat to do: {as_started(error.remedy)}" if error.remedy else ""
        super().__init__(error.title, f"{happened}{remedy}", act)


class FaultDialog(ProblemDialog):
    """A fault of the program itself."""
