"""What ends a bench from outside, a signal or a terminal that is gone: the motor stops, and the process ends.

This goes on beside the screen, in threads of its own, and works when the screen's loop is stuck. A loop that still
turns closes the bench in good order.
"""

from __future__ import annotations

import contextlib
import os
import select
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coilbench.ui.bench import Bench

LOOK_S = 0.2
NOTE_S = 3.0  # for the note of where it was stuck, on a busy machine and a slow disk
GRACE_S = 3.0  # for closing in good order
_SIGNALS = {"SIGTERM", "SIGHUP", "SIGINT"} & set(dir(signal))
# Out of what the screen's library has switched on: other screen, mouse, focus, paste, key codes; the cursor is shown.
_GIVEN_BACK = b"\x1b[?1049l\x1b[?1000l\x1b[?1003l\x1b[?1006l\x1b[?1004l\x1b[?2004l\x1b[<u\x1b[?7h\x1b[?25h\x1b[0m"


@contextmanager
def watched_over(app: Bench) -> Iterator[None]:
    """See to it that ``app``, run within, ends when it is told to, or nobody can see it any more.

    The signals stay with the watch until the process ends, so that none falls into its last steps.
    """
    watch = _Watch(app)
    watch.begin()
    yield


class _Watch:
    def __init__(self, app: Bench) -> None:
        self.app = app
        self._at_end = threading.Lock()  # taken by whoever ends it first
        self._screens_thread = threading.get_ident()
        self._give_terminal_back = _terminal_as_it_is()

    def begin(self) -> None:
        """Take the signals over, and look at the terminal."""
        if hasattr(signal, "sigwait"):
            signals = {getattr(signal, name) for name in _SIGNALS}
            signal.pthread_sigmask(signal.SIG_BLOCK, signals)  # handed on to every thread that is begun later
            threading.Thread(target=self._wait_for_signal, args=[signals], daemon=True).start()
        # A terminal may go without a signal: under nohup, or when the bench is no session's first program.
        terminal = sys.__stdin__
        if terminal is not None and terminal.isatty() and hasattr(select, "poll"):
            threading.Thread(target=self._look_at_terminal, args=[terminal.fileno()], daemon=True).start()

    def _wait_for_signal(self, signals: set[signal.Signals]) -> None:
        self._end(128 + signal.sigwait(signals), "a signal")

    def _look_at_terminal(self, terminal: int) -> None:
        poll = select.poll()
        poll.register(terminal, 0)  # only what is told unasked: hung up, or an error
        while not poll.poll(0):
            time.sleep(LOOK_S)
        self._end(128 + signal.SIGHUP, "the terminal's end")

    def _end(self, status: int, why: str) -> None:
        if not self._at_end.acquire(blocking=False):
            return
        if self.app.at_work is not None:
            threading.Thread(target=self.app.at_work.stop, daemon=True).start()
        loop = self.app.loop
        if loop is not None:
            with contextlib.suppress(RuntimeError):  # it is closed: the process is about to end
                loop.call_soon_threadsafe(self.app.exit, status)
            time.sleep(GRACE_S)  # the process, and this thread with it, seldom sees the end of it
        self._end_stuck(status, why)

    def _end_stuck(self, status: int, why: str) -> None:
        from coilbench.records.fault_log import note_stuck

        frame = sys._current_frames().get(self._screens_thread)
        steps: list[tuple[Callable[[], object], float]] = [(self._give_terminal_back, LOOK_S)]
        if frame is not None and self.app.loop is not None:
            steps.append((lambda: note_stuck(frame, f"the screen was stuck at {why}"), NOTE_S))
        for step, longest_s in steps:  # each may be held up by what holds the screen up
            thread = threading.Thread(target=step, daemon=True)
            thread.start()
            thread.join(longest_s)
        os._exit(status)


def _terminal_as_it_is() -> Callable[[], object]:
    """What gives the terminal back in its present state."""
    try:
        import termios

        terminal = sys.__stdin__.fileno() if sys.__stdin__ is not None else 0
        settings = termios.tcgetattr(terminal)
    except (ImportError, OSError, ValueError, termios.error):
        return lambda: None

    def give_back() -> None:
        with contextlib.suppress(OSError, termios.error):
            termios.tcsetattr(terminal, termios.TCSANOW, settings)
            os.write(terminal, _GIVEN_BACK)

    return give_back
