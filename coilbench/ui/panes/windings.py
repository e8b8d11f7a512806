"""The windings stage: where to put the probes, what the meter says, which lead is which."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.widgets import Button, Input, OptionList

from coilbench.errors import CoilbenchError
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.panes.base import Caution
from coilbench.ui.panes.old import JudgingPane
from coilbench.ui.widgets.keypad import Keypad
from coilbench.ui.widgets.question import Question, placeholder
from coilbench.ui.widgets.reading_input import OPEN_TEXT, ReadingInput
from coilbench.ui.widgets.readings import ReadingList
from coilbench.ui.widgets.result import WindingResult
from coilbench.winding.engine.verdict import Ask, Verdict
from coilbench.winding.readings.reading import Reading

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.board.virtual.crate import VirtualCrate
    from coilbench.records.rows import SavedReading
    from coilbench.records.store import Bin


class WindingsPane(JudgingPane):
    """Asks one reading at a time; every reading is saved the moment it is entered."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("windings")

    def __init__(self, motor_name: str, bin: Bin) -> None:
        super().__init__(motor_name, bin)
        self.verdict: Verdict | None = None
        self._picked: tuple[str, str] | None = None
        self._correcting: SavedReading | None = None
        self._skipped: set[tuple[str, str]] = set()

    def compose(self) -> ComposeResult:
        yield Question(id="question")
        yield WindingResult(id="result")
        yield ReadingInput(placeholder=placeholder(None), id="reading")
        yield Button("let the meter measure (m)", id="measure", variant="primary", compact=True)
        yield Button("delete this reading", id="drop", variant="error", compact=True, classes="-off")
        yield Keypad(id="keypad")
        yield ReadingList(id="readings", compact=True)
        yield Caution("motor off every driver and supply")

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    @property
    def virtual(self) -> VirtualCrate | None:
        """The demo's meter, where it can read this motor."""
        virtual = self.bench.virtual
        return virtual if virtual is not None and virtual.has(self.motor_name) else None

    @property
    def ask(self) -> Ask | None:
        """What is asked now: a reading to correct, a pair the person picked, or what tells most."""
        if self._correcting is not None:
            from coilbench.quantity import format_quantity

            said = format_quantity(self._correcting.ohm, "ohm", 4)
            return Ask(self._correcting.a, self._correcting.b, f"type this reading anew, it says {said}; s leaves it")
        if self._picked is not None:
            return Ask(*self._picked, "you picked this pair")
        if self.verdict is None or self.verdict.ask is None:
            return None
        return self.verdict.ask

    def on_mount(self) -> None:
        config = self.bench.config
        self.query_one(Keypad).set_class(config is not None and not config.mouse, "-off")
        self.query_one("#measure").set_class(self.virtual is None, "-off")
        super().on_mount()

    def focus_first(self) -> None:
        self.query_one(ReadingInput).focus(scroll_visible=False)

    def refresh_from_bin(self) -> None:
        """Work the saved readings out anew."""
        readings = [one.reading for one in self.bin.readings(self.motor_name) if one.kind == "ohms"]
        leads, skipped = self.bin.motor(self.motor_name).leads, tuple(self._skipped)

        def worked_out() -> Verdict:
            from coilbench.winding.engine.sorting import judge

            return judge(leads, readings, skipped=skipped)

        self.judge(worked_out)

    def show_judged(self, result: Verdict) -> None:
        self.verdict = result
        if result.sure or (result.ask is None and result.readings):
            self._save_result()
        self.show_question()

    def _save_result(self) -> None:
        from coilbench.winding.engine.report import result_object

        if self.verdict is not None and not self.bin.read_only:
            result = result_object(self.verdict)
            if self.bin.fact(self.motor_name, "windings") != result:
                self.bin.put_fact(self.motor_name, "windings", result)

    def show_question(self) -> None:
        """Show the question or the result, the readings, and tell the sheet."""
        from coilbench.ui.picture import picture_of

        verdict, ask = self.verdict, self.ask
        if verdict is None:
            return
        self.set_class(ask is None, "-named")
        self.query_one(Question).show(ask)
        self.query_one(WindingResult).show(verdict if ask is None else None)
        field = self.query_one(ReadingInput)
        field.display = ask is not None
        field.placeholder = placeholder(ask)
        self.query_one(Keypad).set_class(ask is None, "-away")
        self.query_one("#measure").set_class(ask is None, "-away")
        self.query_one("#drop").set_class(self._correcting is None, "-off")
        self.query_one(ReadingList).show(self.bin.readings(self.motor_name), verdict.repeat)
        if self.app.focused is None or not isinstance(self.app.focused, ReadingList):
            (field if ask is not None else self.query_one(WindingResult)).focus(scroll_visible=False)
        readings = [saved.reading for saved in self.bin.readings(self.motor_name)]
        self.facts_changed(picture_of(verdict, readings=readings, ascii=self.bench.plain_characters))

    def changed_elsewhere(self) -> None:
        self.refresh_from_bin()

    def facts_lines(self) -> list[str]:
        from coilbench.ui.facts import verdict_lines

        if self.verdict is None:
            return ["working it out ..."]
        return verdict_lines(self.verdict)

    @classmethod
    def summary_lines(cls, bin: Bin, motor_name: str) -> list[str]:
        from coilbench.ui.facts import result_lines

        result = bin.fact(motor_name, "windings")
        return result_lines(result) if result else []

    # Entering, correcting and deleting readings

    @on(Input.Changed, "#reading")
    def typing(self, event: Input.Changed) -> None:
        """What was said of another text doesn't stand beside this one."""
        event.stop()
        if self.ask is not None and event.value != OPEN_TEXT:
            self.query_one(Question).say("")

    @on(Input.Submitted, "#reading")
    def submitted(self, event: Input.Submitted) -> None:
        event.stop()
        self.enter(event.value)

    def enter(self, text: str) -> None:
        """Take a typed reading; a text that is none is said under the field and left there."""
        question = self.query_one(Question)
        ask = self.ask
        if self.waiting or ask is None:
            question.say("a moment: working out the next question")
            return
        from coilbench.quantity import parse_reading

        if not text.strip() and ask.kind != "range":
            question.say("type what the meter shows, such as 12.3, or o for open")
            return
        try:
            if ask.kind == "range":
                self._set_range(ask, text)
            else:
                self._take(ask, parse_reading(text))
        except CoilbenchError as error:
            question.say(str(error), problem=True)
            return
        self.query_one(ReadingInput).value = ""

    def _take(self, ask: Ask, ohm: float, meter: str = "") -> None:
        if self._correcting is not None:
            self.bin.edit_reading(self._correcting.id, ohm)
        else:
            self.bin.add_reading(self.motor_name, Reading(ask.a, ask.b, ohm), meter=meter)
        self._correcting = self._picked = None
        self.refresh_from_bin()

    def _set_range(self, ask: Ask, text: str) -> None:
        """Say which range the meter stood on when it showed OL."""
        from coilbench.quantity import parse_quantity

        words = text.strip().lower()
        automatic = words in ("", "auto", "a", OPEN_TEXT)
        range_ohm = AUTOMATIC_RANGE_OHM if automatic else parse_quantity(text, "ohm", bare=True)
        for saved in self.bin.readings(self.motor_name):
            if {saved.a, saved.b} == {ask.a, ask.b} and saved.range_ohm is None:
                self.bin.edit_reading(saved.id, saved.ohm, range_ohm=range_ohm)
        self.refresh_from_bin()

    @on(Keypad.Pressed)
    def keypad_pressed(self, event: Keypad.Pressed) -> None:
        event.stop()
        field = self.query_one(ReadingInput)
        if event.text == "save":
            self.enter(field.value)
        elif event.text == "skip":
            self.action_windings_skip()
        elif event.text == "⌫":
            field.backspace()
        else:
            field.type_text(OPEN_TEXT if event.text == "OL" else event.text)

    @on(Button.Pressed, "#measure")
    def action_windings_meter(self) -> None:
        ask, virtual = self.ask, self.virtual
        if self.waiting or ask is None or virtual is None:
            return
        try:
            if ask.kind == "range":
                self._set_range(ask, "auto")
            else:
                self._take(ask, virtual.measure(self.motor_name, ask.a, ask.b), meter="the demo's")
        except CoilbenchError as error:
            self.bench.show_problem(error)

    def action_windings_open(self) -> None:
        self.query_one(ReadingInput).type_text(OPEN_TEXT)
        self.query_one(Question).say("Enter saves it as open (OL)")

    def action_windings_skip(self) -> None:
        ask = self.ask
        if ask is None:
            return
        if self._correcting is not None or self._picked is not None:
            self._correcting = self._picked = None
        else:
            self._skipped.add((ask.a, ask.b))
        self.query_one(ReadingInput).value = ""
        self.refresh_from_bin()

    def action_windings_pick(self) -> None:
        from coilbench.ui.dialogs.pick_pair import PickPairDialog

        def picked(pair: tuple[str, str] | None) -> None:
            if pair is not None:
                self._correcting, self._picked = None, pair
                self.show_question()
                self.focus_first()

        self.app.push_screen(PickPairDialog(self.bin.motor(self.motor_name).leads), picked)

    def action_windings_undo(self) -> None:
        self._step_back(self.bin.undo(self.motor_name, "windings"), "nothing to undo")

    def action_windings_redo(self) -> None:
        self._step_back(self.bin.redo(self.motor_name, "windings"), "nothing to do again")

    def _step_back(self, done: str | None, otherwise: str) -> None:
        self._correcting = self._picked = None
        if done is not None:
            self.refresh_from_bin()
        else:
            self.query_one(Question).say(otherwise)

    def action_windings_edit(self) -> None:
        readings = self.query_one(ReadingList)
        readings.focus()
        readings.highlighted = 0 if readings.option_count else None

    @on(ReadingList.Left)
    def left_the_list(self) -> None:
        self.show_question()
        (self.query_one(ReadingInput) if self.ask else self.query_one(WindingResult)).focus()

    @on(OptionList.OptionSelected, "#readings")
    def correct_chosen(self) -> None:
        chosen = self.query_one(ReadingList).chosen_id()
        found = [one for one in self.bin.readings(self.motor_name) if one.id == chosen]
        if found:
            self._picked, self._correcting = None, found[0]
            self.query_one(ReadingInput).focus()
            self.show_question()

    @on(ReadingList.DeleteWanted)
    def delete_wanted(self, event: ReadingList.DeleteWanted) -> None:
        event.stop()
        self._remove(event.reading_id)

    @on(Button.Pressed, "#drop")
    def drop_corrected(self) -> None:
        if self._correcting is not None:
            self._remove(self._correcting.id)

    def _remove(self, reading_id: int) -> None:
        self._correcting = None
        self.bin.remove_reading(reading_id)
        self.bench.tell("reading deleted; u brings it back")
        self.refresh_from_bin()

    def action_windings_keypad(self) -> None:
        self.query_one(Keypad).toggle_class("-off")

    def action_windings_save(self) -> None:
        """Save what is known; with a question open, only after asking: f is easily hit."""
        from coilbench.ui.dialogs.basic import ConfirmDialog
        from coilbench.ui.facts import percent

        def answered(yes: bool | None) -> None:
            if yes:
                self._save_result()
                self.bench.tell("saved as it stands")
                self.facts_changed()

        if self.verdict is None or self.ask is None:
            answered(True)
            return
        says = f"{self.verdict.arrangement}, every lead placed: {percent(self.verdict.confidence)} sure"
        text = f"A reading is still asked for. Saved as the result would be: {says}. More can be measured later."
        self.app.push_screen(ConfirmDialog("finish here?", text, "save it as it stands", "go on measuring"), answered)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if not self.is_mounted:
            return True
        if action == "windings_meter":
            return self.virtual is not None and self.ask is not None
        if action in ("windings_open", "windings_skip", "windings_keypad"):
            return self.ask is not None
        if action in ("windings_undo", "windings_redo"):
            possible = self.bin.can_undo if action == "windings_undo" else self.bin.can_redo
            return possible(self.motor_name, "windings")
        if action == "windings_edit":
            return any(readings.option_count for readings in self.query(ReadingList))
        if action == "windings_save":
            return self.verdict is not None and self.verdict.readings > 0 and not self.verdict.sure
        return True


# Stands for a meter that finds its range by itself: OL then means more than any winding.
AUTOMATIC_RANGE_OHM = 2e6
