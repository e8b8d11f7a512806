"""The ratings stage, drawn: three small forms, the answer above them, the clock of a temperature-rise test."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Button, Input, Static

from coilbench.errors import CoilbenchError
from coilbench.stages.head import Head
from coilbench.stages.ratings.answer import RatingsAnswer
from coilbench.stages.ratings.stage import RatingsStage
from coilbench.ui.actions import bindings_for
from coilbench.ui.panes.base import Caution, Said
from coilbench.ui.panes.form import FormInput, FormPane
from coilbench.ui.panes.ratings.soak import SoakClock
from coilbench.ui.widgets.field import Field

if TYPE_CHECKING:
    from textual.binding import BindingType


class RatingsPane(FormPane[RatingsStage]):
    """Three small forms; the answer grows as they are filled, Enter saves."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("ratings")

    def __init__(self, stage: RatingsStage) -> None:
        super().__init__(stage)
        self.form = stage.FORMS[0].id
        self.answer: RatingsAnswer | None = None
        self.filled: dict[str, str] = {}  # the fields as they were last filled in

    def compose(self) -> ComposeResult:
        with Horizontal(id="ratings-forms"):
            for form in self.stage.FORMS:
                yield Button(form.title, id=f"form-{form.id}", compact=True)
        with VerticalScroll(id="ratings-scroll", can_focus=False):
            for form in self.stage.FORMS:
                with Vertical(id=f"ratings-{form.id}", classes="ratings-form"):
                    for field in map(self.stage.field, form.fields):
                        with Horizontal(classes="ratings-row"):
                            yield Static(field.label, classes="ratings-label", markup=False)
                            yield FormInput(self.stage.id, field)
                    if form.id == "soak":
                        yield SoakClock()
                    yield Static(form.says, classes="field-note", markup=False)
            yield Button("save (Enter)", id="form-keep", variant="primary", compact=True)
            yield Said()
        for form in self.stage.FORMS:
            yield Caution(form.caution, id=f"caution-{form.id}")

    def begin(self) -> None:
        super().begin()
        self._go_to(self.form)

    @property
    def fields(self) -> list[Field]:
        """Those of the form that is shown."""
        return list(self.query(f"#ratings-{self.form} FormInput").results(FormInput))

    # What stands in the fields

    def put_texts(self, texts: dict[str, str]) -> None:
        """Fill in what is new; a field in which something was typed since is left as it is."""
        now = self.texts
        touched = {name: text for name, text in now.items() if text != self.filled.get(name, "")}
        self.filled = dict(texts)
        super().put_texts({**texts, **touched})

    def read_again(self) -> None:
        super().read_again()
        self.query_one(SoakClock).put_running(self.stage.second_since_off is not None)

    def changed_elsewhere(self) -> None:
        self.read_again()

    def leaving(self, *, onward: bool = False) -> str:
        self.stage.keep_entries(self.texts)
        return super().leaving(onward=onward)

    def show_answer(self) -> None:
        """Work the fields out and show it, or what is wrong with them."""
        self.answer = self.answered()
        if self.answer is not None and self.form == "spin":
            self.say("\n".join(self.answer.spin_lines))

    @property
    def head(self) -> Head:
        """That of the form which is shown."""
        return super().head if self.answer is None else self.answer.head_of_form(self.form)

    # The forms

    def _go_to(self, form_id: str) -> None:
        self.form = form_id
        for form in self.stage.FORMS:
            self.query_one(f"#ratings-{form.id}").set_class(form.id != form_id, "-away")
            self.query_one(f"#caution-{form.id}").set_class(form.id != form_id, "-away")
            self.query_one(f"#form-{form.id}").set_class(form.id == form_id, "-present")
        self.show_answer()

    def _turn_to(self, form_id: str) -> None:
        self._go_to(form_id)
        self.focus_first()
        self.refresh_bindings()

    def action_ratings_size(self) -> None:
        self._turn_to("size")

    def action_ratings_soak(self) -> None:
        self._turn_to("soak")

    def action_ratings_spin(self) -> None:
        self._turn_to("spin")

    @on(Button.Pressed, "#ratings-forms Button")
    def form_clicked(self, event: Button.Pressed) -> None:
        event.stop()
        self._turn_to((event.button.id or "").removeprefix("form-"))

    # The temperature-rise test: its entries are kept one by one

    @on(Input.Blurred, "FormInput")
    def keep_entries(self) -> None:
        if self.stage.keep_entries(self.texts):
            self._kept()

    @on(SoakClock.Off)
    def switched_off(self) -> None:
        self.keep_entries()
        self.stage.switch_off()
        self._kept()

    @on(SoakClock.Read)
    def reading_now(self, event: SoakClock.Read) -> None:
        self.keep_entries()
        try:
            self.stage.cool(event.text)
        except CoilbenchError as problem:
            self.say(str(problem), problem=True)
            return
        self.query_one(SoakClock).clear()
        self._kept()

    def _kept(self) -> None:
        self.read_again()
        self.facts_changed()

    @on(Button.Pressed, "#soak-undo")
    def undo_clicked(self) -> None:
        self.undo()

    def keep(self) -> None:
        self.keep_entries()
        try:
            self.stage.keep(self.texts)
        except CoilbenchError as problem:
            self.say(str(problem), problem=True)
            return
        self._kept()
        self.say("saved; F3 goes on")
