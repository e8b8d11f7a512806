"""The connection stage on the screen: rows side by side, keys, wiring by lead name."""

from __future__ import annotations

import pytest
from textual.widgets import Input

from coilbench.records.saved.connection import Connection
from coilbench.ui.dialogs.roads import RoadsScreen
from coilbench.ui.panes.connection import row_text
from tests.support.motors import EIGHT, EIGHT_LEADS, PAIRED, RATED

from .screen import add_motor, open_stage, shown, standing


@pytest.mark.parametrize("size", [(80, 24), (160, 50)])
async def test_rows_side_by_side_and_the_advice_kept(own_bench, settle, size) -> None:
    app = own_bench()
    async with standing(app, settle, size=size) as pilot:
        desk = add_motor(app, EIGHT_LEADS, EIGHT, PAIRED, RATED)
        await open_stage(pilot, settle, "M-20", "connection")
        text = shown(app)
        assert all(name in text for name in ("half-coil", "series", "parallel", "unipolar"))
        await pilot.press("enter")
        await settle(pilot)
        saved = desk.known.get(Connection)
        assert saved is not None and saved.connection == "series" and "join: YE + BU" in saved.wiring
        assert "supply off" in shown(app)
        await pilot.press("ctrl+r")
        await settle(pilot)
        assert isinstance(app.screen, RoadsScreen) and "chopping unipolar stage" in shown(app)
        await pilot.press("end")
        await settle(pilot)
        assert "a sense resistor a phase" in shown(app) and "a diode across each half" in shown(app)
        assert "live driver" in shown(app)
        await pilot.press("home", "escape")
        await settle(pilot)
        await pilot.click("#roads")
        await settle(pilot)
        assert "one half of each winding" in shown(app) and "a diode across each half" not in shown(app)


async def test_driver_typed_kind_changed_another_row_taken_and_taken_back(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        desk = add_motor(app, EIGHT_LEADS, EIGHT, PAIRED, RATED)
        sheet = await open_stage(pilot, settle, "M-20", "connection")
        sheet.query_one("#connection-driver", Input).value = "5 A"
        await settle(pilot)
        assert sheet.pane.answer.choice.choose == "parallel"
        await pilot.press("f6")
        await settle(pilot)
        assert sheet.pane.answer.choice.choose == "unipolar" and "driver: unipolar" in shown(app)
        await pilot.press("f6")
        await settle(pilot)
        await pilot.press("up", "f5")
        await settle(pilot)
        picked = sheet.pane.answer.picked.connection
        assert desk.known.get(Connection).connection == picked != "unipolar"
        assert desk.known.get(Connection).typed["driver"] == "5 A"
        await pilot.press("ctrl+z")
        await settle(pilot)
        assert "connection" not in desk.known
        await pilot.press("ctrl+y")
        await settle(pilot)
        assert desk.known.get(Connection).connection == picked
        sheet.query_one("#connection-supply", Input).value = "24 A"
        await settle(pilot)
        assert sheet.pane.answer is None and "24 A" in shown(app)


async def test_no_lead_names_before_the_halves_are_paired(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(100, 50)) as pilot:
        add_motor(app, EIGHT_LEADS, EIGHT, RATED)
        await open_stage(pilot, settle, "M-20", "connection")
        assert any("cell" in each for each in app.screen.pane.head.why) and "A+" not in shown(app)


async def test_what_must_come_first_is_said(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        desk = add_motor(app, EIGHT_LEADS, EIGHT)
        sheet = await open_stage(pilot, settle, "M-20", "connection")
        assert "rate the motor first" in shown(app) and sheet.pane.head.kind == "question"
        await pilot.press("f5")
        await settle(pilot)
        assert "connection" not in desk.known


def test_a_row_takes_one_line_where_there_is_room() -> None:
    told = {
        "set peak": "0.84 A",
        "torque at rest": "",
        "ohms": "2.4 Ω",
        "henry": "",
        "at 60 rpm": "0.74",
        "half at rpm": "9",
    }
    assert (
        row_text("bipolar", told, chosen=True, wide=True) == "* bipolar    0.84 A   2.4 Ω  0.74 at 60 rpm  half at 9"
    )
    narrow = row_text("bipolar", told, chosen=False, wide=False).splitlines()
    assert narrow == ["  bipolar    0.84 A", "  2.4 Ω", "  0.74 at 60  half at 9"]
