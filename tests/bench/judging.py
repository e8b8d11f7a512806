"""How long a reading takes to be judged and the next one chosen, along the whole way to the answer."""

from __future__ import annotations

import math
import time

from table import Row

from coilbench.winding.engine.sorting import judge
from coilbench.winding.readings.reading import FRAME, PROBES, Reading

COIL_OHM = 24.0


def judged() -> list[Row]:
    """one reading judged and the next chosen"""
    judge(("RD", "BU"), [])  # what is loaded once is the start's affair
    return [
        Row(f"judging {leads} leads", *_way(leads, size), limit, "ms")
        for leads, size, limit in (
            (4, 2, 50.0),
            (5, 5, 50.0),
            (6, 3, 50.0),
            (8, 2, 50.0),
            (10, 2, 250.0),
            (12, 2, 250.0),
        )
    ]


def _way(count: int, size: int) -> tuple[str, float]:
    """Follow the questions on a motor of ``size`` leads a group; return what was met and the slowest answer in ms.

    Two leads a group are plain coils, three a tapped coil, five a star with a common lead.
    """
    leads = tuple(f"L{number}" for number in range(1, count + 1))
    readings: list[Reading] = []
    taken: list[float] = []
    while len(readings) <= 3 * count:
        begun = time.perf_counter()
        try:
            verdict = judge(leads, readings)
        except Exception as problem:  # the other measurements are still worth having
            return f"failed: {problem!r}", math.inf
        taken.append(1000 * (time.perf_counter() - begun))
        if verdict.ask is None:
            break
        readings.append(Reading(verdict.ask.a, verdict.ask.b, _ohm(leads, size, verdict.ask.a, verdict.ask.b)))
    first, *later = taken  # the first, before any reading, also lays out what may be hidden behind so many leads
    mean = sum(later) / len(later)
    return f"{verdict.arrangement}: start {first:.0f} ms, {len(later)} readings, mean {mean:.0f} ms", max(later)


def _ohm(leads: tuple[str, ...], size: int, a: str, b: str) -> float:
    if PROBES in (a, b):
        return 0.2
    if FRAME in (a, b):
        return math.inf
    # Dealt out like cards, so that leads beside each other belong to different groups.
    groups = len(leads) // size
    one, other = leads.index(a), leads.index(b)
    if one % groups != other % groups:
        return math.inf
    tapped = size > 2 and min(one, other) < groups  # the first of a group is its tap or common lead
    return COIL_OHM + 0.2 if tapped or size == 2 else 2 * COIL_OHM + 0.2
