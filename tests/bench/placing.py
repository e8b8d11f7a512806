"""How long the motors of a bin take to be placed on a machine's axes."""

from __future__ import annotations

import random
import time

from table import Row

from coilbench.motion.assignment import Place, assign

MOTORS, AXES = 30, 6


def placed() -> list[Row]:
    """thirty motors placed on six axes"""
    taken = [_seconds(seed, pairs) for pairs in (0, 1, 2) for seed in range(5)]
    measured = f"{len(taken)} bins, up to two axes with a pair: mean {1000 * sum(taken) / len(taken):.0f} ms"
    return [Row(f"placing {MOTORS} motors on {AXES} axes", measured, 1000 * max(taken), 200.0, "ms")]


def _seconds(seed: int, pairs: int) -> float:
    rng = random.Random(seed)
    two = [(one, other) for one in range(MOTORS) for other in range(one + 1, MOTORS)]
    places = [Place(by_pair={each: rng.uniform(0, 5) for each in two}) for _ in range(pairs)]
    places += [Place(by_motor={each: rng.uniform(0, 5) for each in range(MOTORS)}) for _ in range(AXES - pairs)]
    begun = time.perf_counter()
    assign(places)
    return time.perf_counter() - begun
