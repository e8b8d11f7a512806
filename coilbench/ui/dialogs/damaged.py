"""A bin that is damaged: what is whole in it is saved first, then it is set aside."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Button, Static

from coilbench.errors import as_started
from coilbench.ui.dialogs.basic import ProblemDialog, TextDialog

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.records.problems import BinDamaged


class DamagedDialog(ProblemDialog):
    """The answer is whether it is to be set aside; saving leaves the question open."""

    BINDINGS: ClassVar[list[BindingType]] = [("s", "save", "save what is whole")]

    def __init__(self, problem: BinDamaged) -> None:
        super().__init__(problem)
        self._path = problem.path

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static(self.title_text, classes="dialog-title", markup=False)
            with VerticalScroll(classes="dialog-scroll -with-acts"):
                yield Static(self.text, classes="dialog-text", markup=False)
            with Horizontal(classes="dialog-buttons"):
                yield Button("copy (c)", id="copy", compact=True)
                yield Button("save what is whole (s)", id="save", variant="primary", compact=True)
            with Horizontal(classes="dialog-buttons"):
                yield Button("set it aside, begin an empty bin", id="act", variant="warning", compact=True)
                yield Button("close (esc)", id="close", compact=True)

    @on(Button.Pressed, "#save")
    def action_save(self) -> None:
        from coilbench.stages.bin.rescuing import save_whole, told
        from coilbench.ui.dialogs.machine import WriteFileDialog

        said: list[str] = []

        def write(path: Path) -> None:
            said.append(told(save_whole(self._path, path), path))

        def written(path: Path | None) -> None:
            if path is not None:
                self.app.push_screen(TextDialog("what is whole is saved", as_started(said[-1])))

        note = "every motor that is whole, as an export; the damaged file stays as it is"
        name = self._path.with_name(f"{self._path.stem}.whole.json")
        self.app.push_screen(WriteFileDialog("save what is whole", note, str(name), write), written)
