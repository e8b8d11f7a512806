"""The board as a jog needs it, and what it is asked to do."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

from coilbench.board.session.drive import Drive
from coilbench.motion.trials import Shaft, Trial

if TYPE_CHECKING:
    from coilbench.board.link.link import BeginLog
    from coilbench.board.session.jog import TrialEnd, TurnEnd
    from coilbench.board.session.session import BoardFound

Progress = Callable[[str, float], None]  # what the board does now, full steps/s
Job = Callable[[Progress], object]  # takes long: called in any thread, what it returns is handed back to the stage


class Session(Protocol):
    """A board that turns a motor; its verbs block, but for ``ready``, ``stop`` and ``close``."""

    def open(self) -> BoardFound:
        """Open the port and greet the board, again after it was unplugged."""

    def look(self) -> None:
        """Ask for a sign of life."""

    def ready(self) -> None:
        """From here on a stop counts for what is asked next."""

    def turn(self, progress: Progress, farthest_steps: float | None = None) -> TurnEnd:
        """One slow turn of the flag."""

    def trial(self, trial: Trial, progress: Progress) -> TrialEnd:
        """One move."""

    def stop(self) -> None:
        """Stop at once; never raises."""

    def close(self) -> None:
        """Stop, and let the port go; never raises."""


Opener = Callable[[str, Drive, Shaft], Session]


def open_board(url: str, drive: Drive, shaft: Shaft, log: BeginLog | None = None) -> Session:
    """A session with the board on ``url``; what is said goes into the log that ``log`` begins."""
    from coilbench.board.session.jog import JogSession

    return JogSession(url, drive, shaft, log)
