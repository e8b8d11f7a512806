"""One direction of a serial line, in simulated time: bytes come one after the other, at the line's speed."""

from __future__ import annotations

import math
from collections import deque

from coilbench.board.link.frames import STOP_BYTE

BYTE_S = 10 / 115_200  # start bit, 8 data bits, stop bit
_HALF_A_BYTE_SOONER = 0.5  # for the last digit of a clock


class Wire:
    """Bytes put on it now can be taken once they have come through."""

    def __init__(self) -> None:
        self._pieces: deque[tuple[float, bytes]] = deque()  # when the first byte begins
        self._free_s = -math.inf

    def put(self, data: bytes, now_s: float) -> None:
        """Send ``data`` after whatever is still under way."""
        began_s = max(self._free_s, now_s)
        self._free_s = began_s + len(data) * BYTE_S
        self._pieces.append((began_s, data))

    def take(self, now_s: float) -> bytes:
        """The bytes that have come through since the last call."""
        taken = bytearray()
        while self._pieces:
            began_s, data = self._pieces[0]
            whole = min(max(int((now_s - began_s) / BYTE_S + 1 - _HALF_A_BYTE_SOONER), 0), len(data))
            taken += data[:whole]
            if whole < len(data):
                self._pieces[0] = (began_s + whole * BYTE_S, data[whole:])
                break
            self._pieces.popleft()
        return bytes(taken)

    @property
    def next_line_s(self) -> float:
        """When the next line's end, or stop byte, will be through; infinite when there is none."""
        for began_s, data in self._pieces:
            if places := [place for end in (b"\n", STOP_BYTE) if (place := data.find(end)) >= 0]:
                return began_s + (min(places) + 1) * BYTE_S
        return math.inf

    @property
    def empty_s(self) -> float:
        """When all is through; the past when nothing is under way."""
        return self._free_s if self._pieces else -math.inf
