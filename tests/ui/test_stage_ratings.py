"""The ratings stage: forms, answer, what the bin keeps."""

from __future__ import annotations

import pytest
from coilbench.ui.panes.ratings.forms import FIELDS, work_out
from textual.widgets import Input

from .screen import open_stage, put_motor, shown, standing

SIZES = [(80, 24), (160, 50)]
LEADS = "red white blue green yellow black"


SIX = {
    "arrangement": "unipolar-6",
    "confidence": 0.99,
    "coils": [
        {"name": "A", "ends": ["red", "blue"], "tap": "white", "ohms": 60.0, "ohms_sd": 0.3},
        {"name": "B", "ends": ["green", "black"], "tap": "yellow", "ohms": 60.0, "ohms_sd": 0.3},
    ],
}


@pytest.mark.parametrize("size", SIZES)
async def test_size_comes_from_the_other_stages_and_is_saved(own_bench, settle, size) -> None:
    app = own_bench()
    async with standing(app, settle, size=size) as pilot:
        put_motor(app, LEADS, windings=SIX, intake={"frame": "NEMA 17", "length_metre": 0.04, "label": "1.8 DEG"})
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        assert sheet.query_one("#ratings-coil", Input).value == "30 ohm"  # per half-winding
        assert "start with" in shown(app)
        await pilot.press("enter")
        await settle(pilot)
        saved = app.bin.fact("M-20", "ratings")
        # 42BYGHW602, 40 mm, 30 ohm, six leads (maker's page, read): 0.4 A.
        assert saved["estimate_ampere"] == pytest.approx(0.4, rel=0.15)
        assert saved["current_ampere"] < saved["estimate_ampere"]
        assert saved["step_angle_degree"] == 1.8
        assert "saved" in shown(app)


async def test_typed_size_reaches_the_intake(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        put_motor(app, LEADS)
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        sheet.query_one("#ratings-face", Input).value = "35 mm can"
        sheet.query_one("#ratings-length", Input).value = "17"
        sheet.query_one("#ratings-coil", Input).value = "50 ohm"
        await settle(pilot)
        assert "40 K rise" in shown(app)
        await pilot.press("enter")
        await settle(pilot)
        intake = app.bin.fact("M-20", "intake")
        assert intake["diameter_metre"] == pytest.approx(0.035)
        assert intake["length_metre"] == pytest.approx(0.017)


async def test_a_field_that_cannot_be_read_says_so_and_saves_nothing(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(100, 40)) as pilot:
        put_motor(app, LEADS, windings=SIX)
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        sheet.query_one("#ratings-face", Input).value = "[/x]"
        await settle(pilot)
        assert "[/x]" in shown(app)
        await pilot.press("enter")
        await settle(pilot)
        assert app.bin.fact("M-20", "ratings") is None


@pytest.mark.parametrize("size", SIZES)
async def test_hot_soak_by_key_and_mouse(own_bench, settle, size) -> None:
    app = own_bench()
    async with standing(app, settle, size=size) as pilot:
        put_motor(app, LEADS, intake={"frame": "NEMA 17", "length_metre": 0.04})
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        await pilot.press("f6")
        await settle(pilot)
        assert sheet.pane.form == "soak"
        for field, text in (("cold", "2.8"), ("hot", "3.6"), ("run", "1 A"), ("probes", "0")):
            sheet.query_one(f"#ratings-{field}", Input).value = text
        await settle(pilot)
        worked = sheet.pane.worked
        assert worked.soak.winding_celsius == pytest.approx(99.29, abs=0.01)  # exact value of the IEC formula
        assert worked.rating.estimate_ampere == pytest.approx(1.03, abs=0.01)
        await pilot.press("enter")
        await settle(pilot)
        assert app.bin.fact("M-20", "ratings")["soak"]["thermal_class"] == "E"
        await pilot.click("#form-spin")
        await settle(pilot)
        assert sheet.pane.form == "spin"
        assert "no loose sleeves" in " ".join(shown(app).split()) or "tape the leads" in shown(app)


async def test_the_clock_puts_seconds_to_cooling_readings(own_bench, settle, monkeypatch) -> None:
    now = [1000.0]
    monkeypatch.setattr("coilbench.ui.panes.ratings.soak.monotonic", lambda: now[0])
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        put_motor(app, LEADS, intake={"frame": "NEMA 17", "length_metre": 0.04})
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        await pilot.press("f6")
        for field, text in (("cold", "28.0"), ("run", "0.4 A"), ("probes", "0")):
            sheet.query_one(f"#ratings-{field}", Input).value = text
        off = sheet.query_one("#soak-off")
        off.scroll_visible(animate=False)
        await settle(pilot)
        await pilot.click("#soak-off")
        await settle(pilot)
        for second, ohm in ((20, "35,6"), (50, "35,1"), (80, "34,6")):
            now[0] = 1000.0 + second
            await pilot.press(*ohm.replace(",", "."), "enter")
            await settle(pilot)
        assert sheet.query_one("#ratings-after", Input).value == "20s:35.6; 50s:35.1; 80s:34.6"
        # Back at switch-off it was about 35.96 ohm: 28 ohm at 25 C, so near 99 C.
        assert sheet.pane.worked.soak.winding_celsius == pytest.approx(99, abs=1)


async def test_what_a_soak_says_is_kept_at_once_and_can_be_taken_back(own_bench, settle, monkeypatch) -> None:
    monkeypatch.setattr("coilbench.ui.panes.ratings.soak.monotonic", lambda: 1000.0)
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        put_motor(app, LEADS)
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        await pilot.press("f6")
        await settle(pilot)
        await pilot.press("0", ".", "2", "tab", *"2.8", "enter")  # probes, then the cold coil: no rating yet
        await settle(pilot)
        texts = [(event.value["soak"], event.value["text"]) for event in app.bin.events("M-20", "ratings")]
        assert texts == [("probes", "0.2"), ("cold", "2.8")]
        sheet.query_one("#ratings-hot", Input).value = "3.x"  # can't be read: not kept, and not lost by what follows
        await pilot.click("#soak-off")
        await settle(pilot)
        await pilot.press(*"3.6", "enter")
        await settle(pilot)
        assert [event.value["soak"] for event in app.bin.events("M-20", "ratings")][2:] == ["off", "cooling"]
        assert sheet.query_one("#ratings-hot", Input).value == "3.x"
        await pilot.press("ctrl+z")
        await settle(pilot)
        assert sheet.query_one("#ratings-after", Input).value == ""
        await pilot.press("ctrl+y")
        await settle(pilot)
        assert sheet.query_one("#ratings-after", Input).value == "1s:3.6"
        app.pop_screen()
        again = await open_stage(pilot, settle, "M-20", "ratings")
        assert again.query_one("#ratings-cold", Input).value == "2.8"
        assert again.query_one("#ratings-after", Input).value == "1s:3.6"
        await pilot.press("f6")
        await settle(pilot)
        again.query_one("#soak-now", Input).focus()  # the clock still runs: the next reading gets its seconds
        await pilot.press(*"3.5", "enter")
        await settle(pilot)
        assert again.query_one("#ratings-after", Input).value.startswith("1s:3.6; ")


async def test_leaving_the_stage_keeps_the_field_being_typed(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        put_motor(app, LEADS)
        await open_stage(pilot, settle, "M-20", "ratings")
        await pilot.press("f6")
        await settle(pilot)
        await pilot.press("tab", *"2.8", "f3")
        await settle(pilot)
        assert [event.value["text"] for event in app.bin.events("M-20", "ratings")] == ["2.8"]


async def test_a_saved_rating_ends_what_undo_takes_back(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        put_motor(app, LEADS, intake={"frame": "NEMA 17", "length_metre": 0.04})
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        await pilot.press("f6")
        await settle(pilot)
        await pilot.press("tab", *"2.8", "enter")
        for field, text in (("hot", "3.6"), ("run", "1 A"), ("probes", "0")):
            sheet.query_one(f"#ratings-{field}", Input).value = text
        await pilot.press("enter", "ctrl+z")
        await settle(pilot)
        assert app.bin.fact("M-20", "ratings")["typed"]["cold"] == "2.8"
        assert sheet.query_one("#ratings-cold", Input).value == "2.8"
        assert "since the rating was saved" in " ".join(str(sheet.query_one("#ratings-said").content).split())


async def test_the_forms_come_back_as_typed(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        put_motor(app, LEADS, windings=SIX)
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        sheet.query_one("#ratings-rise", Input).value = "60 K"
        sheet.query_one("#ratings-step", Input).value = "48 steps"
        await pilot.press("enter")
        await settle(pilot)
        assert app.bin.fact("M-20", "ratings")["step_angle_degree"] == 7.5
        app.pop_screen()
        again = await open_stage(pilot, settle, "M-20", "ratings")
        assert again.query_one("#ratings-rise", Input).value == "60 K"
        assert again.query_one("#ratings-step", Input).value == "48 steps"


def test_every_field_has_help() -> None:
    assert all(field.help and field.hint and len(field.label) <= 10 for field in FIELDS)


def test_forms_together() -> None:
    worked = work_out({"coil": "2 ohm", "face": "17", "length": "40", "henry": "2 ms", "step": "1.8"})
    assert worked.rating.inductance_henry == pytest.approx(0.004)
    assert worked.drill_limit_rpm == pytest.approx(480)
    spun = work_out({"step": "1.8 deg", "volts": "7.17", "drill": "522"})
    assert spun.rating is None
    # 10.1 V peak at 8.7 turns a second, 0.44 N.m, 1.68 A: a motion hardware maker's wiki, read.
    assert spun.spin.holding_torque(1.68) == pytest.approx(0.44, rel=0.02)
    assert work_out({}).rating is None
