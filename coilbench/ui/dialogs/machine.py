"""A machine's dialogs: which file, and where to write."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Button, OptionList, Static
from textual.widgets.option_list import Option

from coilbench.errors import CoilbenchError
from coilbench.plain_text import inert
from coilbench.records.files import path_typed
from coilbench.stages.machine.work import EXAMPLE, NEW, MachineWork
from coilbench.ui.dialogs.pick import PickDialog, never_mind_button
from coilbench.ui.steady import Dialog
from coilbench.ui.widgets.field import Field

if TYPE_CHECKING:
    from textual.binding import BindingType


class FileField(Field):
    """The name of a file."""

    help_title, help_text = "file", "Its name, with the folder where that is another than the one you started in."


class PickMachineDialog(PickDialog[MachineWork]):
    """Machine files that were found, the example, a new one; the answer is the machine."""

    def __init__(self, files: Sequence[Path]) -> None:
        super().__init__()
        self.files = files

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static("which machine?", classes="dialog-title", markup=False)
            names = [*(inert(_shown(each)) for each in self.files), f"{EXAMPLE}: a greenhouse bench", NEW]
            yield OptionList(*(Option(Content(name)) for name in names), id="pick", compact=True)
            yield Static("another file, type it:", classes="field-note", markup=False)
            yield FileField(id="typed", compact=True, placeholder="e.g. greenhouse.toml")
            yield Static("", id="machine-problem", classes="-problem", markup=False)
            yield never_mind_button()

    @on(OptionList.OptionSelected)
    def picked(self, event: OptionList.OptionSelected) -> None:
        past = event.option_index - len(self.files)
        if past < 0:
            self._open(str(self.files[event.option_index]))
        else:
            self.dismiss(MachineWork() if past else MachineWork.example())

    @on(Field.Submitted)
    def typed(self, event: Field.Submitted) -> None:
        event.stop()
        if event.value.strip():
            self._open(event.value)

    def _open(self, name: str) -> None:
        try:
            work = MachineWork.opened(path_typed(name))
        except CoilbenchError as problem:
            self.query_one("#machine-problem", Static).update(str(problem))
            return
        self.dismiss(work)


def _shown(path: Path) -> str:
    """A file's name, with its folder where that isn't the one at work."""
    return path.name if path.parent == Path.cwd() else str(path)


class WriteFileDialog(Dialog[Path | None]):
    """Where to write something: it stays open until that is done. The answer is the file."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape", "dismiss(None)", "never mind")]

    def __init__(self, title: str, note: str, name: str, write: Callable[[Path], None]) -> None:
        super().__init__()
        self._title, self._note, self._name, self._write = title, note, name, write

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static(self._title, classes="dialog-title", markup=False)
            yield Static(self._note, classes="field-note", markup=False)
            yield FileField(self._name, id="typed", compact=True)
            yield Static("", id="machine-problem", classes="-problem", markup=False)
            with Horizontal(classes="dialog-buttons"):
                yield Button("write it (⏎)", id="yes", variant="primary", compact=True)
                yield Button("never mind (esc)", id="no", compact=True)

    def on_mount(self) -> None:
        self.query_one("#typed", FileField).take_over()

    @on(Field.Submitted)
    @on(Button.Pressed, "#yes")
    def write(self, event: Field.Submitted | Button.Pressed) -> None:
        event.stop()
        text = self.query_one("#typed", FileField).value.strip()
        if not text:
            return
        try:
            path = path_typed(text)
            self._write(path)
        except CoilbenchError as problem:
            self.query_one("#machine-problem", Static).update(str(problem))
            return
        self.dismiss(path)

    @on(Button.Pressed, "#no")
    def never_mind(self) -> None:
        self.dismiss(None)
