"""The windings stage: where to put the probes, what the meter says, which lead is which."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.widgets import Button, Input, OptionList

from coilbench.errors import CoilbenchError
from coilbench.stages.head import Head
from coilbench.stages.stage import Known
from coilbench.stages.windings.judging import judged
from coilbench.stages.windings.stage import WindingsState
from coilbench.stages.windings.words import CAUTION, HINT, Asked
from coilbench.ui.actions import bindings_for
from coilbench.ui.drawing import picture_of
from coilbench.ui.panes.base import Caution, Said
from coilbench.ui.panes.windings_clips import ClipsPane
from coilbench.ui.panes.windings_meter import MeterPane
from coilbench.ui.widgets.keypad import Keypad
from coilbench.ui.widgets.reading_input import OPEN_TEXT, ReadingInput
from coilbench.ui.widgets.readings import ReadingList
from coilbench.ui.widgets.result import WindingResult

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.board.virtual.crate import VirtualCrate


WORKING = Head("working it out ...")
BY_KEY = {"measure": "let the meter measure (m)", "clips": "measure on clips (c)"}


class WindingsPane(ClipsPane, MeterPane):
    """Asks one reading at a time; every reading is saved the moment it is entered."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("windings")

    waiting = True
    state: WindingsState | None = None

    def compose(self) -> ComposeResult:
        yield WindingResult(id="result")
        yield ReadingInput(placeholder=HINT, id="reading")
        yield Said()
        yield Button(BY_KEY["measure"], id="measure", variant="primary", compact=True)
        yield Button(BY_KEY["clips"], id="clips", compact=True)
        yield Button("delete this reading", id="drop", variant="error", compact=True, classes="-off")
        yield Keypad(id="keypad")
        yield ReadingList(id="readings", compact=True)
        yield Caution(CAUTION)

    @property
    def virtual(self) -> VirtualCrate | None:
        """The demo's meter, where it can read this motor."""
        virtual = self.bench.virtual
        return virtual if virtual is not None and virtual.has(self.desk.motor) else None

    @property
    def ask(self) -> Asked | None:
        """What is asked now; None until that is worked out, and when all is known."""
        return None if self.state is None else self.state.ask

    def begin(self) -> None:
        config = self.bench.config
        self.query_one(Keypad).set_class(config is not None and not config.mouse, "-off")
        self.query_one("#measure").set_class(self.virtual is None and not self.has_meter, "-off")
        super().begin()

    @property
    def is_unsaved(self) -> bool:
        return bool(self.query_one(ReadingInput).value)

    def focus_first(self) -> None:
        self.query_one(ReadingInput).focus(scroll_visible=False)

    def cancel(self) -> bool:
        """What is typed, then a correction or a pair that was picked."""
        field = self.query_one(ReadingInput)
        if not field.value and not self.stage.has_choice:
            return False
        if not field.value:
            self.stage.skip()
            self.draw()
        field.put("")
        if self.ask is not None:
            field.focus(scroll_visible=False)
        return True

    def typed(self, character: str) -> str:
        field = self.query_one(ReadingInput)
        if self.state is not None and self.ask is None:
            return f"{character!r}: no reading is asked for; p picks a pair to measure"
        if not field.check_consume_key(character, character):
            return f"{character!r} begins no reading: type digits, R47, or o for open"
        field.type_text(character)
        return ""

    def enter(self) -> str:
        """With all measured, on to the next stage."""
        if self.state is None or self.ask is not None:
            return "type what the meter shows, then Enter"
        self.post_message(self.Onward())
        return ""

    def read_again(self) -> None:
        """Work the saved readings out anew."""
        snapshot = self.stage.snapshot()
        self.work_out(lambda: judged(snapshot))

    def taken(self) -> None:
        self.query_one(ReadingInput).value = ""
        self.read_again()

    def show_worked_out(self, result: Any) -> None:
        if self.has_gone_on(result):
            return
        self.stage.take(result)
        self.draw()

    def draw(self) -> None:
        """Show the question or the result, the readings, and tell the sheet."""
        self.state = state = self.stage.state
        ask, wiring, plain = state.ask, state.wiring, self.bench.plain_characters
        self.set_class(ask is None, "-named")
        self.say("")
        self.query_one(WindingResult).put(state.result)
        field = self.query_one(ReadingInput)
        field.display = ask is not None
        field.placeholder = HINT if ask is None else ask.hint
        self.query_one(Keypad).set_class(ask is None, "-away")
        self.query_one("#measure").set_class(ask is None, "-away")
        self.query_one("#clips").set_class(bool(state.rows), "-off")
        self.query_one("#drop").set_class(not state.correcting, "-off")
        self.query_one(ReadingList).put(state.rows)
        if self.app.focused is None or not isinstance(self.app.focused, ReadingList):
            (field if ask is not None else self.query_one(WindingResult)).focus(scroll_visible=False)
        self.facts_changed(picture_of(wiring, ascii=plain))
        self.meter_asks()

    def changed_elsewhere(self) -> None:
        self.read_again()

    @property
    def head(self) -> Head:
        return WORKING if self.state is None else self.state.head

    def known(self) -> list[Known]:
        return [Known("", "working it out ...")] if self.state is None else list(self.state.known)

    # Entering, correcting and deleting readings

    @on(Input.Changed, "#reading")
    def typing(self, event: Input.Changed) -> None:
        """What was said of another text doesn't stand beside this one, in which a letter is no key."""
        event.stop()
        for name, label in BY_KEY.items():
            self.query_one(f"#{name}", Button).label = label.split(" (")[0] if event.value else label
        if self.ask is not None and event.value != OPEN_TEXT:
            self.say("")

    @on(Input.Submitted, "#reading")
    def submitted(self, event: Input.Submitted) -> None:
        event.stop()
        self.take_reading(event.value)

    def take_reading(self, text: str) -> None:
        """Take a typed reading; a text that is none is said under the field and left there."""
        ask = self.ask
        if self.waiting or ask is None:
            self.say("a moment: working out the next question")
            return
        if not text.strip() and ask.kind != "meter-range":
            self.say("type what the meter shows, such as 12.3, or o for open")
            return
        try:
            self.stage.enter(text)
        except CoilbenchError as error:
            self.say(str(error), problem=True)
            return
        self.query_one(ReadingInput).value = ""
        self.read_again()

    @on(Keypad.Pressed)
    def keypad_pressed(self, event: Keypad.Pressed) -> None:
        event.stop()
        field = self.query_one(ReadingInput)
        if event.text == "save":
            self.take_reading(field.value)
        elif event.text == "skip":
            self.action_windings_skip()
        elif event.text == "⌫":
            field.backspace()
        else:
            field.type_text(OPEN_TEXT if event.text == "OL" else event.text)

    @on(Button.Pressed, "#measure")
    def action_windings_meter(self) -> None:
        virtual = self.virtual
        if self.waiting or self.ask is None:
            return
        if self.has_meter or virtual is None:
            self.measure_on_port()
            return
        motor = self.desk.motor
        self.stage.measure(lambda a, b: virtual.measure(motor, a, b), "the demo's")
        self.query_one(ReadingInput).value = ""
        self.read_again()

    def action_windings_open(self) -> None:
        self.query_one(ReadingInput).type_text(OPEN_TEXT)
        self.say("Enter saves it as open (OL)")

    def action_windings_skip(self) -> None:
        if self.ask is None:
            return
        self.stage.skip()
        self.query_one(ReadingInput).value = ""
        self.read_again()

    def action_windings_pick(self) -> None:
        from coilbench.ui.dialogs.pick_pair import PickPairDialog

        def picked(pair: tuple[str, str] | None) -> None:
            if pair is not None:
                self.stage.pick(*pair)
                self.draw()
                self.focus_first()

        self.app.push_screen(PickPairDialog(self.stage.places), picked)

    def action_windings_edit(self) -> None:
        readings = self.query_one(ReadingList)
        readings.focus()
        readings.highlighted = 0 if readings.option_count else None

    @on(ReadingList.Left)
    def left_the_list(self) -> None:
        self.draw()
        (self.query_one(ReadingInput) if self.ask else self.query_one(WindingResult)).focus()

    @on(OptionList.OptionSelected, "#readings")
    def correct_chosen(self) -> None:
        chosen = self.query_one(ReadingList).chosen_id()
        if chosen is not None:
            self.stage.correct(chosen)
            self.query_one(ReadingInput).focus()
            self.draw()

    @on(ReadingList.DeleteWanted)
    def delete_wanted(self, event: ReadingList.DeleteWanted) -> None:
        event.stop()
        self._remove(event.reading_id)

    @on(Button.Pressed, "#clips")
    def clips_wanted(self) -> None:
        self.action_windings_clips()

    @on(Button.Pressed, "#drop")
    def drop_corrected(self) -> None:
        if self.stage.corrected_id is not None:
            self._remove(self.stage.corrected_id)

    def _remove(self, reading_id: int) -> None:
        self.stage.remove(reading_id)
        self.bench.tell("reading deleted; ^z brings it back")
        self.read_again()

    def action_windings_keypad(self) -> None:
        self.query_one(Keypad).toggle_class("-off")

    def action_windings_save(self) -> None:
        """Save what is known; with a question open, only after asking: f is easily hit."""
        from coilbench.ui.dialogs.basic import ConfirmDialog

        def answered(yes: bool | None) -> None:
            if yes:
                self.stage.finish()
                self.bench.tell("saved as it is")
                self.facts_changed()

        if self.state is None or self.ask is None:
            answered(True)
            return
        says = f"Saved as the result would be: {self.state.finish_says}."
        text = f"A reading is still asked for. {says} More can be measured later."
        self.app.push_screen(ConfirmDialog("finish here?", text, "save it as it is", "go on measuring"), answered)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if not self.is_mounted:
            return True
        if action == "windings_clips":
            return len(self.desk.leads) >= 2 and not self.desk.read_only
        if action == "windings_meter":
            return (self.virtual is not None or self.has_meter) and self.ask is not None
        if action == "windings_free":
            return self.ask is not None
        if action in ("windings_open", "windings_skip", "windings_keypad"):
            return self.ask is not None
        if action == "windings_edit":
            return any(readings.option_count for readings in self.query(ReadingList))
        if action == "windings_save":
            return self.state is not None and bool(self.state.rows) and not self.state.sure
        return True
