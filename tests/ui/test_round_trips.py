"""Screen and commands are two ways to the same stages: what one keeps the other shows; looking changes nothing."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from textual.widgets import Input

from coilbench.board.virtual.crate import VirtualCrate
from coilbench.board.virtual.demo_motors import DEMO_MOTORS
from coilbench.cli import main
from coilbench.records.config import Config
from coilbench.records.exchange import export_object
from coilbench.records.saved.base import Fact
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Windings
from coilbench.records.store import Bin
from coilbench.stages.demo import open_demo
from coilbench.stages.table import STAGES
from coilbench.ui.app import BenchApp
from tests.support.more import some

from .screen import measured_out, open_stage, standing

SOUND = ("M-01", "M-02", "M-04")
JOG = ("--port", "virtual://bench?clock=free", "--find", "start", "--moves", "3", "--width", "60", "--yes")


class Person(io.TextIOBase):
    """Answers the questions that a dialogue in JSON lines writes, by a motor of the demo."""

    def __init__(self, motor: str, said: io.StringIO) -> None:
        self._motor, self._said, self._crate = motor, said, VirtualCrate()

    def readline(self, size: int = -1) -> str:  # type: ignore[override]
        asked = json.loads(self._said.getvalue().splitlines()[-1])
        if "test" in asked:
            test = SimpleNamespace(kind=asked["test"], reference=asked["reference"], touched=asked["touch"])
            return f"{self._crate.twitch(self._motor, test)}\n"  # type: ignore[arg-type]
        pair = ("probes", "probes") if asked["ask"] == "probes-together" else asked["ask"]
        ohm = self._crate.measure(self._motor, *pair)
        return "OL\n" if ohm == float("inf") else f"{ohm}\n"


@pytest.fixture
def sorted_by_command(monkeypatch: pytest.MonkeyPatch) -> Any:
    """``windings --ask --save`` for a motor of the demo; its exit status."""

    def sort(path: Path, motor: str) -> int:
        with Bin.open(path) as bin_:
            leads = ",".join(bin_.motor(motor).leads)
        said = io.StringIO()
        with monkeypatch.context() as streams:
            streams.setattr(sys, "stdin", Person(motor, said))
            streams.setattr(sys, "stdout", said)
            return main(
                ["windings", "--bin", str(path), "--ask", "--order", "--json", "--leads", leads, "--save", motor]
            )

    return sort


@pytest.fixture
def demo_bin(tmp_path: Path) -> Path:
    open_demo(tmp_path / "demo.bin")[0].close()
    return tmp_path / "demo.bin"


def exported(path: Path) -> dict[str, Any]:
    with Bin.open(path) as bin_:
        return export_object(bin_)


def without_times(whole: dict[str, Any]) -> Iterator[tuple[str, str, Any]]:
    for motor in whole["motors"]:
        for stage, fact in motor["facts"].items():
            yield motor["name"], stage, fact["value"]


@pytest.mark.parametrize("motor", some([each.name for each in DEMO_MOTORS], of=("M-07", "M-12")))
async def test_what_commands_kept_is_not_changed_by_opening_every_stage(
    demo_bin: Path, sorted_by_command: Any, settle: Any, motor: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert sorted_by_command(demo_bin, motor) in (0, 3)
    words = ("--bin", str(demo_bin), "--motor", motor, "--save", "--json")
    statuses = [
        main(["rate", *words, "--length", "40mm"]),
        main(["connect", *words, "--chip", "A4988", "--supply", "24V"]),
        main(["vref", *words, "--chip", "A4988", "--sense", "R100"]),
        main(["jog", *words, *JOG]),
    ]
    capsys.readouterr()
    before = exported(demo_bin)
    if motor in SOUND:
        assert statuses == [0, 0, 0, 0]
        kept = {stage for name, stage, _ in without_times(before) if name == motor}
        assert kept == {row.id for row in STAGES} - ({"order"} if motor == "M-01" else set())
    app = BenchApp(demo_bin, demo=True, config=Config(), find_ports=list, virtual_options="clock=free")
    async with standing(app, settle) as pilot:
        opened = await open_stage(pilot, settle, motor, STAGES[0].id)
        for stage in STAGES[1:]:
            await pilot.click(f"#stage-{stage.id}")
            await settle(pilot)
            assert opened.stage_id == stage.id
        await pilot.press("escape")
        await settle(pilot)
    assert exported(demo_bin) == before


def known(path: Path, motor: str, kind: type[Fact]) -> Any:
    with Bin.open(path) as bin_:
        found = bin_.known(motor).get(kind)
    assert found is not None
    return found


@pytest.mark.parametrize("motor", some(SOUND, of=("M-04",)))
async def test_what_the_screen_kept_commands_answer_and_what_was_typed_is_there_again(
    demo_bin: Path, settle: Any, motor: str, capsys: pytest.CaptureFixture[str]
) -> None:
    app = BenchApp(demo_bin, demo=True, config=Config(), find_ports=list, virtual_options="clock=free")
    async with standing(app, settle, size=(100, 40)) as pilot:
        await open_stage(pilot, settle, motor, "windings")
        await measured_out(pilot, settle)
        await app.screen.show_stage("order")  # type: ignore[attr-defined]
        for _ in range(12):
            await pilot.press("m")
            await settle(pilot)
        for stage, typed, key in (
            ("ratings", {"length": "40 mm", "coil": "2.4"}, "enter"),
            ("connection", {"driver": "A4988", "supply": "24"}, "f5"),
            ("driver", {"sense": "R100"}, "enter"),
        ):
            await app.screen.show_stage(stage)  # type: ignore[attr-defined]
            await settle(pilot)
            for field, text in typed.items():
                app.screen.query_one(f"#{stage}-{field}", Input).value = text
            app.screen.query_one(f"#{stage}-{next(iter(typed))}", Input).focus()
            await pilot.press(key)
            await settle(pilot)
        for stage, field, text in (
            ("ratings", "coil", "2.4"),
            ("connection", "supply", "24"),
            ("driver", "sense", "R100"),
        ):
            await app.screen.show_stage(stage)  # type: ignore[attr-defined]
            await settle(pilot)
            assert app.screen.query_one(f"#{stage}-{field}", Input).value == text
    before = exported(demo_bin)
    words = ("--bin", str(demo_bin), "--motor", motor, "--json")

    def answer(command: str, *more: str) -> dict[str, Any]:
        assert main([command, *words, *more]) == 0
        answered: dict[str, Any] = json.loads(capsys.readouterr().out.splitlines()[-1])
        return answered

    rated, connected, driver = (known(demo_bin, motor, kind) for kind in (Ratings, Connection, Driver))
    assert answer("rate")["start_amp"] == rated.current_ampere
    row = next(each for each in answer("connect")["rows"] if each["connection"] == connected.connection)
    assert (row["usable_amp"], row["ohm"]) == (connected.current_ampere, connected.resistance_ohm)
    assert answer("vref")["vref_volt"] == driver.vref_volt
    assert exported(demo_bin) == before
    for command in ("rate", "connect", "vref"):
        answer(command, "--save")
    after = exported(demo_bin)
    assert list(without_times(after)) == list(without_times(before))
    assert known(demo_bin, motor, Windings).readings == len(
        next(each for each in after["motors"] if each["name"] == motor)["readings"]
    )
