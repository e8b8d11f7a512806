"""Waiting for a board that was unplugged to come back."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TypeVar

from .faults import LinkFault, WrongDevice

Opened = TypeVar("Opened")

RETURN_WAIT_S = 60.0
_PAUSE_S = 0.5


def wait_for_return(
    open_again: Callable[[], Opened],
    wait_s: float = RETURN_WAIT_S,
    *,
    now: Callable[[], float] = time.monotonic,
    sleep: Callable[[float], None] = time.sleep,
) -> Opened:
    """Try ``open_again`` until it succeeds; raises its last LinkFault after ``wait_s`` seconds.

    A port that may not be used yet is tried again too: systems set the rights a moment after it appears. Another
    device on the port ends the wait.
    """
    until_s = now() + wait_s
    while True:
        try:
            return open_again()
        except WrongDevice:
            raise
        except LinkFault:
            if now() >= until_s:
                raise
        sleep(_PAUSE_S)
