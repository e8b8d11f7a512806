"""What every pane is: one stage of one motor, drawn."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Generic, TypeVar

from textual import on, work
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Static

from coilbench.errors import CoilbenchError
from coilbench.stages.desk import Desk
from coilbench.stages.head import NOTHING, Head
from coilbench.stages.stage import Known, Stage
from coilbench.stages.words import words_of
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.faults import own_fault
from coilbench.ui.widgets.field import Field
from coilbench.ui.widgets.stage_area import Picture, StageArea

S = TypeVar("S", bound=Stage)


def in_sight(widget: Widget) -> bool:
    """Whether a widget and all that it stands in are shown, scrolled off or not."""
    return all(each.display for each in widget.ancestors_with_self if isinstance(each, Widget))


class Caution(Static):
    """A caution, standing where the act is; never markup."""

    DEFAULT_CSS = """
    Caution { color: $text-warning; height: auto; }
    Caution.-silent { display: none; }
    """

    def __init__(self, text: str = "", *, id: str | None = None) -> None:
        super().__init__("", markup=False, id=id)
        self.put(text)

    def put(self, text: str) -> None:
        """Say this one in its place; none for no text."""
        self.update(f"caution: {text}" if text else "")
        self.set_class(not text, "-silent")


class Said(Static):
    """The one line or two in which a pane says what became of the last entry."""

    DEFAULT_CSS = "Said { height: auto; }"

    def __init__(self) -> None:
        super().__init__("", id="said", markup=False)

    def put(self, text: str, *, problem: bool = False) -> None:
        """Say it; a problem stands out."""
        self.update(text)
        self.display = bool(text)
        self.set_class(problem, "-problem")


class StagePane(StageArea, Generic[S]):
    """The work of one stage of one motor. The bench sheet mounts it, and asks it what is known.

    ``stage`` is used on the screen's own thread only, but for what is handed to ``work_out``.
    """

    class FactsChanged(Message):
        """Something about the motor was kept or worked out: the known-so-far panel and done marks redraw.

        ``picture`` draws for a width and height in cells, as plain text, where the stage has something to draw.
        """

        def __init__(self, picture: Picture | None = None) -> None:
            super().__init__()
            self.picture = picture

    class HeadChanged(Message):
        """What stands first is another."""

    class Onward(Message):
        """The work here is done, and the person goes on."""

    class Renamed(Message):
        """The motor goes by another name from now on."""

        def __init__(self, before: str, name: str) -> None:
            super().__init__()
            self.before, self.name = before, name

    class WorkedOut(Message):
        """What ``work_out`` was given is done; ``token`` tells a result that came too late."""

        def __init__(self, token: int, result: Any, problem: CoilbenchError | None = None) -> None:
            super().__init__()
            self.token, self.result, self.problem = token, result, problem

    DEFAULT_CSS = "StagePane { height: 1fr; overflow-y: auto; }"

    waiting = False  # for something to be worked out
    _token = 0

    def __init__(self, stage: S) -> None:
        super().__init__()
        self.stage = stage

    @property
    def desk(self) -> Desk:
        return self.stage.desk

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    @property
    def words(self) -> str:
        return words_of(self.stage.id)

    def on_mount(self) -> None:
        self.begin()  # Textual calls the handlers of every class: what is derived must not be one, or it begins twice

    def begin(self) -> None:
        """The pane stands: show what is known."""
        self.read_again()

    def read_again(self) -> None:
        """Show what is known of the motor; called on mount, after undo and redo, and after changes made elsewhere."""

    def changed_elsewhere(self) -> None:
        """Another bench changed the bin. A pane whose fields hold nothing unsaved reads again."""

    def bench_changed(self) -> None:
        if not self.waiting:
            self.read_again()

    @property
    def is_unsaved(self) -> bool:
        """Whether something was typed that is kept nowhere yet."""
        return False

    @property
    def unsaved_place(self) -> str:
        return f"{self.desk.motor}, {self.stage.id}" if self.is_mounted and self.is_unsaved else ""

    def takes(self, key: str) -> bool:
        """A key was hit anywhere on the sheet: whether it does nothing else."""
        return False

    def leaving(self, *, onward: bool = False) -> str:
        """The person goes to another stage or to the bin: keep what is valid of what is typed, and return what is
        to be said of it. Who goes ``onward`` takes what the stage offers, too."""
        return ""

    def cancel(self) -> bool:
        """Take back the innermost thing that is begun and not done, such as an edit; whether there was one."""
        field = self.screen.focused
        return isinstance(field, Field) and self in field.ancestors and field.give_up_edit()

    def enter(self) -> str:
        """Do the main thing: Enter was hit where no field or button takes it. What is to be said where it isn't done;
        empty where it is."""
        return "Enter does nothing here"

    def typed(self, character: str) -> str:
        """Put a character that nothing else takes into the field that is first empty, and go there; what is to be
        said where there is none, empty where it is in."""
        field = self._begun or (None if character.isspace() else self.first_empty)
        if field is None:
            return f"{character!r}: no field is empty here, nothing was typed"
        field.insert_text_at_cursor(character)
        field.take_over()
        return ""

    @property
    def fields(self) -> list[Field]:
        """The fields that can be typed in now, from the top."""
        return [each for each in self.query(Field) if each.focusable and in_sight(each)]

    @property
    def first_empty(self) -> Field | None:
        """The field that the next text belongs in; None where all say something."""
        return next((each for each in self.fields if not each.value), None)

    @property
    def _begun(self) -> Field | None:
        """The field that a key before this one has begun, where several came at once."""
        focused = self.screen.focused
        return focused if isinstance(focused, Field) and focused in self.fields else None

    @property
    def head(self) -> Head:
        """What stands first now, and why."""
        return NOTHING

    def known(self) -> list[Known]:
        """What this stage knows so far, for the panel beside the work."""
        return self.stage.summary(self.desk.known)

    def facts_changed(self, picture: Picture | None = None) -> None:
        """Tell the sheet that what is known has changed."""
        self.post_message(self.FactsChanged(picture))

    def focus_first(self) -> None:
        """Put the focus where the work starts: into the first empty field."""
        start: Widget | None = self.first_empty or next(iter(self.fields), None)
        start = start or next((each for each in self.query("*") if each.focusable and in_sight(each)), None)
        if start is not None:
            start.focus(scroll_visible=False)

    def say(self, text: str, *, problem: bool = False) -> None:
        """The one way to say what became of an entry."""
        for said in self.query(Said):
            said.put(text, problem=problem)

    # What takes a moment

    def work_out(self, worked: Callable[[], object]) -> None:
        """Call ``worked`` in a thread; what it returns goes to ``show_worked_out``, unless something newer came."""
        self._token += 1
        self.waiting = True
        self._work(self._token, worked)

    @work(thread=True, group="work", exit_on_error=False)
    def _work(self, token: int, worked: Callable[[], object]) -> None:
        """Only a message comes back, with its token: a thread can't be called off."""
        try:
            self.post_message(self.WorkedOut(token, worked()))
        except CoilbenchError as problem:
            self.post_message(self.WorkedOut(token, None, problem))
        except Exception as fault:  # a fault of ours must not take the bench down
            self.post_message(self.WorkedOut(token, None, own_fault(fault)))

    @on(WorkedOut)
    def worked_out(self, event: WorkedOut) -> None:
        event.stop()
        if event.token != self._token:
            return
        self.waiting = False
        self.work_ended()
        if event.problem is not None:
            self.show_not_worked_out(event.problem)
        else:
            self.show_worked_out(event.result)

    def work_ended(self) -> None:
        """What was to be worked out has ended, one way or the other."""

    def show_not_worked_out(self, problem: CoilbenchError) -> None:
        """Show why it could not be worked out."""
        raise problem

    def show_worked_out(self, result: Any) -> None:
        """Show what was worked out."""

    # Undo, the same at every stage

    def undo(self) -> None:
        """Take back the stage's latest act."""
        self._stepped(self.stage.undo(), "taken back", "nothing to take back")

    def redo(self) -> None:
        """Do again what was taken back last."""
        self._stepped(self.stage.redo(), "done again", "nothing to do again")

    def _stepped(self, what: str | None, done: str, otherwise: str) -> None:
        if what is None:
            self.bench.tell(otherwise)
            return
        self.bench.tell(f"{done}: {what}")
        self.read_again()
        self.facts_changed()
