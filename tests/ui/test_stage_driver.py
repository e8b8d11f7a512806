"""The driver stage: by keys alone, by mouse alone, backwards, and what it refuses."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Select, Static

from coilbench.ui.app import BenchApp
from coilbench.ui.dialogs.basic import TextDialog
from coilbench.ui.panes.driver import DriverField, DriverPane, marking
from coilbench.ui.screens.sheet import BenchSheet

from .screen import shown, standing

# A sewing-table scanner's motor as the connection stage leaves it.
CONNECTED: dict[str, Any] = {
    "connection": "bipolar",
    "current_ampere": 0.8,
    "resistance_ohm": 12.0,
    "inductance_henry": 9e-3,
    "wiring": [],
}


async def driver_stage(
    pilot: Pilot[int], settle: Callable[..., Any], fact: dict[str, Any] | None = None
) -> DriverPane:
    app = pilot.app
    assert isinstance(app, BenchApp)
    await settle(pilot)
    await pilot.press("enter")
    await settle(pilot)
    if fact is not None:
        app.bin.put_fact("M-01", "connection", fact)
    assert isinstance(app.screen, BenchSheet)
    await app.screen.show_stage("driver")
    await settle(pilot)
    return app.screen.query_one(DriverPane)


async def test_the_driver_typed_for_the_connection_is_not_asked_again(demo_bench, settle) -> None:
    app = demo_bench()
    async with app.run_test() as pilot:
        typed = {"driver": "drv8825", "supply": "24", "drive": "bipolar"}
        pane = await driver_stage(pilot, settle, {**CONNECTED, "typed": typed})
        assert pane.query_one("#driver-chip", Select).value == "DRV8825"
        assert pane.query_one("#driver-supply", DriverField).value == "24 V"
        assert app.bin.fact("M-01", "driver") is None


@pytest.mark.parametrize("size", [(80, 24), (160, 50)])
async def test_keys_alone_set_a_driver(demo_bench, settle, size) -> None:
    app = demo_bench(mouse=False)
    async with app.run_test(size=size) as pilot:
        await driver_stage(pilot, settle, CONNECTED)
        await pilot.press("enter", *"a4988", "enter")
        await settle(pilot)
        assert app.bin.fact("M-01", "driver") is None  # the sense resistor is never guessed
        await pilot.press("tab", *"R100", "enter")
        await settle(pilot)
        assert app.bin.fact("M-01", "driver")["vref_volt"] == pytest.approx(0.64)
        assert "VREF 0.64 V for 0.8 A peak" in shown(app)
        await pilot.press("f5")
        await settle(pilot)
        assert isinstance(app.screen, TextDialog)
        assert "1. power off, motor unplugged" in shown(app)


async def test_mouse_alone_sets_a_driver(demo_bench, settle) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await driver_stage(pilot, settle, CONNECTED)
        await pilot.click("#driver-chip")
        await settle(pilot)
        await pilot.click("#driver-chip SelectOverlay", offset=(4, 1))
        await settle(pilot)
        await pilot.click("#seen-1")
        await pilot.click("#supply-12")
        await settle(pilot)
        saved = app.bin.fact("M-01", "driver")
        assert (saved["chip"], saved["sense_ohm"], saved["supply_volt"]) == ("A4988", 0.068, 12.0)
        assert "reachable 0.9" in shown(app)


async def test_a_measured_reference_says_the_current(demo_bench, settle) -> None:
    app = demo_bench()
    async with app.run_test() as pilot:
        pane = await driver_stage(pilot, settle)
        pane.query_one("#driver-chip", Select).value = "DRV8825"
        pane.query_one("#driver-sense", DriverField).value = "R100"
        pane.query_one("#driver-measured", DriverField).value = "400 mV"
        await pilot.click("#driver-set")
        await settle(pilot)
        assert app.bin.fact("M-01", "driver")["peak_ampere"] == pytest.approx(0.8)


async def test_full_step_sets_the_rated_current_in_each_coil_and_comes_back(demo_bench, settle) -> None:
    app = demo_bench()
    async with app.run_test() as pilot:
        pane = await driver_stage(pilot, settle, CONNECTED)
        pane.query_one("#driver-chip", Select).value = "A4988"
        await settle(pilot)
        pane.query_one("#driver-sense", DriverField).value = "R100"
        pane.query_one("#driver-steps", Select).value = 0
        await settle(pilot)
        saved = app.bin.fact("M-01", "driver")
        assert saved["microsteps"] == 1 and saved["peak_ampere"] == pytest.approx(0.8 / 0.7071, rel=1e-4)
        await app.screen.show_stage("windings")
        await app.screen.show_stage("driver")
        await settle(pilot)
        pane = app.screen.query_one(DriverPane)
        assert pane.query_one("#driver-current", DriverField).value == "0.8 A"
        assert pane.query_one("#driver-steps", Select).value == 0
        assert app.bin.fact("M-01", "driver") == saved


@pytest.mark.parametrize(
    ("sense", "current", "said"),
    [("100", "0.8 A", "100 ohm"), ("R100", "0.8", "no unit"), ("", "0.8 A", "sense resistor"), ("R100", "", "rate")],
)
async def test_what_cannot_be_used_is_said_and_not_saved(demo_bench, settle, sense, current, said) -> None:
    app = demo_bench()
    async with app.run_test() as pilot:
        pane = await driver_stage(pilot, settle)
        with pane.prevent(Select.Changed):
            pane.query_one("#driver-chip", Select).value = "A4988"
        pane.query_one("#driver-sense", DriverField).value = sense
        pane.query_one("#driver-current", DriverField).value = current
        await pilot.click("#driver-set")
        await settle(pilot)
        assert said in str(pane.query_one("#driver-said", Static).content)
        assert app.bin.fact("M-01", "driver") is None


async def test_a_broken_file_of_own_chips_is_told_and_the_table_still_works(
    demo_bench, settle, tmp_path: Path
) -> None:
    (tmp_path / "drivers.csv").write_text("chip,formula,gain\nXY1,VREF_RS,[/x]\n")
    app = demo_bench()
    async with standing(app, settle, "enter", size=(100, 30)) as pilot:
        await app.screen.show_stage("driver")
        await settle(pilot)
        assert "[/x]" in shown(app)
        await pilot.press("escape")
        await settle(pilot)
        assert "set the driver" in shown(app)


async def test_a_setting_that_says_stop_has_no_list_to_copy(demo_bench, settle) -> None:
    app = demo_bench()
    async with app.run_test(size=(120, 40)) as pilot:
        pane = await driver_stage(pilot, settle)
        with pane.prevent(Select.Changed):
            pane.query_one("#driver-chip", Select).value = "A4988"
        pane.query_one("#driver-sense", DriverField).value = "R068"
        pane.query_one("#driver-current", DriverField).value = "5 A"
        await pilot.click("#driver-set")
        await settle(pilot)
        seen = shown(app)
        assert "stop: not VREF 2.72 V" in seen and "not kept" in seen
        assert "instead" in str(pane.query_one("#driver-to-do", Static).content)
        assert app.screen.facts[0].startswith("stop")
        assert "to do (F5)" not in seen and "power off, motor unplugged" not in seen
        await pilot.press("f5")
        await settle(pilot)
        assert isinstance(app.screen, BenchSheet) and app.bin.fact("M-01", "driver") is None
        pane.query_one("#driver-current", DriverField).value = "0.8 A"
        await pilot.click("#driver-set")
        await settle(pilot)
        assert "to do (F5)" in shown(app) and app.bin.fact("M-01", "driver") is not None


def test_markings() -> None:
    # IEC 60062: the letter stands where the point is.
    assert [marking(ohm) for ohm in (0.1, 0.068, 0.05, 0.11, 1.0, 0.22)] == [
        *("R100", "R068", "R050", "R110", "1R00", "R220")
    ]
