"""What every stage of a bench sheet has in common."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on, work
from textual.containers import Container
from textual.message import Message
from textual.widgets import Static

from coilbench.errors import CoilbenchError
from coilbench.ui.guard import ShowsProblems

if TYPE_CHECKING:
    from coilbench.records.store import Bin

Picture = Callable[[int, int], str]


class Caution(Static):
    """A caution, standing where the act is; never markup."""

    DEFAULT_CSS = "Caution { color: $text-warning; height: auto; }"

    def __init__(self, text: str, *, id: str | None = None) -> None:
        super().__init__(f"caution: {text}", markup=False, id=id)


def own_fault(fault: Exception) -> CoilbenchError:
    """A fault of the program itself, in words, for a worker to hand to the screen."""
    return CoilbenchError(
        f"this could not be worked out ({type(fault).__name__}: {fault})",
        title="a fault in coilbench",
        remedy="nothing is lost; undo the last entry, and report this with the diagnosis (F9)",
    )


class StagePane(ShowsProblems, Container):
    """The work of one stage of one motor. The bench sheet mounts it, and asks it what is known.

    ``bin`` is used on the screen's own thread only; long work goes to a thread worker that posts messages.
    """

    class FactsChanged(Message):
        """Something about the motor was saved or worked out anew: the known-so-far panel and done marks redraw.

        ``picture`` draws for a width and height in cells, as plain text, where the stage has something to draw.
        """

        def __init__(self, picture: Picture | None = None) -> None:
            super().__init__()
            self.picture = picture

    class Renamed(Message):
        """The motor goes by another name from now on."""

        def __init__(self, before: str, name: str) -> None:
            super().__init__()
            self.before, self.name = before, name

    class StageWanted(Message):
        """The pane wants the sheet to show another stage."""

        def __init__(self, stage_id: str) -> None:
            super().__init__()
            self.stage_id = stage_id

    WORDS: ClassVar[str] = ""  # the trade's words of this stage, in plain ones, for the help

    DEFAULT_CSS = "StagePane { height: 1fr; overflow-y: auto; }"

    def __init__(self, motor_name: str, bin: Bin) -> None:
        super().__init__()
        self.motor_name = motor_name
        self.bin = bin

    def on_mount(self) -> None:
        self.refresh_from_bin()

    def refresh_from_bin(self) -> None:
        """Show what the bin holds of this motor; called on mount and after changes made elsewhere."""

    def changed_elsewhere(self) -> None:
        """Another bench changed the bin. A pane whose fields hold nothing unsaved shows it with refresh_from_bin."""

    def leaving(self) -> None:
        """The person goes to another stage or to the crate: keep what can be kept of what is typed."""

    def covered(self) -> str:
        """A page is about to cover the stage: what it must say of that; empty where nothing moves."""
        return ""

    def facts_lines(self) -> list[str]:
        """What this stage knows so far, one fact a line, for the panel beside the work."""
        return self.summary_lines(self.bin, self.motor_name)

    @classmethod
    def summary_lines(cls, bin: Bin, motor_name: str) -> list[str]:
        """What is saved of this stage, in a line or two, shown while another stage is at work."""
        return []

    def facts_changed(self, picture: Picture | None = None) -> None:
        """Tell the sheet that what is known has changed."""
        self.post_message(self.FactsChanged(picture))

    def focus_first(self) -> None:
        """Put the focus where the work starts."""
        for widget in self.query("*"):
            if widget.focusable:
                widget.focus(scroll_visible=False)
                return


class JudgingPane(StagePane):
    """A pane that has its motor judged anew in a thread whenever something was entered."""

    class Judged(Message):
        """It was worked out; ``token`` tells an answer that came too late."""

        def __init__(self, token: int, result: Any, problem: CoilbenchError | None = None) -> None:
            super().__init__()
            self.token, self.result, self.problem = token, result, problem

    waiting = True  # for it to be worked out
    _judging = 0

    def judge(self, worked_out: Callable[[], object]) -> None:
        """Call ``worked_out`` in a thread; what it returns goes to ``show_judged``, unless something newer came."""
        self._judging += 1
        self.waiting = True
        self._judge(self._judging, worked_out)

    @work(thread=True, exclusive=True, group="judge", exit_on_error=False)
    def _judge(self, token: int, worked_out: Callable[[], object]) -> None:
        """Only a message comes back."""
        try:
            self.post_message(self.Judged(token, worked_out()))
        except CoilbenchError as problem:
            self.post_message(self.Judged(token, None, problem))
        except Exception as fault:  # a fault of ours must not take the bench down
            self.post_message(self.Judged(token, None, own_fault(fault)))

    @on(Judged)
    def judged(self, event: Judged) -> None:
        event.stop()
        if event.token != self._judging:
            return
        self.waiting = False
        if event.problem is not None:
            raise event.problem
        self.show_judged(event.result)

    def show_judged(self, result: Any) -> None:
        """Show what was worked out."""
