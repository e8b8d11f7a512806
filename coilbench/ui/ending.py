"""What ends a bench from outside, a signal or a terminal that is gone: it closes in good order, and a motor stops."""

from __future__ import annotations

import asyncio
import contextlib
import select
import signal
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.app import App

LOOK_S = 0.2


def end_in_order(app: App[int]) -> None:
    """See to it that ``app`` closes by itself when it is told to end, or nobody can see it any more."""
    loop = asyncio.get_running_loop()
    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            with contextlib.suppress(NotImplementedError, RuntimeError):  # not on every system
                loop.add_signal_handler(getattr(signal, name), app.exit)
    # A terminal may go without a signal: under nohup, or when the bench is no session's first program.
    terminal = sys.__stdin__
    if terminal is not None and terminal.isatty() and hasattr(select, "poll"):
        watch = select.poll()
        watch.register(terminal.fileno(), 0)  # only what is told unasked: hung up, or an error

        def look() -> None:
            if watch.poll(0):
                app.exit()

        app.set_interval(LOOK_S, look)
