"""How long the motors of a bin take to be placed on a machine's axes, and what would help where none does."""

from __future__ import annotations

import random
import time

from table import Row

from coilbench.motion.assignment import Place, assign
from coilbench.records.store import Bin
from coilbench.stages.machine.file import machine_in
from coilbench.stages.machine.fit import fit_answer
from tests.support.machines import HEAD, add, axis

MOTORS, AXES = 30, 6
MOST_MS = 200.0


def placed() -> list[Row]:
    """thirty motors placed on six axes"""
    taken = [_seconds(seed, pairs) for pairs in (0, 1, 2) for seed in range(5)]
    measured = f"{len(taken)} bins, up to two axes with a pair: mean {1000 * sum(taken) / len(taken):.0f} ms"
    return [Row(f"placing {MOTORS} motors on {AXES} axes", measured, 1000 * max(taken), MOST_MS, "ms"), *_fitted()]


def _seconds(seed: int, pairs: int) -> float:
    rng = random.Random(seed)
    two = [(one, other) for one in range(MOTORS) for other in range(one + 1, MOTORS)]
    places = [Place(by_pair={each: rng.uniform(0, 5) for each in two}) for _ in range(pairs)]
    places += [Place(by_motor={each: rng.uniform(0, 5) for each in range(MOTORS)}) for _ in range(AXES - pairs)]
    begun = time.perf_counter()
    assign(places)
    return time.perf_counter() - begun


def _fitted() -> list[Row]:
    """The whole answer, where so many axes are too heavy: every change is tried for each of them."""
    rng, most = random.Random(1), 0.0
    with Bin.scratch() as bin_:
        for number in range(MOTORS):
            hold, ampere = rng.uniform(0.1, 0.6), rng.uniform(0.3, 1.7)
            add(bin_, f"M{number}", holding_torque_newton_metre=hold, current_ampere=ampere)
        for heavy in (0, 4, AXES):
            axes = [axis(f"a{n}", "40 kg" if n < heavy else "1 kg", "motors = 2\n" * (n == 0)) for n in range(AXES)]
            machine = machine_in(HEAD + "".join(axes), "bench.toml")
            begun = time.perf_counter()
            fit_answer(machine, bin_)
            most = max(most, time.perf_counter() - begun)
    return [
        Row(f"fit of {MOTORS} motors", f"none, 4 and {AXES} axes too heavy, the slowest", 1000 * most, MOST_MS, "ms")
    ]
