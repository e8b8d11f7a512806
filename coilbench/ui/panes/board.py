"""A stage pane that drives a helper board: what the board does runs in the pane's worker, and stops at once."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, ClassVar, TypeVar

from textual import on, work
from textual.message import Message

from coilbench.errors import CoilbenchError
from coilbench.stages.stage import Stage
from coilbench.ui.bench import Session
from coilbench.ui.dialogs.basic import ConfirmDialog
from coilbench.ui.panes.base import StagePane

if TYPE_CHECKING:
    from coilbench.stages.jog.session import Job

LEAVE_KEYS = ("f2", "f3")  # to another stage, which stops the motor, too
COVERED = "The motor was stopped: a page covered STOP."
LOOK_SECONDS = 1.0
QUIET_SECONDS = 1.0

S = TypeVar("S", bound=Stage)


class BoardPane(StagePane[S]):
    """One job at a time, in the pane's one worker; while it moves nearly every key stops it."""

    EARLY_KEYS: ClassVar[frozenset[str]] = frozenset()  # which don't stop it

    _quiet_until = 0.0

    class Way(Message):
        """The board said what it does now."""

        def __init__(self, token: int, state: str) -> None:
            super().__init__()
            self.token, self.state = token, state

    class Silent(Message):
        """The board of a session gave no sign of life."""

        def __init__(self, session: Session, problem: CoilbenchError) -> None:
            super().__init__()
            self.session, self.problem = session, problem

    @property
    def session(self) -> Session | None:
        """The session with the board, if there is one."""
        return None

    @property
    def is_connected(self) -> bool:
        """A board has answered, and may be asked for a sign of life between jobs."""
        return False

    @property
    def moves_now(self) -> bool:
        """The motor moves, or is about to."""
        return False

    def begin(self) -> None:
        super().begin()
        self.set_interval(LOOK_SECONDS, self.look_at_board)

    def takes(self, key: str) -> bool:
        """While it moves a key hit anywhere stops it, ctrl+c too: in a fright nobody looks for the right one.

        Keys that answer or go on are let by, for they may be pressed a moment too early. For a second after the
        motion the keys that stopped it do nothing: the second Enter of a fright must not start it again.
        """
        if key in LEAVE_KEYS:
            return False
        if self.moves_now:
            if key not in self.EARLY_KEYS:
                self.stop_motor()
            return True
        return self.is_quiet and key not in self.EARLY_KEYS

    @property
    def is_quiet(self) -> bool:
        """The motor stopped a moment ago: what is hit or clicked now was meant to stop it."""
        return self.bench.clock() < self._quiet_until

    def work_ended(self) -> None:
        if self.moves_now:
            self._be_quiet()

    def _be_quiet(self) -> None:
        self._quiet_until = self.bench.clock() + QUIET_SECONDS

    def covered(self) -> str:
        if not self.moves_now:
            return ""
        self.was_covered()
        self.stop_motor()
        return COVERED

    def was_covered(self) -> None:
        """A page over STOP is why the motor is being stopped."""

    def stop_motor(self) -> None:
        """Stop at once; not on the screen's thread, which a line that is stuck would hold."""
        self._be_quiet()
        if self.session is not None:
            threading.Thread(target=self.session.stop, daemon=True).start()

    # Jobs

    def when_seen_to(self, to_see_to: Sequence[str], yes: str, act: Callable[[], None]) -> None:
        """Do what moves the motor or switches a coil on; the first time only after what is to be seen to is."""
        if not to_see_to:
            act()
            return

        def answered(sure: bool | None) -> None:
            if sure and self.is_mounted:
                self.was_seen_to()
                act()

        text = "\n".join(f"- {each}" for each in to_see_to)
        self.app.push_screen(ConfirmDialog("see that", text, f"{yes} (y)", "not yet"), answered)

    def was_seen_to(self) -> None:
        """The person has confirmed it."""

    def run_job(self, job: Job) -> None:
        """Do what the board has to do; ``show_worked_out`` has what it came to, ``Way`` what it does meanwhile."""
        token, last = self._token + 1, [""]
        self.bench.at_work = self.session

        def told(state: str, rate_sps: float) -> None:
            if state != last[0]:
                last[0] = state
                self.post_message(self.Way(token, state))

        self.work_out(lambda: job(told))
        self.refresh_bindings()

    @on(Way)
    def way(self, event: Way) -> None:
        """What the board says of a job that is no longer at work is passed over."""
        event.stop()
        if event.token == self._token and self.moves_now:
            self.show_way(event.state)

    def show_way(self, state: str) -> None:
        """Show what the board does now."""

    def look_at_board(self) -> None:
        """Between jobs the board is asked for a sign of life, so that a pulled cable is said at once."""
        if self.is_connected and self.session is not None and not self.waiting:
            self._look(self.session)

    @work(thread=True, group="look", exit_on_error=False)
    def _look(self, session: Session) -> None:
        try:
            session.look()
        except CoilbenchError as problem:
            self.post_message(self.Silent(session, problem))

    @on(Silent)
    def silent(self, event: Silent) -> None:
        """A board that was let go meanwhile isn't missed, and a job at work finds out by itself."""
        event.stop()
        if event.session is self.session and not self.waiting:
            self.show_not_worked_out(event.problem)
