"""The driver stage, drawn: which chip, its sense resistor, the supply; what to set and what to do."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import Button, Input, Select, Static

from coilbench.errors import CoilbenchError
from coilbench.stages.driver.answer import DriverAnswer
from coilbench.stages.driver.chips import chip_called, marking, unused_fields
from coilbench.stages.driver.fields import FULL_STEP
from coilbench.stages.driver.stage import DriverStage
from coilbench.stages.form import Field
from coilbench.stages.motor import hooked_up
from coilbench.stages.stage import Known
from coilbench.ui.actions import bindings_for
from coilbench.ui.dialogs.to_do import ToDoDialog
from coilbench.ui.drawing import picture_of
from coilbench.ui.panes.base import Caution, Said
from coilbench.ui.panes.driver_live import follow_trimmer
from coilbench.ui.panes.form import FormInput, FormPane

if TYPE_CHECKING:
    from textual.binding import BindingType

SUPPLIES = ("12 V", "24 V")  # common practice at a bench: computer supplies and bricks
WORK_IT_OUT = "fill in what is missing; Enter works it out and saves"
_SEEN = 3  # buttons with markings seen on boards of a chip


class DriverPane(FormPane[DriverStage]):
    """A short form; Enter anywhere works the setting out and keeps it."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("driver")
    HELP_TITLE = "driver"
    HELP = (
        "Choose the chip that is printed on the driver, read the marking of its sense resistors (R100 is 0.1 ohm), "
        "and say what supply it gets. The current comes from the connection or ratings; type another to change it. "
        "To learn what a measured reference voltage means, type it into 'measured'. A driver that doesn't chop asks "
        "for the resistors fitted and what is in its clamp's lead instead. A heat sink counts: say yes, or its K/W. "
        "F6 has a helper board watch the trimmer and tell which way to turn."
    )

    def __init__(self, stage: DriverStage) -> None:
        super().__init__(stage)
        self.answer: DriverAnswer | None = None

    def compose(self) -> ComposeResult:
        yield from self.compose_fields()
        with Horizontal(classes="form-row"):
            yield Button("work out", id="driver-set", variant="primary", compact=True)
            yield Button("to do (F5)", id="driver-steps-button", compact=True)
        yield Said()
        with VerticalScroll(id="driver-result"):
            yield Static("", id="driver-to-do", markup=False)
        yield Caution(self.stage.CAUTION)

    def compose_row(self, field: Field) -> ComposeResult:
        if field.id == "chip":
            yield FormInput(self.stage.id, field)
            yield Select[str](self._chips(), prompt="list", id="driver-chips", compact=True)
        elif field.id == "steps":
            yield Select[str]([("full step", FULL_STEP)], prompt="finest", id="driver-steps", compact=True)
        else:
            yield FormInput(self.stage.id, field)
        if field.id == "supply":
            for text in SUPPLIES:
                yield Button(text, id=f"supply-{text.split()[0]}", compact=True)

    def compose_fields(self) -> ComposeResult:
        for field in self.stage.FIELDS:
            if field.shown:
                with Horizontal(classes="form-row", id=f"driver-row-{field.id}"):
                    yield Static(field.label, classes="form-label", markup=False)
                    yield from self.compose_row(field)
            if field.id == "sense":
                with Horizontal(classes="form-row", id="driver-seen"):
                    for place in range(_SEEN):
                        yield Button("", id=f"seen-{place}", compact=True)

    def _chips(self) -> list[tuple[str, str]]:
        try:
            chips = self.stage.chips()
        except CoilbenchError as problem:
            self.app.call_later(self.bench.show_problem, problem)
            chips = self.stage.chips_of_the_table()
        return [(chip.chip + ("" if chip.status != "memory" else " ?"), chip.chip) for chip in chips]

    # What is typed

    @property
    def chosen_chip(self) -> str:
        """The name of the chip typed, as the table has it; empty for one that isn't there."""
        chip = chip_called(self.query_one("#driver-chip", FormInput).value)
        return "" if chip is None else chip.chip

    @property
    def texts(self) -> dict[str, str]:
        steps = self.query_one("#driver-steps", Select).value
        # One set by its gain alone stands in no list; it is kept until another is chosen.
        chip = {"chip": self.chosen_chip, "gain": ""} if self.chosen_chip else {}
        typed = {**super().texts, **chip, "steps": steps if isinstance(steps, str) else ""}
        return typed | dict.fromkeys(unused_fields(self.chosen_chip), "")

    def read_again(self) -> None:
        texts = self.stage.texts()
        chip = chip_called(texts["chip"])
        self._choose(texts["chip"], texts.pop("steps"))
        self.put_texts(texts)
        self.say("")
        if self.stage.id in self.desk.known or self.stage.warning():
            self.show_answer()
        else:
            self.shown_head = self.stage.asking()
            self._show(None)
            self.say("choose the chip on your driver board" if chip is None else WORK_IT_OUT)

    def put_unsaved(self, texts: dict[str, str]) -> None:
        self._choose(texts["chip"], texts["steps"])
        super().put_unsaved(texts)

    def _choose(self, name: str, steps: str) -> None:
        chip = chip_called(name)
        with self.prevent(Input.Changed):
            self.query_one("#driver-chip", FormInput).put(name if chip is None else chip.chip)
        self._offer_steps(steps)
        self._offer_senses()
        self._offer_rows()

    @on(Input.Changed, "#driver-chip")
    def chip_typed(self) -> None:
        """What the chip asks for is offered at once."""
        self._offer_senses()
        self._offer_steps("")
        self._offer_rows()

    @on(Select.Changed, "#driver-chips")
    def chip_chosen(self, event: Select.Changed) -> None:
        if not isinstance(event.value, str):
            return
        with self.prevent(Select.Changed):
            event.select.clear()
        self._choose(event.value, "")
        self._take_chip()

    @on(Input.Submitted, "#driver-chip")
    def chip_entered(self, event: Input.Submitted) -> None:
        event.stop()
        event.prevent_default()  # which keeps the whole
        if self.chosen_chip:
            self._choose(self.chosen_chip, "")
        self._take_chip()

    def _take_chip(self) -> None:
        """Work it out with what the bench knows of such a driver, or on to the sense resistor's marking, which is
        never guessed."""
        if self.chosen_chip:
            texts = self.stage.with_chip(self.texts, self.chosen_chip)
            texts.pop("steps", None)
            self.put_texts(texts)
        sense = self.query_one("#driver-sense", FormInput)
        if self.chosen_chip and not sense.value and self._senses():
            self.show_answer()
            self.say(WORK_IT_OUT)
            sense.focus()
        else:
            self.keep()

    @on(Select.Changed, "#driver-steps")
    def steps_chosen(self) -> None:
        self.keep()

    @on(Button.Pressed)
    def clicked(self, event: Button.Pressed) -> None:
        event.stop()
        button = event.button.id or ""
        if button == "driver-steps-button":
            self.action_driver_steps()
            return
        if button.startswith("seen-"):
            self.query_one("#driver-sense", FormInput).value = str(event.button.label)
        if button.startswith("supply-"):
            self.query_one("#driver-supply", FormInput).value = str(event.button.label)
        self.keep()

    # What comes of it

    def show_answer(self) -> None:
        """Work the fields out and show it, or why they can't be."""
        self.say("")
        answer = self.answered()
        if answer is not None:
            self.say("" if answer.can_be_set else "not kept with the motor: it says stop")
        self._show(answer)

    def keep(self) -> None:
        self.show_answer()
        if not self.can_be_set or self.desk.read_only:
            return
        self.stage.keep(self.texts)
        self.facts_changed()

    def _show(self, answer: DriverAnswer | None) -> None:
        self.answer = answer
        heading, lines = answer.to_do if answer is not None else ("", [])
        self.query_one("#driver-to-do", Static).update("\n".join([heading, *lines]))
        self.query_one("#driver-steps-button").display = self.can_be_set
        self.query_one("#driver-result").scroll_home(animate=False)
        # Where the list of what is to do stands open, each caution stands with its step.
        self.query_one(Caution).display = not (self.screen.has_class("-tall") and self.can_be_set)
        self.facts_changed(picture_of(hooked_up(self.desk.known), ascii=self.bench.plain_characters))

    @property
    def can_be_set(self) -> bool:
        """Whether a setting is worked out and nothing says stop."""
        return self.answer is not None and self.answer.can_be_set

    def action_driver_steps(self) -> None:
        """What to do, to tick and to copy."""
        if self.answer is not None:
            title = f"{self.desk.motor}: setting the {self.answer.chip}"
            done = self.bench.done.setdefault(self.desk.motor, set())
            self.app.push_screen(ToDoDialog(title, self.answer.tasks, done, self.stage.warning()))

    def action_driver_live(self) -> None:
        """Follow the trimmer by the helper board."""
        if self.answer is not None and self.can_be_set:
            follow_trimmer(self, self.stage, self.answer)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return self.can_be_set if action in ("driver_steps", "driver_live") else True

    def known(self) -> list[Known]:
        return list(self.answer.known) if self.answer is not None else self.stage.known_before()

    # Markings and microsteps that the chip offers

    def _senses(self) -> tuple[float, ...]:
        chip = chip_called(self.chosen_chip)
        return chip.carrier_sense_ohm[:_SEEN] if chip is not None and chip.needs_sense else ()

    def _offer_senses(self) -> None:
        """Buttons with the markings seen on boards of this chip; which one it is, the person reads off theirs."""
        senses = self._senses()
        self.query_one("#driver-seen").display = bool(senses)
        for place in range(_SEEN):
            button = self.query_one(f"#seen-{place}", Button)
            button.display = place < len(senses)
            if button.display:
                button.label = marking(senses[place])

    def _offer_rows(self) -> None:
        """The fields that mean something to this chip."""
        unused = unused_fields(self.chosen_chip) if self.chosen_chip else frozenset(("series", "clamp"))
        for field in self.stage.FIELDS:
            if field.shown:
                self.query_one(f"#driver-row-{field.id}").display = field.id not in unused

    def _offer_steps(self, chosen: str) -> None:
        chip = chip_called(self.chosen_chip)
        steps = self.query_one("#driver-steps", Select)
        finer = [str(each) for each in (chip.microsteps if chip is not None else ()) if each > 1]
        with self.prevent(Select.Changed):
            steps.set_options([("full step", FULL_STEP), *((f"1/{each}", each) for each in finer)])
            if chosen in (FULL_STEP, *finer):
                steps.value = chosen
