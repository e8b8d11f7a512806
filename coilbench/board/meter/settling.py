"""When a meter's readings have come to rest, and whether a hand has moved the probes since. Pure."""

from __future__ import annotations

import math
from collections import deque

ALIKE = 3  # readings in a row
OPEN_IN_A_ROW = 6  # a hand that puts the probes on is that long in the air
SHARE = 0.003  # of the reading, by which they may differ
LEAST_OHM = 0.03  # contact pressure alone moves a reading by as much; common practice


class Settling:
    """Readings in ohm, one after the other; ``inf`` for open."""

    def __init__(self) -> None:
        self._last: deque[float] = deque(maxlen=ALIKE)
        self._open = 0

    def feed(self, ohm: float) -> float | None:
        """The middle one of the last readings where they are alike, or open for long enough; None before."""
        self._last.append(ohm)
        self._open = self._open + 1 if math.isinf(ohm) else 0
        if self._open:
            return ohm if self._open >= OPEN_IN_A_ROW else None
        if len(self._last) < ALIKE:
            return None
        low, middle, high = sorted(self._last)
        alike = math.isfinite(high) and high - low <= max(SHARE * middle, LEAST_OHM)
        return middle if alike else None

    @property
    def between(self) -> tuple[float, float] | None:
        """The lowest and the highest of the last readings that are no open; None for none."""
        closed = [ohm for ohm in self._last if math.isfinite(ohm)]
        return (min(closed), max(closed)) if closed else None


class Hand:
    """What a hand does at the probes, by the readings alone: a reading counts once, and the next one only after the
    probes were lifted. An open circuit is never taken by itself: it may be that nobody has put them on yet."""

    def __init__(self) -> None:
        self._settling = Settling()
        self._ready = True

    def feed(self, ohm: float) -> float | None:
        """The reading to take, in ohm; None for none."""
        if math.isinf(ohm):
            self._settling, self._ready = Settling(), True
            return None
        rested = self._settling.feed(ohm)
        if rested is None or not self._ready:
            return None
        self._ready = False
        return rested

    @property
    def must_lift(self) -> bool:
        """The reading that the probes are on was taken: they have to be lifted before the next."""
        return not self._ready
