"""A stage that is a form, drawn: its fields one below the other, the answer as one types, Enter keeps it."""

from __future__ import annotations

from typing import Any, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import Button, Input, Static

from coilbench.errors import CoilbenchError, Fault, NotEnoughKnown
from coilbench.stages.form import Answer, Field, FormStage
from coilbench.stages.head import NOTHING, Head
from coilbench.stages.stage import Known
from coilbench.ui.panes.base import Caution, Said, StagePane
from coilbench.ui.widgets.field import Field as TextField

NOT_SAVED = "not saved yet: Enter saves"

F = TypeVar("F", bound=FormStage[Any])


class FormInput(TextField):
    """One field of a form, with its own help."""

    def __init__(self, stage_id: str, field: Field) -> None:
        hint = f"e.g. {field.hint}" if field.hint else ""
        super().__init__(id=f"{stage_id}-{field.id}", compact=True, placeholder=hint)
        self.field = field
        self.help_title = field.label
        self.help_text = f"{field.help} May stay empty. Enter saves."


class FormPane(StagePane[F]):
    """Draws any form; a stage that wants more derives its own pane."""

    DEFAULT_CSS = """
    FormPane VerticalScroll { height: 1fr; }
    FormPane .form-row { height: 1; }
    FormPane .form-label { width: 14; height: 1; color: $text-muted; }
    FormPane .form-row FormInput { width: 1fr; }
    """

    def compose(self) -> ComposeResult:
        with VerticalScroll(can_focus=False):
            yield from self.compose_fields()
            yield Said()
            yield Button("save (Enter)", id="form-keep", variant="primary", compact=True)
        if self.stage.CAUTION:
            yield Caution(self.stage.CAUTION)

    def __init__(self, stage: F) -> None:
        super().__init__(stage)
        self.shown_head = NOTHING
        self.unseen: dict[str, str] = {}  # texts of the fields that have no place on the screen

    def compose_fields(self) -> ComposeResult:
        """A row a field."""
        for field in self.stage.FIELDS:
            if field.shown:
                with Horizontal(classes="form-row"):
                    yield Static(field.label, classes="form-label", markup=False)
                    yield FormInput(self.stage.id, field)

    @property
    def texts(self) -> dict[str, str]:
        """What is typed, by field."""
        return {**self.unseen, **{each.field.id: each.value for each in self.query(FormInput)}}

    @property
    def is_unsaved(self) -> bool:
        """Whether something else stands in the fields than what is kept or known of the motor."""
        return self.stage.typed(self.texts) != self.stage.typed(self.stage.texts())

    def begin(self) -> None:
        super().begin()
        if unsaved := self.bench.unsaved.pop((self.desk.motor, self.stage.id), None):
            self.put_unsaved(unsaved)
            self.answer_typed()

    def leaving(self, *, onward: bool = False) -> str:
        unsaved = self.is_unsaved
        offered = onward and self.stage.OFFERS and self.stage.id not in self.desk.known
        if self.desk.read_only or not (unsaved or offered):
            return ""
        before = self.desk.motor
        try:
            left = self.stage.keep_valid(self.texts)
        except CoilbenchError as problem:
            if not unsaved:
                return ""
            self.bench.unsaved[before, self.stage.id] = self.texts
            return f"{self.stage.id}: not saved, it waits there: {problem}"
        if self.desk.motor != before:
            self.post_message(self.Renamed(before, self.desk.motor))
        if left:
            self.bench.unsaved[self.desk.motor, self.stage.id] = self.texts
            return f"{self.stage.id}: saved, but not {'; '.join(map(str, left))}"
        return f"{self.stage.id}: saved"

    def put_unsaved(self, texts: dict[str, str]) -> None:
        """Fill in again what was typed when the stage was left."""
        with self.prevent(Input.Changed):
            for each in self.query(FormInput):
                each.value = texts.get(each.field.id, "")
        self.unseen |= {name: text for name, text in texts.items() if name in self.unseen}

    def read_again(self) -> None:
        self.put_texts(self.stage.texts())
        self.say("")
        self.show_answer()

    def put_texts(self, texts: dict[str, str]) -> None:
        """Fill the fields in; what has none on the screen is kept beside them."""
        with self.prevent(Input.Changed):
            for each in self.query(FormInput):
                each.put(texts.pop(each.field.id, ""))
        self.unseen = texts

    @on(Input.Changed, "FormInput")
    def typing(self, event: Input.Changed) -> None:
        event.stop()
        self.answer_typed()

    def answer_typed(self) -> None:
        """Show what the texts come to, and that they aren't kept yet."""
        self.say("")
        self.show_answer()
        said = self.query_one(Said)
        if self.is_unsaved and not said.has_class("-problem"):
            self.say("\n".join(filter(None, (NOT_SAVED, str(said.content)))))

    def show_answer(self) -> None:
        """Work out what stands in the fields, and show it or why it can't be."""
        self.answered()

    def answered(self) -> Any:
        """Work the fields out, and have the head say it; None where they can't be, and that said."""
        answer: Answer | None = None
        try:
            answer = self.stage.answer(self.texts)
        except CoilbenchError as problem:
            self.shown_head = self.stage.asking(problem)
            if not isinstance(problem, NotEnoughKnown | Fault):  # of these the head tells
                self.say(str(problem), problem=True)
        else:
            self.shown_head = self.stage.head_of(answer)
        self.post_message(self.HeadChanged())
        return answer

    @property
    def head(self) -> Head:
        return self.shown_head

    @on(Input.Submitted, "FormInput")
    @on(Button.Pressed, "#form-keep")
    def entered(self, event: Input.Submitted | Button.Pressed) -> None:
        event.stop()
        self.keep()

    def enter(self) -> str:
        self.keep()
        return ""

    def keep(self) -> None:
        """Keep what stands in the fields."""
        before = self.desk.motor
        try:
            self.stage.keep(self.texts)
        except CoilbenchError as problem:
            self.say(str(problem), problem=True)
            return
        if self.desk.motor != before:
            self.post_message(self.Renamed(before, self.desk.motor))
        self.say("saved; F3 goes on")
        self.facts_changed()

    def known(self) -> list[Known]:
        try:
            return [*self.stage.answer(self.texts).known] or super().known()
        except CoilbenchError:
            return super().known()
