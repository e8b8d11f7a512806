"""What the bench has taken is kept: killed in the middle, and when the meter's range is asked for."""

from __future__ import annotations

import os
import pty
import select
import signal
import sys
import time
from pathlib import Path

import pytest
from textual.widgets import Input

from coilbench.board.virtual.demo_motors import DEMO_MOTORS
from coilbench.records import writing
from coilbench.records.store import Bin
from coilbench.stages.windings.judging import AUTOMATIC_RANGE_OHM
from coilbench.ui.dialogs.basic import ConfirmDialog
from coilbench.winding.readings.reading import Reading

from .screen import add_motor, open_stage, shown, standing

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_SECONDS = 60.0


def read_until(terminal: int, mark: bytes) -> None:
    """Take in what is drawn until a text comes by."""
    seen, deadline = b"", time.monotonic() + PATIENCE_SECONDS
    while mark not in seen:
        assert time.monotonic() < deadline, f"{mark!r} never shown"
        if select.select([terminal], [], [], 0.2)[0]:
            seen = seen[-4000:] + os.read(terminal, 65536)


def test_killed_at_once_after_a_reading_it_is_there(tmp_path: Path) -> None:
    path = tmp_path / "own.bin"
    with Bin.open(path) as bin_:
        bin_.add_motor("vent-opener", ("RD", "BU", "WH", "BK"))
    child, terminal = pty.fork()
    if child == 0:
        os.chdir(ROOT)
        environment = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"}
        os.execve(sys.executable, [sys.executable, "-m", "coilbench", "--bin", str(path)], environment)
    try:
        read_until(terminal, b"vent-opener")
        os.write(terminal, b"\r")
        read_until(terminal, b"put the probes on")
        read_until(terminal, b"first reading")
        os.write(terminal, b"2.5\r")
        deadline = time.monotonic() + PATIENCE_SECONDS
        with Bin.open(path) as bin_:
            while not bin_.readings("vent-opener") and time.monotonic() < deadline:
                time.sleep(0.01)
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(terminal)
    with Bin.open(path) as bin_:
        assert [one.ohm for one in bin_.readings("vent-opener")] == [2.5]


@pytest.mark.parametrize(("keys", "range_ohm"), [("200", 200.0), ("", AUTOMATIC_RANGE_OHM)])
async def test_the_range_of_nothing_but_open_readings_is_asked_and_kept(own_bench, settle, keys, range_ohm) -> None:
    app = own_bench()
    async with standing(app, settle) as pilot:
        desk = add_motor(app, "RD BU WH BK")
        for pair in (("RD", "BU"), ("RD", "WH"), ("RD", "BK")):
            desk.add_reading(Reading(*pair, float("inf")))
        await open_stage(pilot, settle, "M-20", "windings")
        assert "which range was the meter on?" in shown(app)
        await pilot.press(*keys, "enter")
        await settle(pilot)
        assert [(one.ohm, one.range_ohm) for one in desk.readings] == [(float("inf"), range_ohm)] * 3
        assert "which range was the meter on?" not in shown(app)
        await pilot.press("ctrl+z")  # one act
        await settle(pilot)
        assert [one.range_ohm for one in desk.readings] == [None] * 3


async def test_a_bin_that_is_open_before_the_screen_stands(demo_bench, settle, monkeypatch) -> None:
    from coilbench.stages.demo import open_demo
    from coilbench.ui.app import BenchApp

    def at_once(app: BenchApp) -> None:
        app.bin_opened(app.BinOpened(*open_demo(app.bin_path)))

    monkeypatch.setattr(BenchApp, "open_demo_bin", at_once)
    app = demo_bench()
    async with standing(app, settle):
        assert app.screen.query_one("#motors").row_count == len(DEMO_MOTORS)


async def test_a_motor_gets_another_name_with_all_that_is_known_of_it(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        writing.add_reading(app.bin, "M-01", Reading("red", "blue", 2.5))
        await open_stage(pilot, settle, "M-01", "intake")
        name = app.screen.query_one("#intake-name")
        assert name.value == "M-01"
        name.value = "M-02"  # taken: nothing is changed
        await pilot.press("enter")
        await settle(pilot)
        assert "already" in str(app.screen.query_one("#said").content)
        name.value = " ve\u0301lo"  # kept in one Unicode form, without spaces around it
        await pilot.press("enter")
        await settle(pilot)
        assert app.screen.motor_name == "v\u00e9lo" == app.bin.motors()[0].name
        name.value = "vent opener"
        await pilot.press("enter")
        await settle(pilot)
        assert "vent opener" in shown(app).splitlines()[0]
        assert [one.ohm for one in app.bin.readings("vent opener")] == [2.5]
        await pilot.press("f3", "m")  # the demo's meter still knows it
        await settle(pilot)
        assert len(app.bin.readings("vent opener")) == 2


async def test_a_field_that_can_not_be_read_leaves_the_intake_as_it_was(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle) as pilot:
        add_motor(app, "RD BU WH BK")
        await open_stage(pilot, settle, "M-20", "intake")
        app.screen.query_one("#intake-leads").value = "RD, BU, WH, BK, GN"
        app.screen.query_one("#intake-length").value = "long"
        await pilot.press("enter")
        await settle(pilot)
        assert app.bin.motor("M-20").leads == ("RD", "BU", "WH", "BK")
        assert "intake" not in app.bin.known("M-20")


@pytest.mark.parametrize("how", ["form", "left", "dialog", "reading"])
async def test_quitting_asks_where_something_is_typed_and_not_saved(demo_bench, settle, how) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(100, 30)) as pilot:
        if how == "dialog":
            await pilot.press("a", "6")
            place = "a new motor"
        elif how == "reading":
            await open_stage(pilot, settle, "M-01", "windings")
            await pilot.press("1", "2")
            place = "M-01, windings"
        else:
            sheet = await open_stage(pilot, settle, "M-01", "intake")
            sheet.query_one("#intake-length", Input).value = "long"
            place = "M-01, intake"
            if how == "left":
                await pilot.press("f3")
        await settle(pilot)
        await pilot.press("ctrl+q", "ctrl+q")
        await settle(pilot)
        assert isinstance(app.screen, ConfirmDialog) and place in shown(app)
        await pilot.press("enter")  # the harmless answer
        await settle(pilot)
        assert app.is_running and not isinstance(app.screen, ConfirmDialog)
        await pilot.press("ctrl+q")
        await settle(pilot)
        await pilot.click("#yes")
    assert app.return_value == 0


async def test_quitting_with_all_saved_asks_nothing(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", "ctrl+q"):
        pass
    assert app.return_value == 0
