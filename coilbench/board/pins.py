"""The pins of a helper board as it comes: one table for the virtual board, the drawings and the sketch.

A real board says itself which it has: whoever edits the sketch's ``board_config.h`` has other ones. A test holds this
table against that page as it is shipped, for the board of the ATmega328P.
"""

from __future__ import annotations

ANALOGUE_CHANNELS = 8  # of the virtual board, which has two clips more than the board of the ATmega328P

PINS: dict[str, dict[str, int]] = {
    "driver": {"step": 5, "dir": 6, "enable": 7, "active": 0},
    "coils": {"a": 8, "b": 9, "c": 10, "d": 11, "active": 1},
    "sense": {"index": 2, "first": 14, "channels": ANALOGUE_CHANNELS},
    "clips": {"a": 8, "b": 9, "c": 10, "d": 11, "e": 12, "f": 4, "g": 22, "h": 23},
}
