"""From the demo's crate to a named motor: by keys alone, by mouse alone; and what the bin keeps of it."""

from __future__ import annotations

import pytest
from textual.widgets import Static

from coilbench.records.saved.order import Order
from coilbench.records.saved.windings import Windings
from coilbench.ui.screens.bin import BinScreen
from coilbench.ui.widgets.reading_input import ReadingInput
from coilbench.ui.widgets.readings import ReadingList
from tests.support.more import some

from .screen import click_foot, measured_out, sheet, shown, standing

SIZES = [(80, 24), (160, 50)]


@pytest.mark.parametrize("size", some(SIZES, of=SIZES[:1]))
async def test_keys_alone_name_a_motor(demo_bench, settle, size) -> None:
    app = demo_bench(mouse=False)
    async with standing(app, settle, "down", "enter", size=size) as pilot:
        await measured_out(pilot, settle)
        text = shown(app)
        assert "a unipolar motor: two coils" in text
        assert "●" in text and "⊃" in text
        result = app.bin.known("M-02").get(Windings)
        assert result.arrangement == "unipolar-6"
        await pilot.press("escape")
        await settle(pilot)
        assert isinstance(app.screen, BinScreen)
        assert "unipolar-6" in shown(app)


@pytest.mark.long("more")
@pytest.mark.parametrize("size", SIZES)
async def test_mouse_alone_names_a_motor_with_typed_readings(demo_bench, settle, size) -> None:
    """The digits on the screen take what the meter says; nothing is typed."""
    app = demo_bench()
    async with standing(app, settle, size=size) as pilot:
        await pilot.click("#motors", offset=(3, 3))  # the first click chooses, the key at the foot opens
        await click_foot(pilot, settle, "bin_open")
        name = sheet(app).motor_name
        assert name == "M-03"
        for _ in range(20):
            ask = sheet(app).pane.ask
            if ask is None:
                break
            ohm = app.virtual.measure(name, ask.a, ask.b)
            if ohm == float("inf"):
                await click_key(pilot, "OL")
            else:
                for digit in f"{ohm:.1f}":
                    await click_key(pilot, digit)
            await click_key(pilot, "save")
            await settle(pilot)
        assert app.bin.known(name).get(Windings).arrangement == "unipolar-5"
        await pilot.click("#stage-order")
        await settle(pilot)
        assert "caution: motor off every" in shown(app)


async def click_key(pilot, text: str) -> None:
    button = next(one for one in pilot.app.screen.query("KeypadButton") if one.name == text)
    await pilot.click(button)


async def test_closing_and_reopening_loses_nothing(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter") as pilot:
        for _ in range(2):
            await pilot.press("m")
            await settle(pilot)
        taken = [(one.a, one.b, one.ohm) for one in app.bin.readings("M-01")]
    again = demo_bench()
    async with standing(again, settle) as pilot:
        assert "2 readings" in shown(again)
        await pilot.press("enter")
        await settle(pilot)
        assert [(one.a, one.b, one.ohm) for one in again.bin.readings("M-01")] == taken
        assert len(sheet(again).pane.state.rows) == 2


async def test_correct_delete_undo_redo(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", "1", "2", ".", "3", "enter", "m") as pilot:
        first = app.bin.readings("M-01")[0]
        assert first.ohm == 12.3
        await pilot.press("e", "down", "enter")
        await settle(pilot)
        assert isinstance(app.focused, ReadingInput)
        assert "type this reading again" in shown(app)
        await pilot.press("2", "comma", "6", "enter")
        await settle(pilot)
        assert app.bin.readings("M-01")[0].ohm == 2.6
        await pilot.press("ctrl+z")
        await settle(pilot)
        assert app.bin.readings("M-01")[0].ohm == 12.3
        await pilot.press("e")
        assert (
            isinstance(app.focused, ReadingList) and app.focused.highlighted == 0
        )  # the newest, not the last chosen
        await pilot.press("d")
        await settle(pilot)
        assert len(app.bin.readings("M-01")) == 1
        await pilot.press("escape", "ctrl+z")
        await settle(pilot)
        assert len(app.bin.readings("M-01")) == 2
        await pilot.press("ctrl+y")
        await settle(pilot)
        assert len(app.bin.readings("M-01")) == 1


@pytest.mark.parametrize(
    ("keys", "ohm"),
    [
        (["1", "2", "R", "3"], 12.3),
        (["1", "k", "2"], 1200.0),
        (["0", ".", "8", "space", "o", "h", "m"], 0.8),
        (["o"], float("inf")),
        (["O", "L"], float("inf")),
        (["o", "p", "e", "n"], float("inf")),
    ],
)
async def test_readings_as_people_type_them(demo_bench, settle, keys, ohm) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter") as pilot:
        await pilot.press(*keys, "enter")
        await settle(pilot)
        assert [one.ohm for one in app.bin.readings("M-01")] == [ohm]


async def test_what_is_no_reading_is_said_and_kept_to_correct(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", "1", "x", "x", "enter"):
        assert app.bin.readings("M-01") == []
        assert "1xx" in str(app.screen.query_one("#said", Static).content)
        assert app.screen.query_one(ReadingInput).value == "1xx"


async def test_skip_asks_another_pair_and_a_pair_can_be_picked(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter") as pilot:
        before = sheet(app).pane.ask
        await pilot.press("s")
        await settle(pilot)
        after = sheet(app).pane.ask
        assert {before.a, before.b} != {after.a, after.b}
        await pilot.press("p", "down", "enter", "end", "enter")
        await settle(pilot)
        assert sheet(app).pane.ask.b == "frame"
        await pilot.press("m")
        await settle(pilot)
        assert [one.b for one in app.bin.readings("M-01")] == ["frame"]


async def test_a_motor_that_leaks_to_its_frame_is_not_to_be_powered(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "down", "down", "down", "down", "down", "enter", size=(120, 40)) as pilot:
        await measured_out(pilot, settle)
        assert "stop: do not power this motor" in shown(app)
        await pilot.press("f3")
        await settle(pilot)
        assert sheet(app).stage_id == "windings" and "nothing more to do" in shown(app)
        await sheet(app).show_stage("order")
        await settle(pilot)
        assert "don't power this motor" in shown(app)


async def test_five_leads_to_their_switching_sequence(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "down", "down", "enter", size=(120, 40)) as pilot:
        await measured_out(pilot, settle)
        await pilot.press("f3")
        await settle(pilot)
        for _ in range(30):
            if sheet(app).pane.stage.test is None:
                break
            await pilot.press("m")
            await settle(pilot)
        ring = ["BU", "PK", "YE", "OG"]  # clockwise: the leads after the common in reverse, as M-03 is made
        sequence = list(app.bin.known("M-03").get(Order).sequence)
        start = ring.index(sequence[0])
        assert sequence == ring[start:] + ring[:start]
