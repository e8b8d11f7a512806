"""A stage pane that drives a helper board: its jobs run in thread workers that post messages, stopping at once."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar, Generic, Protocol, TypeVar

from textual import events, work
from textual.message import Message

from coilbench.errors import CoilbenchError
from coilbench.ui.panes.base import own_fault
from coilbench.ui.panes.old import OldPane

if TYPE_CHECKING:
    from coilbench.board.session.session import BoardFound
    from coilbench.records.store import Bin


LEAVE_KEYS = ("f2", "f3")  # to another stage, which stops the motor, too
COVERED = "The motor was stopped: a page covered STOP."


class Session(Protocol):
    """What every session with a board can do at any time, from any thread."""

    def look(self) -> None:
        """Ask for a sign of life."""

    def stop(self) -> None:
        """Stop at once."""

    def close(self) -> None:
        """Stop, and let the port go."""


OneSession = TypeVar("OneSession", bound=Session)


class BoardPane(OldPane, Generic[OneSession]):
    """Holds the board's session; one job at a time, each with its token, so that late words are known as such."""

    EARLY_KEYS: ClassVar[frozenset[str]] = frozenset()  # which don't stop it

    class Did(Message):
        """A worker's job ended: with its result, or with a problem."""

        def __init__(self, token: int, result: object, problem: CoilbenchError | None = None) -> None:
            super().__init__()
            self.token, self.result, self.problem = token, result, problem

    class Way(Message):
        """The board said what it does now."""

        def __init__(self, token: int, state: str) -> None:
            super().__init__()
            self.token, self.state = token, state

    def __init__(self, motor_name: str, bin: Bin) -> None:
        super().__init__(motor_name, bin)
        self.session: OneSession | None = None
        self.board: BoardFound | None = None
        self.busy = False
        self.was_covered = False  # that is why it was stopped
        self._token = 0

    @property
    def moves_now(self) -> bool:
        """The motor moves, or is about to."""
        return False

    def on_key(self, event: events.Key) -> None:
        """While it moves a key hit anywhere stops it, ctrl+c too: in a fright nobody looks for the right one.

        Keys that answer or go on are let by, for they may be pressed a moment too early.
        """
        if self.moves_now and event.key not in LEAVE_KEYS:
            event.stop()
            if event.key not in self.EARLY_KEYS:
                self._stop()

    def covered(self) -> str:
        if not self.moves_now:
            return ""
        self.was_covered = True
        self._stop()
        return COVERED

    def check_sound(self) -> None:
        """Raises Fault for a motor that must not be powered, or can't turn."""
        from coilbench.winding.engine.fitness import check_usable

        check_usable(self.bin.fact(self.motor_name, "windings"))

    def _start(self, job: Callable[[], object]) -> None:
        self.busy = True
        self._token += 1
        self.refresh_bindings()
        self._do(self._token, job)

    @work(thread=True, group="jog", exit_on_error=False)
    def _do(self, token: int, job: Callable[[], object]) -> None:
        """Do a job in a thread; only a message comes back."""
        try:
            self.post_message(self.Did(token, job()))
        except CoilbenchError as problem:
            self.post_message(self.Did(token, None, problem))
        except Exception as fault:  # a fault of ours must not take the bench down
            self.post_message(self.Did(token, None, own_fault(fault)))

    def _progress(self) -> Callable[[str, float], None]:
        token, last = self._token + 1, [""]

        def told(state: str, rate_sps: float) -> None:
            if state != last[0]:
                last[0] = state
                self.post_message(self.Way(token, state))

        return told

    def _look(self) -> None:
        """Between moves the board is asked for a sign of life, so that a pulled cable is said at once."""
        session = self.session
        if session is not None and self.board is not None and not self.busy:
            self._do(self._token, session.look)

    def _close_session(self) -> None:
        if self.session is not None:
            self.session.close()
        self.session, self.board = None, None

    def _stop(self) -> None:
        if self.session is not None:
            # Not on the screen's thread: a line that is stuck would hold it.
            threading.Thread(target=self.session.stop, daemon=True).start()
