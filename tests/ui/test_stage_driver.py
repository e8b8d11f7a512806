"""The driver stage on the screen: by keys alone, by mouse alone, and what it refuses."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Select, Static

from coilbench.records.saved.base import Fact
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.ui.dialogs.to_do import ToDoDialog
from coilbench.ui.panes.driver import DriverPane
from coilbench.ui.panes.form import FormInput
from coilbench.ui.screens.sheet import BenchSheet
from tests.support.more import some
from tests.support.motors import FIVE, FOUR

from .screen import add_motor, open_stage, shown, standing

# A sewing-table scanner's motor as the connection stage leaves it.
CONNECTED = Connection(connection="bipolar", current_ampere=0.8, resistance_ohm=12.0, inductance_henry=9e-3)


async def driver_pane(pilot: Pilot[int], settle: Callable[..., Any], *facts: Fact) -> DriverPane:
    add_motor(pilot.app, "RD BU GN BK", FOUR, *facts)  # type: ignore[arg-type]
    sheet = await open_stage(pilot, settle, "M-20", "driver")
    return sheet.query_one(DriverPane)


@pytest.mark.parametrize("size", some([(80, 24), (160, 50)], of=((80, 24),)))
async def test_keys_alone_set_a_driver_and_take_it_back(own_bench, settle, size) -> None:
    app = own_bench(mouse=False)
    async with standing(app, settle, size=size) as pilot:
        pane = await driver_pane(pilot, settle, CONNECTED)
        await pilot.press(*"a4988", "enter")
        await settle(pilot)
        assert "driver" not in pane.desk.known  # the sense resistor is never guessed
        await pilot.press(*"R100", "enter")
        await settle(pilot)
        assert pane.desk.known.get(Driver).vref_volt == pytest.approx(0.64)
        assert pane.head.figure == "0.64 V" and "VREF of the A4988, for 0.8 A peak" in shown(app)
        await pilot.press("f5")
        await settle(pilot)
        assert isinstance(app.screen, ToDoDialog) and "[ ] 1. power off, motor unplugged" in shown(app)
        await pilot.press("space", "enter", "c")
        assert "[x] 1." in shown(app) and app.clipboard.count("- [x]") == 2 and "- [ ] " in app.clipboard
        await pilot.press("escape", "f5", "up", "enter")  # ticks last; the second was not done after all
        await settle(pilot)
        assert "[x] 1." in shown(app) and "[ ] 2." in shown(app)
        await pilot.press("escape")
        await pilot.press("ctrl+z")
        await settle(pilot)
        assert "driver" not in pane.desk.known
        await pilot.press("ctrl+y")
        await settle(pilot)
        assert pane.desk.known.get(Driver).chip == "A4988" and pane.head.figure == "0.64 V"


async def test_mouse_alone_sets_a_driver(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        pane = await driver_pane(pilot, settle, CONNECTED)
        await pilot.click("#driver-chips")
        await settle(pilot)
        await pilot.click("#driver-chips SelectOverlay", offset=(4, 1))
        await settle(pilot)
        await pilot.click("#seen-1")
        await pilot.click("#supply-12")
        await settle(pilot)
        saved = pane.desk.known.get(Driver)
        assert (saved.chip, saved.sense_ohm, saved.supply_volt) == ("A4988", 0.068, 12.0)
        assert any(each.startswith("reachable: 0.9") for each in pane.head.why)


async def test_choosing_another_chip_is_taken_back(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        kept = Driver(chip="A4988", sense_ohm=0.1, peak_ampere=0.8, vref_volt=0.64)
        pane = await driver_pane(pilot, settle, CONNECTED, kept)
        pane.query_one("#driver-chips", Select).value = "DRV8825"
        await settle(pilot)
        assert pane.desk.known.get(Driver).chip == "DRV8825" and "chip      DRV8825 " in shown(app)  # whole
        await pilot.press("ctrl+z")
        await settle(pilot)
        assert pane.desk.known.get(Driver) == kept and pane.query_one("#driver-chip", FormInput).value == "A4988"


async def test_opening_keeps_nothing(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle) as pilot:
        kept = Driver(chip="A4988", sense_ohm=0.1, peak_ampere=0.8, vref_volt=0.64, microsteps=16)
        pane = await driver_pane(pilot, settle, CONNECTED, kept)
        await settle(pilot)
        assert pane.desk.known.get(Driver) == kept and "VREF" in pane.head.says


async def test_what_cannot_be_used_is_said_and_not_saved(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle) as pilot:
        pane = await driver_pane(pilot, settle)
        pane.query_one("#driver-chip", FormInput).value = "A4988"
        for sense, current, said in (
            ("100", "0.8 A", "100 ohm"),
            ("", "0.8", "sense resistor"),
            ("R100", "", "rate"),
        ):
            pane.query_one("#driver-sense", FormInput).value = sense
            pane.query_one("#driver-current", FormInput).value = current
            await pilot.click("#driver-set")
            await settle(pilot)
            assert said in " ".join((*pane.head.lines, str(pane.query_one("#said", Static).content)))
            assert "driver" not in pane.desk.known


async def test_a_broken_file_of_own_chips_is_told_and_the_table_still_works(
    own_bench, settle, tmp_path: Path
) -> None:
    (tmp_path / "drivers.csv").write_text("chip,formula,gain\nXY1,VREF_RS,[/x]\n")
    app = own_bench()
    async with standing(app, settle, size=(100, 30)) as pilot:
        add_motor(app, "RD BU GN BK", FOUR)
        await app.push_screen(BenchSheet("M-20", stage_id="driver"))
        await settle(pilot)
        assert "[/x]" in shown(app)
        await pilot.press("escape")
        await settle(pilot)
        assert "which chip is on the driver" in shown(app)


async def test_a_setting_that_says_stop_has_no_list_to_copy(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(120, 40)) as pilot:
        pane = await driver_pane(pilot, settle, CONNECTED)
        pane.query_one("#driver-chip", FormInput).value = "A4988"
        pane.query_one("#driver-sense", FormInput).value = "R068"
        pane.query_one("#driver-current", FormInput).value = "5 A"
        await pilot.click("#driver-set")
        await settle(pilot)
        seen = shown(app)
        assert "stop: not VREF 2.72 V" in seen and "not kept" in seen
        assert app.screen.facts[0].startswith("stop")
        assert "to do (F5)" not in seen and "power off, motor unplugged" not in seen
        await pilot.press("f5")
        await settle(pilot)
        assert isinstance(app.screen, BenchSheet) and "driver" not in pane.desk.known
        pane.query_one("#driver-current", FormInput).value = "0.8 A"
        await pilot.click("#driver-set")
        await settle(pilot)
        assert "to do (F5)" in shown(app) and "driver" in pane.desk.known


async def test_what_was_typed_and_not_saved_waits_and_is_said_to_be(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        pane = await driver_pane(pilot, settle, CONNECTED)
        await pilot.press(*"a4988", "enter", *"R100", "enter")
        await settle(pilot)
        assert "not saved" not in shown(app)
        await pilot.press("ctrl+u", *"R050")
        await settle(pilot)
        assert pane.head.figure == "0.32 V" and "not saved yet" in shown(app)
        await pilot.press("f3")
        await settle(pilot)
        await pilot.press("f2")
        await settle(pilot)
        pane = app.screen.query_one(DriverPane)
        assert pane.desk.known.get(Driver).sense_ohm == 0.05 and "not saved" not in shown(app)
        pane.query_one("#driver-sense", FormInput).value = "R05x"
        await pilot.press("f3")
        await settle(pilot)
        assert "driver: not saved, it waits there" in shown(app)
        await pilot.press("f2")
        await settle(pilot)
        pane = app.screen.query_one(DriverPane)
        assert pane.query_one("#driver-sense", FormInput).value == "R05x" and "R05x" in shown(app)
        assert pane.desk.known.get(Driver).sense_ohm == 0.05


async def test_no_figure_stands_beside_a_field_that_can_not_be_read(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        pane = await driver_pane(pilot, settle, CONNECTED)
        await pilot.press(*"a4988", "enter", *"R100", "enter")
        await settle(pilot)
        await pilot.press(*"-?")
        await settle(pilot)
        assert pane.head.kind == "question" and not pane.head.figure


# A seed-tray feeder's motor of five leads, on a driver that doesn't chop.
FEEDER = Connection(connection="unipolar", current_ampere=0.2, resistance_ohm=30.0, inductance_henry=20e-3)


async def test_the_fields_are_those_that_the_chip_needs_and_a_fitted_resistor_ends_the_stop(
    own_bench, settle
) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        add_motor(app, "WH RD YE BU BK", FIVE, FEEDER)
        pane = (await open_stage(pilot, settle, "M-20", "driver")).query_one(DriverPane)
        pane.query_one("#driver-chips", Select).value = "ULN2003A"
        await settle(pilot)
        rows = {each.id for each in pane.query(".form-row") if each.display}
        assert {"driver-row-series", "driver-row-clamp", "driver-row-sink"} <= rows
        assert not {"driver-row-sense", "driver-row-measured"} & rows
        pane.query_one("#driver-supply", FormInput).value = "13"
        await settle(pilot)
        pane.query_one("#driver-series", FormInput).focus()
        await pilot.press("enter")
        await settle(pilot)
        assert "stop: 0.392 A a coil would" in shown(app)
        await pilot.press(*"15", "enter")
        await settle(pilot)
        assert pane.head.figure == "0.2 A" and "nothing to set" in shown(app)
        assert pane.desk.known.get(Driver).typed["series"] == "15"
        pane.query_one("#driver-chips", Select).value = "A4988"
        await settle(pilot)
        rows = {each.id for each in pane.query(".form-row") if each.display}
        assert "driver-row-sense" in rows and "driver-row-series" not in rows


async def test_the_one_to_set_stands_with_its_reason(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        pane = await driver_pane(pilot, settle, CONNECTED)
        pane.query_one("#driver-chips", Select).value = "A4988"
        pane.query_one("#driver-sense", FormInput).value = "R100"
        await settle(pilot)
        pane.keep()
        await settle(pilot)
        assert pane.head.figure == "0.64 V" and "its rating, 0.8 A RMS" not in shown(app)
        await pilot.press("f8")
        await settle(pilot)
        assert "its rating, 0.8 A RMS" in shown(app)
