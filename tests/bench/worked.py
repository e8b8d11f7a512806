"""A bin of five thousand motors that went through every stage, against one of ten: opened, filtered, listed."""

from __future__ import annotations

import asyncio
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from starting import ROOT, until_shown
from table import Row

from coilbench.records.config import Config
from coilbench.records.exchange import import_text
from coilbench.records.store import Bin
from coilbench.stages.bin.lines import BinLines
from coilbench.ui.app import BenchApp

FEW, MANY = 10, 5_000
ROUNDS = 5
EXPORT = ROOT / "tests" / "records" / "earlier" / "export-1.json"
WORKED = "M-02"


def worked_bin() -> list[Row]:
    """a bin of 5,000 worked motors against one of 10"""
    with tempfile.TemporaryDirectory() as folder:
        few, many = (_bin(Path(folder) / f"{count}.db", count) for count in (FEW, MANY))
        started = {path: _median(lambda path=path: _started(path, folder)) for path in (few, many)}
        listed = {path: _median(lambda path=path: _listed(path, folder)) for path in (few, many)}
        keys = {path: asyncio.run(_key(path)) for path in (few, many)}
    return [
        _more(f"first screen with {MANY} worked motors", *started.values(), 500.0),
        _more(f"`bin list` of {MANY} worked motors", *listed.values(), 1500.0),
        _more(f"a key of the filter on {MANY} motors, drawn", *keys.values(), 50.0),
    ]


def _more(name: str, few: float, many: float, limit: float) -> Row:
    return Row(name, f"{many:.0f} ms, with {FEW} {few:.0f} ms", many - few, limit, "ms more")


def _bin(path: Path, count: int) -> Path:
    """Made of one motor's facts, readings and moves under other names, and looked through once."""
    whole = json.loads(EXPORT.read_text(encoding="utf-8"))
    one = next(each for each in whole["motors"] if each["name"] == WORKED)
    whole["motors"] = [
        {**one, "name": f"B-{number:04}", "created": f"2026-01-01T00:00:00.{number:04}Z"} for number in range(count)
    ]
    with Bin.open(path) as bin_:
        import_text(bin_, json.dumps(whole))
        BinLines(bin_).now()
    return path


def _started(path: Path, folder: str) -> None:
    until_shown([sys.executable, "-m", "coilbench", "--bin", str(path)], folder, "B-0005")


def _listed(path: Path, folder: str) -> None:
    command = [sys.executable, "-m", "coilbench", "--bin", str(path), "bin", "list"]
    subprocess.run(command, cwd=ROOT, stdout=subprocess.DEVNULL, check=True, env={**os.environ, "HOME": folder})


async def _key(path: Path) -> float:
    """A key typed into the filter, until it is drawn, in ms."""
    app = BenchApp(path, config=Config(), find_ports=list)
    taken = []
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("slash")
        await pilot.pause()
        for key in "unipolar":
            begun = time.perf_counter()
            await pilot.press(key)
            taken.append(1000 * (time.perf_counter() - begun))
    return statistics.median(taken)


def _median(act) -> float:  # type: ignore[no-untyped-def]
    """Milliseconds."""
    taken = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        act()
        taken.append(1000 * (time.perf_counter() - begun))
    return statistics.median(taken)
