"""Name a motor and type its leads."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Button, Input, Static

from coilbench.errors import CoilbenchError
from coilbench.stages.leads import begin_motor, leads_read, next_name
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.steady import Dialog
from coilbench.ui.widgets.field import Field

if TYPE_CHECKING:
    from textual.binding import BindingType


class NameInput(Field):
    HELP_TITLE = "the motor's name"
    HELP = "Any name that you will find again: write the same on a piece of tape round the motor."


class LeadsInput(Field):
    HELP_TITLE = "the leads"
    HELP = (
        "The colours of the loose leads, in any order: RD BU WH BK, or red, blue, white, black. A striped lead is "
        "RD/WH. No colours, or a plug: type how many, 6, and count them from one end. Two leads of one colour "
        "get a number each; mark them with tape."
    )


class AddMotorDialog(Dialog[str | None]):
    """Two fields; the leads are read back while they are typed."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape", "dismiss(None)", "never mind")]

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static("add a motor", classes="dialog-title", markup=False)
            yield Static("its name, as on the tape round it", classes="field-note", markup=False)
            yield NameInput(id="name")
            yield Static("its leads: RD BU WH BK, or red, blue, or just 6", classes="field-note", markup=False)
            yield LeadsInput(id="leads")
            yield Static("", id="leads-read", classes="dialog-text", markup=False)
            with Horizontal(classes="dialog-buttons"):
                yield Button("add it", id="yes", variant="primary")
                yield Button("never mind (esc)", id="no")

    @property
    def unsaved_place(self) -> str:
        return "a new motor" if any(each.value.strip() for each in self.query(LeadsInput)) else ""

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    def on_mount(self) -> None:
        names = [motor.name for motor in self.bench.bin.motors()]
        name = self.query_one("#name", Input)
        name.value = next_name(names)
        name.select_all()  # whoever goes there types another over it
        self.query_one("#leads").focus()  # the first field that is empty

    @on(Input.Changed, "#leads")
    def read_back(self) -> None:
        text = self.query_one("#leads", Input).value
        note = self.query_one("#leads-read", Static)
        note.remove_class("-problem")
        if not text.strip():
            note.update("")
            return
        try:
            note.update(leads_read(text))
        except CoilbenchError as error:
            note.update(str(error))

    @on(Input.Submitted, "#name")
    def named(self) -> None:
        self.query_one("#leads").focus()

    @on(Input.Submitted, "#leads")
    @on(Button.Pressed, "#yes")
    def add(self) -> None:
        note = self.query_one("#leads-read", Static)
        name = self.query_one("#name", Input).value
        leads = self.query_one("#leads", Input)
        if not leads.value.strip():
            note.update("type the leads first: their colours, or how many there are")
            note.add_class("-problem")
            leads.focus()
            return
        try:
            added = begin_motor(self.bench.bin, name, leads.value)
        except CoilbenchError as error:
            note.update(str(error))
            note.add_class("-problem")
            return
        self.dismiss(added)  # in the form the bin keeps

    @on(Button.Pressed, "#no")
    def never_mind(self) -> None:
        self.dismiss(None)
