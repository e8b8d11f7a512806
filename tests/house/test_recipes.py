"""DEVELOPERS.md says how to add things: each recipe is walked on a copy, with at most three files of the product."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
MOST_FILES = 3


class Copy:
    """A copy of the product that may be changed."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.touched: set[str] = set()
        shutil.copytree(ROOT / "coilbench", folder / "coilbench", ignore=shutil.ignore_patterns("__pycache__"))

    def write(self, path: str, text: str) -> None:
        """A new file."""
        target = self.folder / "coilbench" / path
        assert not target.exists()
        self.touched.add(path)
        target.write_text(text, encoding="utf-8")

    def insert(self, path: str, before: str, text: str) -> None:
        """A line or more before the last place where ``before`` stands."""
        target = self.folder / "coilbench" / path
        head, found, tail = target.read_text(encoding="utf-8").rpartition(before)
        assert found, f"{path} has no {before!r}"
        self.touched.add(path)
        target.write_text(f"{head}{text}{before}{tail}", encoding="utf-8")

    def run(self, *words: str, status: int | None = 0) -> str:
        """What the copy's Python answers; it must end with this status, or with any but a fault where it is None."""
        assert len(self.touched) <= MOST_FILES
        environment = {**os.environ, "PYTHONPATH": str(self.folder), "COILBENCH_BIN": str(self.folder / "bin.db")}
        environment["COILBENCH_CONFIG"] = str(self.folder / "config.toml")
        done = subprocess.run(
            [sys.executable, *words], capture_output=True, text=True, env=environment, cwd=self.folder, check=False
        )
        good = (0, 3) if status is None else (status,)
        assert done.returncode in good and "Traceback" not in done.stderr, done.stdout + done.stderr
        return done.stdout


@pytest.fixture
def copy(tmp_path: Path) -> Copy:
    return Copy(tmp_path)


@pytest.fixture
def command(copy: Copy) -> Callable[..., str]:
    return lambda *words, **how: copy.run("-m", "coilbench", *words, **how)


SEVEN = """        Arrangement(
            "tapped-and-two-7",
            terminals=7,
            edges=((0, 1, 1.0), (1, 2, 1.0), (3, 4, 1.0), (5, 6, 1.0)),
            coils=((0, 2, 1), (3, 4, None), (5, 6, None)),
            shares={7: 0.5},
            title="a tapped coil and two plain ones",
            motor="a motor of one tapped coil and two plain ones",
        ),
"""
READ = """from,to,ohms
a,c,48
a,b,24.2
b,c,24.2
d,e,24.2
f,g,24.2
a,d,OL
a,f,OL
d,f,OL
d,g,OL
e,f,OL
"""
SIX_AND_A_SPARE = """from,to,ohms
a,c,48
a,b,24.2
d,f,48
d,e,24.2
a,d,OL
a,g,OL
d,g,OL
b,g,OL
"""


def test_an_arrangement(copy: Copy, command: Callable[..., str]) -> None:
    copy.insert("winding/engine/catalogue.py", '        Arrangement(\n            "five-phase-10"', SEVEN)
    for text, name in ((READ, "tapped-and-two-7"), (SIX_AND_A_SPARE, "unipolar-6")):
        (copy.folder / "read.csv").write_text(text)
        found = json.loads(command("windings", "read.csv", "--leads", "a,b,c,d,e,f,g", "--json", status=None))
        assert found["arrangement"] == name
        assert command("windings", "read.csv", "--leads", "a,b,c,d,e,f,g", "--ascii", status=None)


def test_a_command(copy: Copy, command: Callable[..., str]) -> None:
    copy.write(
        "cli/greet.py",
        """
import argparse

HELP = "Say good day."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--name", default="bench")


def run(args: argparse.Namespace) -> int:
    print(f"good day, {args.name}")
    return 0
""",
    )
    copy.insert("cli/__init__.py", '    "diagnosis":', '    "greet": "say good day",\n')
    assert "greet" in command("--help") and "good day, shaft" in command("greet", "--name", "shaft")


SAVED = """
from typing import ClassVar

from coilbench.records.saved.base import Fact, Positive, Text, record


@record
class Felt(Fact):
    stage: ClassVar[str] = "felt"
    detents: Positive
    note: Text = ""


FACT = Felt
EVENT = None
"""
STAGE = """
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.felt import Felt
from coilbench.stages.form import Answer, Field, FormStage, Texts
from coilbench.stages.stage import Known


class FeltStage(FormStage[Answer]):
    id = "felt"
    TITLE = "how the shaft feels"
    CAUTION = "all leads apart"
    FIELDS = (Field("detents", "detents", "200", "Counted over a turn.", "one", "one"), Field("note", "note"))

    def texts(self) -> dict[str, str]:
        felt = self.desk.known.get(Felt)
        return {} if felt is None else {"detents": f"{felt.detents:g}", "note": felt.note}

    def answer(self, texts: Texts) -> Answer:
        return Answer(lines=(f"{self._detents(texts):g} detents",))

    def keep(self, texts: Texts) -> Answer:
        self.desk.keep(self.id, Felt(detents=self._detents(texts), note=texts.get("note", "")))
        return self.answer(texts)

    def _detents(self, texts: Texts) -> float:
        return float(texts.get("detents") or 1)

    @classmethod
    def summary(cls, known: Facts) -> list[Known]:
        felt = known.get(Felt)
        return [] if felt is None else [Known("detents", f"{felt.detents:g}")]
"""
WALK_THROUGH = """
import asyncio, json
from pathlib import Path
from coilbench.records.config import Config
from coilbench.records.exchange import export_object, import_text
from coilbench.records.store import Bin
from coilbench.ui.app import BenchApp
from coilbench.ui.screens.sheet import BenchSheet


async def walk() -> None:
    app = BenchApp(Path("bin.db"), config=Config())
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        app.bin.add_motor("M-01", ["RD", "BU"])
        await app.push_screen(BenchSheet("M-01", stage_id="felt"))
        await pilot.pause()
        await pilot.press(*"48", "enter")
        await pilot.pause()
        await pilot.press("ctrl+z")
        await pilot.pause()
        assert "felt" not in app.bin.known("M-01")
        await pilot.press("ctrl+y")
        await pilot.pause()
        assert "felt" in app.bin.known("M-01") and "✓" in str(app.screen.query_one("#stage-felt").content)
        await pilot.press("f3")
        await pilot.pause()
        assert any("detents" in line and "48" in line for line in app.screen.facts)


asyncio.run(walk())
with Bin.open(Path("bin.db")) as bin_, Bin.open(Path("copy.db")) as other:
    import_text(other, json.dumps(export_object(bin_)))
    assert export_object(other) == export_object(bin_)
print("walked")
"""


def test_a_stage(copy: Copy) -> None:
    copy.write("records/saved/felt.py", SAVED)
    copy.write("stages/felt.py", STAGE)
    copy.insert(
        "stages/table.py",
        '    StageRow("intake"',
        '    StageRow("felt", "felt", "how the shaft feels", "coilbench.stages.felt:FeltStage"),\n',
    )
    assert "walked" in copy.run("-c", WALK_THROUGH)


def test_a_chip(copy: Copy, command: Callable[..., str]) -> None:
    table = copy.folder / "coilbench/driver/chips.csv"
    columns = next(line for line in table.read_text().splitlines() if line.startswith("chip,")).split(",")
    cells = {"chip": "QX100", "formula": "VREF_RS", "factor": "0.1", "status": "verified", "document": "its sheet"}
    table.write_text(table.read_text() + ",".join(cells.get(column, "") for column in columns) + "\n")
    copy.touched.add("driver/chips.csv")
    answer = json.loads(command("vref", "--chip", "QX100", "--sense", "R100", "--vref", "0.8 V", "--json"))
    assert answer["peak_amp"] == pytest.approx(0.8) and answer["verified"]


FORMULA = '''@dataclass(frozen=True, slots=True)
class TwiceVref(SetByReference):
    """VREF_TWICE: peak = 2 factor VREF."""

    factor: float

    @property
    def symbols(self) -> str:
        return f"peak = {2 * self.factor:g} A/V x VREF"

    def ampere_per_volt(self, sense_ohm: float | None, torque: float = 1.0) -> float:
        return 2 * self.factor * torque


'''


def test_a_chip_with_a_new_formula(copy: Copy, command: Callable[..., str]) -> None:
    copy.insert("driver/formulas.py", "FORMULAS: Mapping", FORMULA)
    copy.insert("driver/formulas.py", '    "UNKNOWN":', '    "VREF_TWICE": TwiceVref,\n')
    (copy.folder / "drivers.csv").write_text("chip,formula,factor\nQX200,VREF_TWICE,0.5\n")
    answer = json.loads(command("vref", "--chip", "QX200", "--current", "0.8 A", "--json"))
    assert answer["vref_volt"] == pytest.approx(0.8) and answer["formula"] == "peak = 1 A/V x VREF"
    back = json.loads(command("vref", "--chip", "QX200", "--vref", "0.8 V", "--json"))
    assert back["peak_amp"] == pytest.approx(0.8)
