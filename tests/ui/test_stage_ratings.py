"""The ratings stage on the screen: its forms by key and mouse, what is said, what Enter keeps."""

from __future__ import annotations

import pytest
from textual.widgets import Button, Input

from coilbench.records.saved.intake import Intake
from coilbench.records.saved.ratings import Ratings, SoakEntry
from coilbench.stages.ratings.soak import OffClock
from tests.support.more import some
from tests.support.motors import SIX

from .screen import add_motor, open_stage, shown, standing

SIZES = [(80, 24), (160, 50)]
LEADS = "RD WH BU GN YE BK"
FACE = Intake(frame="NEMA 17", length_metre=0.04)


def kept(app, kind):
    return app.bin.known("M-20").get(kind)


def entries(app) -> list[tuple[str, str]]:
    return [(each.value.soak, each.value.text) for each in app.bin.entries("M-20", SoakEntry)]


def put(sheet, **texts: str) -> None:
    for field, text in texts.items():
        sheet.query_one(f"#ratings-{field}", Input).value = text


@pytest.mark.parametrize("size", some(SIZES, of=SIZES[:1]))
async def test_size_comes_from_the_other_stages_and_is_saved(own_bench, settle, size) -> None:
    app = own_bench()
    async with standing(app, settle, size=size) as pilot:
        add_motor(app, LEADS, SIX, FACE)
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        assert sheet.query_one("#ratings-coil", Input).value == "24.1 ohm"
        assert "the current to start with" in shown(app)
        if size == (80, 24):  # where there is room the reasons stand open
            assert "starts at" not in shown(app)
            await pilot.press("f8")
            await settle(pilot)
        assert "starts at" in shown(app) and "go up by tenths" in " ".join(
            str(sheet.query_one("#why").content).split()
        )
        assert kept(app, Ratings) is None
        await pilot.press("enter")
        await settle(pilot)
        assert kept(app, Ratings).resistance_ohm == 24.1
        assert "saved; F3 goes on" in shown(app)


async def test_what_is_typed_shows_at_once_is_saved_and_taken_back(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        add_motor(app, LEADS)
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        put(sheet, face="35 mm can", length="17", coil="50", step="48 steps")
        await settle(pilot)
        assert any(each.startswith("60 K rise") for each in sheet.pane.head.why)
        await pilot.press("enter")
        await settle(pilot)
        assert kept(app, Intake).diameter_metre == pytest.approx(0.035)
        app.pop_screen()
        again = await open_stage(pilot, settle, "M-20", "ratings")
        assert again.query_one("#ratings-step", Input).value == "48 steps"
        put(again, rise="60 K")  # not saved yet
        await pilot.press("ctrl+z")
        await settle(pilot)
        assert kept(app, Ratings) is None and kept(app, Intake) is None
        assert again.query_one("#ratings-face", Input).value == ""
        assert again.query_one("#ratings-rise", Input).value == "60 K"


async def test_a_field_that_cannot_be_read_says_so_and_saves_nothing(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(100, 40)) as pilot:
        add_motor(app, LEADS, SIX)
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        put(sheet, face="[/x]")
        await settle(pilot)
        assert "[/x]" in shown(app) and sheet.query_one("#said").has_class("-problem")
        await pilot.press("enter")
        await settle(pilot)
        assert kept(app, Ratings) is None and "[/x]" in shown(app)


@pytest.mark.parametrize("size", some(SIZES, of=SIZES[1:]))
async def test_forms_by_key_and_mouse(own_bench, settle, size) -> None:
    app = own_bench()
    async with standing(app, settle, size=size) as pilot:
        add_motor(app, LEADS, FACE)
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        await pilot.press("f6")
        await settle(pilot)
        assert sheet.pane.form == "soak" and "caution: supply off" in shown(app)
        put(sheet, cold="2.8", hot="3.6", run="1 A", probes="0")
        await settle(pilot)
        assert sheet.pane.head.figure == "99 °C" and "end of the run" in shown(app)
        await pilot.press("enter")
        await settle(pilot)
        assert kept(app, Ratings).soak.thermal_class == "E"
        await pilot.click("#form-spin")
        await settle(pilot)
        assert sheet.pane.form == "spin" and "caution: motor in a vice" in shown(app)
        put(sheet, step="1.8")
        await settle(pilot)
        assert "400 Hz meter: under 480 rpm" in shown(app)


async def test_what_a_soak_says_is_kept_at_once_and_can_be_taken_back(own_bench, settle) -> None:
    now = [1000.0]
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        add_motor(app, LEADS)
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        sheet.pane.stage.clock = OffClock(lambda: now[0])
        await pilot.press("f6")
        await settle(pilot)
        await pilot.press("0", ".", "2", "tab", *"2.8", "enter")  # probes, then the cold coil: no rating yet
        await settle(pilot)
        assert entries(app) == [("probes", "0.2"), ("cold", "2.8")]
        assert "nothing to save yet" in " ".join(str(sheet.query_one("#said").content).split())
        put(sheet, hot="3.x", rise="60 K")  # one can't be read, one is of another form: neither is kept or lost
        sheet.query_one("#soak-now", Input).focus()
        await pilot.press(*"3.6", "enter")
        await settle(pilot)
        assert 'press "off now"' in " ".join(str(sheet.query_one("#said").content).split())
        sheet.query_one("#soak-now", Input).value = ""
        await pilot.click("#soak-off")
        await settle(pilot)
        assert str(sheet.query_one("#soak-off", Button).label) == "clock runs"
        now[0] += 20
        await pilot.press(*"3.6", "enter")
        await settle(pilot)
        assert entries(app)[2:] == [("off", ""), ("cooling", "3.6")]
        after = sheet.query_one("#ratings-after", Input)
        assert sheet.query_one("#ratings-hot", Input).value == "3.x"
        assert sheet.query_one("#ratings-rise", Input).value == "60 K"
        assert after.value == "20s:3.6" and sheet.query_one("#soak-now", Input).value == ""
        await pilot.press("ctrl+z")
        await settle(pilot)
        assert after.value == ""
        await pilot.press("ctrl+y")
        await settle(pilot)
        assert after.value == "20s:3.6"
        app.pop_screen()
        again = await open_stage(pilot, settle, "M-20", "ratings")
        assert again.query_one("#ratings-cold", Input).value == "2.8"
        assert again.query_one("#ratings-after", Input).value == "20s:3.6"
        assert str(again.query_one("#soak-off", Button).label) == "clock runs"


async def test_leaving_the_stage_keeps_the_field_being_typed(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        add_motor(app, LEADS)
        await open_stage(pilot, settle, "M-20", "ratings")
        await pilot.press("f6")
        await settle(pilot)
        await pilot.press("tab", *"2.8", "f3")
        await settle(pilot)
        assert entries(app) == [("cold", "2.8")]


async def test_what_another_bench_keeps_comes_in_beside_what_is_being_typed(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        add_motor(app, LEADS)
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        put(sheet, coil="2")
        sheet.pane.desk.keep("intake", FACE)
        sheet.pane.changed_elsewhere()
        assert sheet.query_one("#ratings-face", Input).value == "NEMA 17"
        assert sheet.query_one("#ratings-coil", Input).value == "2"
