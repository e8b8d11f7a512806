"""The entries of a temperature-rise test as the bin keeps them: each one an event, saved the moment it is made.

A soak takes half an hour and can't be repeated at once, so nothing of it waits for the rating to be saved.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime

from coilbench.records.rows import Entry
from coilbench.records.saved.ratings import SoakEntry

HOT, COOLING = "hot", "after"  # the fields that readings after switching off go to
OFF, COOLED = "off", "cooling"  # entries that are no field's
LONGEST_SECOND = 1800.0


@dataclass(frozen=True)
class LiveSoak:
    """What the entries of a soak say that no rating was saved with yet: the fields' texts, and when the supply went
    off (ISO 8601), None where it didn't."""

    texts: dict[str, str] = field(default_factory=dict)
    off_time: str | None = None


def live_soak(entries: Sequence[Entry[SoakEntry]]) -> LiveSoak:
    """What these entries come to, in their order."""
    texts: dict[str, str] = {}
    off_time = None
    for entry in entries:
        what, text = entry.value.soak, entry.value.text
        if what == OFF:
            off_time, texts[HOT], texts[COOLING] = entry.time, "", ""  # those of an earlier run are done with
        elif what == COOLED:
            # Semicolons part the readings: a comma may be the decimal sign.
            point = f"{entry.value.second}s:{text}"
            texts[COOLING] = "; ".join(part for part in (texts.get(COOLING), point) if part)
        else:
            texts[what] = text
    return LiveSoak(texts, off_time)


class OffClock:
    """Counts from the moment at which the supply went off.

    The time that is kept says when that was; from then on it is counted by ``monotonic``, which nobody sets.
    """

    def __init__(self, monotonic: Callable[[], float] = time.monotonic) -> None:
        self._monotonic = monotonic
        self._off_time: str | None = None
        self._since = 0.0

    def second(self, off_time: str | None) -> float | None:
        """Seconds since then; None where it wasn't, or so long ago that the motor is cold again."""
        if off_time is None:
            return None
        if off_time != self._off_time:
            ago = (datetime.now(UTC) - datetime.fromisoformat(off_time)).total_seconds()
            self._off_time, self._since = off_time, self._monotonic() - ago
        second = self._monotonic() - self._since
        return second if 0 <= second < LONGEST_SECOND else None
