"""How long a reading takes to be on the disk, and a large bin to be open and looked through."""

from __future__ import annotations

import json
import sqlite3
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from table import Row

from coilbench.records import writing
from coilbench.records.exchange import import_text
from coilbench.records.store import Bin
from coilbench.stages.bin.notes import archived
from coilbench.winding.readings.reading import Reading

READINGS = 300
MOTORS = 5_000
ROUNDS = 5


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


def large_bin() -> list[Row]:
    """a bin of 5,000 motors: opened, listed, filtered"""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "motors.db"
        with Bin.open(path) as bin_:
            import_text(bin_, _export())
        bare, opened = _median(lambda: _bare(path)), _median(lambda: _opened(path))
        with Bin.open(path) as bin_:
            filtered = _median(lambda: _filtered(bin_))
    of = f"of {MOTORS} motors"
    return [
        Row(f"a bin {of} opened", f"{opened:.0f} ms, sqlite's own check {bare:.0f} ms", opened / bare, 4.0, "x"),
        Row(f"a bin {of} filtered", f"{filtered:.0f} ms", filtered / bare, 2.0, "x"),
    ]


def _export() -> str:
    """Motors with a label, windings and eight readings each."""
    when = "2026-03-04T12:00:00.000Z"
    reading = {"range_ohms": None, "meter": "", "kind": "ohms", "time": when, "from": "RD", "to": "BU"}
    windings = {
        "arrangement": "bipolar-4",
        "confidence": 0.99,
        "coils": [{"name": "A", "ends": ["RD", "BU"], "ohms": 2.4}, {"name": "B", "ends": ["GN", "BK"], "ohms": 2.4}],
    }
    motors = [
        {
            "name": f"M-{number}",
            "leads": ["RD", "BU", "GN", "BK"],
            "created": when,
            "readings": [{**reading, "ohms": number + place} for place in range(8)],
            "facts": {
                "intake": {"value": {"label": f"box {number % 50}"}, "time": when},
                "windings": {"value": windings, "time": when},
            },
            "events": [],
        }
        for number in range(MOTORS)
    ]
    return json.dumps({"format": "coilbench-bin", "version": 2, "motors": motors})


def _bare(path: Path) -> None:
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA integrity_check(1)").fetchone()
    for table in ("motors", "readings", "facts"):
        connection.execute(f"SELECT * FROM {table}").fetchall()
    connection.close()


def _opened(path: Path) -> None:
    Bin.open(path).close()


def _filtered(bin_: Bin) -> None:
    away = archived(bin_)
    assert len([each for each in bin_.motors() if each.name not in away and "49" in each.name]) > 0


def _median(act: Callable[[], None]) -> float:
    """Milliseconds."""
    taken = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        act()
        taken.append(1000 * (time.perf_counter() - begun))
    return sorted(taken)[ROUNDS // 2]
