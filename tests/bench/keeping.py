"""How long a reading takes to be on the disk."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from table import Row

from coilbench.records import writing
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import Reading

READINGS = 300


def saved() -> list[Row]:
    """one reading saved"""
    with tempfile.TemporaryDirectory() as folder, Bin.open(Path(folder) / "motors.db") as bin_:
        bin_.add_motor("M-07", ["RD", "BU"])
        taken = []
        for number in range(READINGS):
            begun = time.perf_counter()
            writing.add_reading(bin_, "M-07", Reading("RD", "BU", float(number)))
            taken.append(1000 * (time.perf_counter() - begun))
    taken.sort()
    return [
        Row("a reading saved", f"median {taken[len(taken) // 2]:.2f} ms, 99 in 100 within", taken[-4], 10.0, "ms")
    ]
