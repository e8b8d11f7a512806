"""A few fields about a motor: what is noted of it, what is split off it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Button, Input, Static

from coilbench.errors import CoilbenchError
from coilbench.ui.steady import Dialog
from coilbench.ui.widgets.field import Field

if TYPE_CHECKING:
    from textual.binding import BindingType


@dataclass(frozen=True, slots=True)
class Asked:
    """A field: its name, what stands before it, an example, what it says now, its help."""

    id: str
    label: str
    hint: str
    text: str = ""
    help: str = ""


class AskedField(Field):
    """One of them."""

    def __init__(self, asked: Asked) -> None:
        super().__init__(asked.text, id=f"asked-{asked.id}", compact=True, placeholder=f"e.g. {asked.hint}")
        self.asked = asked
        self.help_title, self.help_text = asked.label, asked.help


class BinForm(Dialog[bool]):
    """The fields; Enter in the last one, or the button, does it. It stays open until that is done; the answer is
    whether it was."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape", "dismiss(False)", "never mind")]

    def __init__(
        self, title: str, note: str, fields: Sequence[Asked], act: str, do: Callable[[dict[str, str]], object]
    ) -> None:
        super().__init__()
        self._title, self._note, self._fields, self._act, self._do = title, note, fields, act, do

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static(self._title, classes="dialog-title", markup=False)
            if self._note:
                yield Static(self._note, classes="field-note", markup=False)
            for each in self._fields:
                with Horizontal(classes="own-row"):
                    yield Static(each.label, classes="own-label", markup=False)
                    yield AskedField(each)
            yield Static("", id="bin-problem", classes="-problem", markup=False)
            with Horizontal(classes="dialog-buttons"):
                yield Button(f"{self._act} (⏎)", id="yes", variant="primary", compact=True)
                yield Button("never mind (esc)", id="no", compact=True)

    def on_mount(self) -> None:
        self.query(AskedField).first().take_over()

    @property
    def _texts(self) -> dict[str, str]:
        return {each.asked.id: each.value for each in self.query(AskedField)}

    @property
    def unsaved_place(self) -> str:
        typed = any(self._texts.get(each.id, each.text) != each.text for each in self._fields)
        return self._title if typed else ""

    @on(Input.Submitted)
    def next_or_do(self, event: Input.Submitted) -> None:
        event.stop()
        fields = list(self.query(AskedField))
        at = fields.index(event.input)  # type: ignore[arg-type]
        if at + 1 < len(fields):
            fields[at + 1].take_over()
        else:
            self.do()

    @on(Button.Pressed, "#yes")
    def do(self) -> None:
        try:
            self._do(self._texts)
        except CoilbenchError as problem:
            self.query_one("#bin-problem", Static).update(str(problem))
            return
        self.dismiss(True)

    @on(Button.Pressed, "#no")
    def never_mind(self) -> None:
        self.dismiss(False)
