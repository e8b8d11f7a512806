"""Tell of one thing at the bench, or tell other things of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Button, Input, Static

from coilbench.errors import CoilbenchError
from coilbench.records.saved.own import Own
from coilbench.stages.bench import NAME, Kind, OwnThings
from coilbench.stages.form import Field
from coilbench.ui.steady import Dialog
from coilbench.ui.widgets.field import Field as TextField

if TYPE_CHECKING:
    from textual.binding import BindingType


class OwnField(TextField):
    """One thing that is told."""

    def __init__(self, field: Field) -> None:
        super().__init__(id=f"own-{field.id}", compact=True, placeholder=f"e.g. {field.hint}")
        self.field = field
        self.help_title, self.help_text = field.label, field.help


class OwnThingDialog(Dialog[Own | None]):
    """Its fields; Enter keeps it. The answer is the thing as it is kept."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape", "dismiss(None)", "never mind")]

    def __init__(self, things: OwnThings, kind: Kind, thing: Own | None = None) -> None:
        super().__init__()
        self._things, self._kind, self._thing = things, kind, thing

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            title = (
                f"a {self._kind.label} of mine" if self._thing is None else f"{self._kind.label}: {self._thing.name}"
            )
            yield Static(title, classes="dialog-title", markup=False)
            for field in (*self._kind.fields, NAME):
                with Horizontal(classes="own-row"):
                    yield Static(field.label, classes="own-label", markup=False)
                    yield OwnField(field)
            yield Static("", id="own-problem", classes="-problem", markup=False)
            with Horizontal(classes="dialog-buttons"):
                yield Button("keep it (⏎)", id="yes", variant="primary", compact=True)
                yield Button("never mind (esc)", id="no", compact=True)

    def on_mount(self) -> None:
        texts = {} if self._thing is None else self._kind.texts(self._thing)
        for each in self.query(OwnField):
            each.value = texts.get(each.field.id, "")
        self.query(OwnField).first().focus()

    @property
    def _texts(self) -> dict[str, str]:
        return {each.field.id: each.value for each in self.query(OwnField)}

    @property
    def unsaved_place(self) -> str:
        before = {} if self._thing is None else self._kind.texts(self._thing)
        typed = any(text.strip() != before.get(field, "") for field, text in self._texts.items())
        return "my bench" if typed else ""

    @on(Input.Submitted)
    @on(Button.Pressed, "#yes")
    def keep(self, event: Input.Submitted | Button.Pressed) -> None:
        event.stop()
        try:
            if self._thing is None:
                kept = self._things.add(self._kind, self._texts)
            else:
                kept = self._things.change(self._kind, self._thing.name, self._texts)
        except CoilbenchError as problem:
            self.query_one("#own-problem", Static).update(str(problem))
            return
        self.dismiss(kept)

    @on(Button.Pressed, "#no")
    def never_mind(self) -> None:
        self.dismiss(None)
