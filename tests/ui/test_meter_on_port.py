"""A bench meter on a port takes the readings of the windings stage, hands free, and one reading by its key."""

from __future__ import annotations

import math

from coilbench.records.saved.own import OwnMeter
from coilbench.records.writing import put_own
from coilbench.stages.windings import bench_meter
from coilbench.ui.dialogs.basic import ProblemDialog

from .screen import open_stage, standing


async def test_hands_free_until_it_is_called_off(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        pane = (await open_stage(pilot, settle, "M-01", "windings")).pane
        await pilot.press("t")
        while len(pane.state.rows) < 3:
            ask, before = pane.ask, len(pane.state.rows)
            if app.virtual.measure("M-01", ask.a, ask.b) == math.inf:
                await pilot.press("o", "enter")  # open is the person's to say
            await jog_pilot.until(pilot, lambda before=before: len(pane.state.rows) > before and not pane.waiting)
        await pilot.press("t")
        await settle(pilot)
        assert not pane.is_measuring
        by_meter = [each for each in pane.desk.readings if each.meter and each.a != "probes"]
        assert {each.meter for each in by_meter} == {bench_meter.ACCURACY}
        assert all(2.4 < each.ohm < 2.7 for each in by_meter), "a winding of 2.4 ohm and the probes"


async def test_one_reading_by_its_key_and_a_meter_that_is_not_there(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        app.bin.add_motor("vent", ("black", "green", "red", "blue"))
        put_own(app.bin, OwnMeter(name="mine", accuracy="0.05% + 0.02 ohm", port="virtual://meter?clock=free"))
        sheet = await open_stage(pilot, settle, "vent", "windings")
        await pilot.press("m")
        await settle(pilot)
        (reading,) = sheet.pane.desk.readings
        assert reading.meter == "0.05% + 0.02 ohm"
        put_own(app.bin, OwnMeter(name="mine", accuracy="1% + 0.2 ohm", port="/dev/no-such-meter"), instead_of="mine")
        await pilot.press("m")
        await settle(pilot)
        assert isinstance(app.screen, ProblemDialog) and "no port" in app.screen.text
        await pilot.press("escape")
        await pilot.press(*"12.3", "enter")
        await settle(pilot)
        assert len(sheet.pane.desk.readings) == 2, "it can still be typed"
