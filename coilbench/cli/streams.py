"""Standard streams that are not there: closed by whoever started the command, or gone meanwhile."""

from __future__ import annotations

import contextlib
import os
import sys
from typing import IO


def make_ready() -> None:
    """Give every standard stream something to stand on; a terminal without our signs shows a question mark.

    A descriptor that is free would be the next file's, the bin's even, and what is printed would be written into it.
    Closed input is at its end, closed output fails when it is written, closed error output is passed over.
    """
    for number, flags in ((0, os.O_RDONLY), (1, os.O_RDONLY), (2, os.O_WRONLY)):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, flags)  # takes the lowest that is free, which is this one
    if sys.stdin is None:
        sys.stdin = os.fdopen(0, encoding="utf-8", closefd=False)
    if sys.stdout is None:
        sys.stdout = os.fdopen(1, "w", encoding="utf-8", closefd=False)
    if sys.stderr is None:
        sys.stderr = os.fdopen(2, "w", encoding="utf-8", closefd=False)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def let_go(stream: IO[str]) -> None:
    """Have what a stream still holds go nowhere, so that the interpreter doesn't complain when it flushes at exit."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
