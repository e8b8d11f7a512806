"""The helper sketch on to the board of a port: what would be overwritten, one question, the writing, who answers."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.message import Message
from textual.widgets import Button, Static

from coilbench.board.flash.flashing import CAUTION, Flashing, Plan, version
from coilbench.errors import CoilbenchError
from coilbench.ui.faults import own_fault
from coilbench.ui.steady import Dialog

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.binding import BindingType

    from coilbench.board.client.orders import Identity


class FlashDialog(Dialog[bool]):
    """The answer is whether the sketch is on the board. Nothing closes it while the board is written."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape", "close", "close")]

    class Done(Message):
        """A look or a writing has ended."""

        def __init__(self, result: Plan | Identity | None, problem: CoilbenchError | None = None) -> None:
            super().__init__()
            self.result, self.problem = result, problem

    class Under(Message):
        """What is under way."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    def __init__(self, port: str, make: Callable[..., Flashing] = Flashing) -> None:
        super().__init__()
        self._port, self._make = port, make
        self._flashing: Flashing | None = None
        self._plan: Plan | None = None
        self._done = False
        self._at_work = False

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static("put the helper sketch on the board", classes="dialog-title", markup=False)
            yield Static(f"looking at the board on {self._port}", id="flash-said", markup=False)
            yield Static("", id="flash-now", classes="field-note", markup=False)
            with Horizontal(classes="dialog-buttons"):
                yield Button("leave it as it is (esc)", id="flash-close", variant="primary", compact=True)
                yield Button("write it", id="flash-write", variant="error", compact=True)

    def on_mount(self) -> None:
        self.query_one("#flash-write").display = False
        self.query_one("#flash-close").focus()
        self._begin(self._look)

    def _begin(self, job: Callable[[], Plan | Identity]) -> None:
        self._at_work = True
        self._work(job)

    @work(thread=True, exit_on_error=False)
    def _work(self, job: Callable[[], Plan | Identity]) -> None:
        try:
            self.post_message(self.Done(job()))
        except CoilbenchError as problem:
            self.post_message(self.Done(None, problem))
        except Exception as fault:  # a fault of ours must not take the bench down
            self.post_message(self.Done(None, own_fault(fault)))

    def _look(self) -> Plan:
        self._flashing = self._make(self._port, tell=lambda text: self.post_message(self.Under(text)))
        return self._flashing.look()

    @on(Under)
    def under_way(self, event: Under) -> None:
        event.stop()
        self.query_one("#flash-now", Static).update(f"{event.text} ...")

    @on(Done)
    def ended(self, event: Done) -> None:
        event.stop()
        self._at_work = False
        said, write = self.query_one("#flash-said", Static), self.query_one("#flash-write", Button)
        self.query_one("#flash-now", Static).update("")
        write.display = False
        if event.problem is not None:
            remedy = f"\n\nWhat to do: {event.problem.remedy}" if event.problem.remedy else ""
            said.update(f"{event.problem.happened}{remedy}")
        elif isinstance(event.result, Plan):
            self._plan = event.result
            said.update("\n".join((*event.result.lines, f"caution: {CAUTION}")))
            write.display = True
        elif event.result is not None:
            self._done = True
            said.update(f"written, read back the same; helper sketch {version(event.result.sketch)} answers")
            self.query_one("#flash-close", Button).label = "go on (esc)"
        self.query_one("#flash-close").focus()

    @on(Button.Pressed, "#flash-write")
    def write(self) -> None:
        if self._at_work or self._flashing is None or self._plan is None:
            return
        flashing, plan = self._flashing, self._plan
        self._begin(lambda: flashing.write(plan))

    @on(Button.Pressed, "#flash-close")
    def action_close(self) -> None:
        if self._at_work and self._plan is not None:
            self.query_one("#flash-now", Static).update(
                "the board is being written: leave the cable in, a moment yet"
            )
        else:
            self.dismiss(self._done)
