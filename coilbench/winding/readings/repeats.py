"""Readings of one pair taken more than once: which value is believed, and which readings are overruled by it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from coilbench.winding.readings.reading import FRAME, PROBES, Reading

OPEN_ABOVE_OHM = 10_000.0  # lead to lead: fingers on the probes read megohms


def agree(x: float, y: float) -> bool:
    """Whether two ohm values of one pair say the same, for a hand-held meter on hand-held probes."""
    return x == y or (x < math.inf and y < math.inf and abs(x - y) <= 0.3 + 0.04 * max(x, y))


def believed(ohms: Sequence[float]) -> float:
    """Of several readings of one pair the value most agree on, the latest if even."""
    best = max(range(len(ohms)), key=lambda k: (sum(agree(ohms[k], other) for other in ohms), k))
    return ohms[best]


def overruled(readings: Sequence[Reading]) -> list[bool]:
    """For each reading whether others of the same pair outweigh it, or a later one contradicts it."""
    by_pair: dict[frozenset[str], list[float]] = {}
    for reading in readings:
        by_pair.setdefault(frozenset((reading.a, reading.b)), []).append(_heard(reading))
    held = {pair: believed(ohms) for pair, ohms in by_pair.items()}
    return [not agree(_heard(reading), held[frozenset((reading.a, reading.b))]) for reading in readings]


def _heard(reading: Reading) -> float:
    if reading.ohm > OPEN_ABOVE_OHM and not {reading.a, reading.b} & {FRAME, PROBES}:
        return math.inf
    return reading.ohm
