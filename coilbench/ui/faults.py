"""Faults of the program itself: written down, said once, and only where they don't end by themselves the end."""

from __future__ import annotations

import time
from collections import deque

from coilbench.errors import CoilbenchError
from coilbench.records.fault_log import note_fault

MOST = 20  # in ``WITHIN_SECONDS``: a screen that can't be drawn fails each time it is drawn
WITHIN_SECONDS = 10.0


def own_fault(fault: Exception) -> CoilbenchError:
    """A fault of the program itself, written down, in words for the person."""
    log = note_fault(fault)
    kept = "" if log is None else f"; it is written down in {log}"
    return CoilbenchError(
        f"something went wrong that nobody foresaw ({type(fault).__name__}: {fault})",
        title="a fault in coilbench",
        remedy=f"nothing that was saved is lost; go on, and report this with the diagnosis (F9){kept}",
    )


class FaultCount:
    """Tells a fault now and then from one that won't end."""

    def __init__(self) -> None:
        self._times: deque[float] = deque(maxlen=MOST)

    def add(self) -> bool:
        """One more; whether there were too many of late."""
        now = time.monotonic()
        self._times.append(now)
        return len(self._times) == MOST and now - self._times[0] < WITHIN_SECONDS
