"""How few keys it takes, and that none is lost: from the bin to a set driver, at every stage's opening, Escape."""

from __future__ import annotations

import pytest
from textual import events
from textual.pilot import Pilot
from textual.widgets import Input, OptionList, Static

from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.ratings import Ratings
from coilbench.stages.table import STAGES
from coilbench.ui.screens.bin import BinScreen
from coilbench.ui.screens.sheet import BenchSheet
from coilbench.ui.widgets.reading_input import ReadingInput
from tests.support.more import some

from .screen import add_motor, click_foot, measured_out, open_stage, sheet, shown, standing

FIRST_MOST, NEXT_MOST = 18, 8  # keys besides readings, the test answers among them
OPEN = {"M-01": 0, "M-02": 1, "M-03": 2, "M-04": 3}  # its row in the bin: 4, 6, 5 and 8 leads


async def walked(pilot: Pilot[int], settle, motor: str, driver: str, sense: str, down: int) -> int:
    """From the bin to the set driver by keys alone, typing only into empty fields; how many keys that took."""
    app = pilot.app
    keys = [*["down"] * down, "enter"]
    await press(pilot, settle, *keys)
    assert sheet(app).motor_name == motor  # type: ignore[arg-type]
    await measured_out(pilot, settle)
    count = len(keys)
    for _ in range(8):
        stage = sheet(app).stage_id  # type: ignore[arg-type]
        if stage == "order":
            while sheet(app).pane.stage.test is not None:  # type: ignore[arg-type,union-attr]
                await press(pilot, settle, "m")
        empty = {each.id for each in sheet(app).pane.fields if not each.value}  # type: ignore[arg-type,union-attr]
        keys = []
        if stage == "connection" and "connection-driver" in empty:
            keys += driver
        if stage == "driver" and "driver-sense" in empty:
            keys += sense
        keys.append("enter" if stage == "driver" else "f3")
        await press(pilot, settle, *keys)
        count += len(keys)
        if stage == "driver":
            return count
    raise AssertionError(shown(app))  # type: ignore[arg-type]


async def press(pilot: Pilot[int], settle, *keys: str) -> None:
    for key in keys:
        await pilot.press(key)
        await settle(pilot)


def kept_all(app, motor: str) -> Driver:
    known = app.bin.known(motor)
    assert known.get(Ratings) is not None and known.get(Connection) is not None
    driver = known.get(Driver)
    assert isinstance(driver, Driver)
    return driver


async def test_the_first_motor_takes_few_keys_and_the_next_with_the_same_driver_fewer(demo_bench, settle) -> None:
    app = demo_bench(mouse=False)
    async with standing(app, settle, size=(80, 24)) as pilot:
        assert await walked(pilot, settle, "M-01", "A4988", "R100", 0) <= FIRST_MOST
        assert kept_all(app, "M-01").sense_ohm == 0.1
        for motor in ("M-02", "M-04"):
            await press(pilot, settle, "escape")
            assert isinstance(app.screen, BinScreen)
            down = OPEN[motor] - app.screen.query_one("#motors").cursor_row
            assert await walked(pilot, settle, motor, "A4988", "R100", down) <= NEXT_MOST
            assert kept_all(app, motor).chip == "A4988"


@pytest.mark.long("more")
@pytest.mark.parametrize(
    ("motor", "driver", "sense"),
    [("M-02", "A4988", "R100"), ("M-03", "ULN2003A", ""), ("M-04", "A4988", "R100")],
)
async def test_any_motor_may_be_the_first(demo_bench, settle, motor: str, driver: str, sense: str) -> None:
    app = demo_bench(mouse=False)
    async with standing(app, settle, size=(80, 24)) as pilot:
        assert await walked(pilot, settle, motor, driver, sense, OPEN[motor]) <= FIRST_MOST
        kept_all(app, motor)


@pytest.mark.parametrize("motor", some(["M-01", "M-02", "M-03", "M-04"], of=("M-03",)))
async def test_by_mouse_alone_from_the_bin_to_the_set_driver(demo_bench, settle, motor: str) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(100, 30)) as pilot:
        await pilot.click("#motors", offset=(3, 1 + OPEN[motor]))
        if OPEN[motor]:  # the cursor was elsewhere: the first click chooses
            await click_foot(pilot, settle, "bin_open")
        await settle(pilot)
        assert sheet(app).motor_name == motor
        while sheet(app).pane.ask is not None:  # type: ignore[union-attr]
            await click_foot(pilot, settle, "windings_meter")
        for _ in range(6):
            pane = sheet(app).pane
            if sheet(app).stage_id == "order":
                while pane.stage.test is not None:  # type: ignore[union-attr]
                    await click_foot(pilot, settle, "order_meter")
            if sheet(app).stage_id == "driver":
                break
            await click_foot(pilot, settle, "sheet_next")
        chip = "ULN2003A" if motor == "M-03" else "A4988"
        await pilot.click("#driver-chips")
        await settle(pilot)
        await click_choice(pilot, settle, chip)
        if motor != "M-03":
            await pilot.click("#seen-0")
            await settle(pilot)
        assert kept_all(app, motor).chip == chip


async def click_choice(pilot: Pilot[int], settle, text: str) -> None:
    """Click the choice of an open list that begins with these words, scrolling to it."""
    listed = pilot.app.screen.query_one("#driver-chips SelectOverlay", OptionList)
    at = next(
        each for each in range(listed.option_count) if str(listed.get_option_at_index(each).prompt).startswith(text)
    )
    listed.scroll_to(y=at, animate=False)
    await settle(pilot)
    await pilot.click(listed, offset=(4, at - listed.scroll_offset.y))
    await settle(pilot)


@pytest.mark.parametrize("motor", some(["M-01", "M-20"], of=("M-20",)))
@pytest.mark.parametrize("stage", [each.id for each in STAGES])
async def test_typed_at_a_stages_opening_digits_land_in_the_first_empty_field(
    demo_bench, settle, motor: str, stage: str
) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        add_motor(app, "RD BU GN BK")
        opened = await open_stage(pilot, settle, motor, stage)
        assert opened.pane is not None
        empty = opened.pane.first_empty
        opened.set_focus(None)
        for digit in "12":  # in a burst, as a slow line brings them
            app.post_message(events.Key(digit, digit))
        await settle(pilot)
        if empty is None:  # the order asks for no text
            assert stage == "order" and "'2': nothing is asked here" in shown(app)
        else:
            assert empty.value == "12" and app.focused is empty


async def test_a_key_that_nothing_takes_goes_to_the_field_or_is_refused_aloud(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", size=(80, 24)) as pilot:
        await press(pilot, settle, "x")
        assert "'x' begins no reading" in shown(app)
        await press(pilot, settle, "m", "e", "1", "2")  # in the list of readings
        assert app.screen.query_one(ReadingInput).value == "12" and isinstance(app.focused, ReadingInput)
        await press(pilot, settle, "escape")
        await measured_out(pilot, settle)
        await press(pilot, settle, "7")
        assert "'7': no reading is asked for" in shown(app)
        await press(pilot, settle, "enter")  # with all measured, on to the rating
        assert sheet(app).stage_id == "ratings"


async def test_escape_ends_the_innermost_thing_first(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", *"mm", size=(80, 24)) as pilot:
        await press(pilot, settle, "e", "enter", "9")
        assert "type this reading again" in shown(app)
        await press(pilot, settle, "escape")
        assert app.screen.query_one(ReadingInput).value == "" and "type this reading again" in shown(app)
        await press(pilot, settle, "escape")
        assert "type this reading again" not in shown(app) and isinstance(app.screen, BenchSheet)
        await app.screen.show_stage("intake")
        await settle(pilot)
        label = app.screen.query_one("#intake-label", Input)
        label.focus()
        await press(pilot, settle, "!", "escape")
        assert label.value == "flat-bed scanner" and isinstance(app.screen, BenchSheet)
        await press(pilot, settle, "escape")
        assert isinstance(app.screen, BinScreen)


async def test_leaving_keeps_what_is_valid_and_says_what_is_not(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(100, 30)) as pilot:
        desk = add_motor(app, "RD BU GN BK")
        opened = await open_stage(pilot, settle, "M-20", "intake")
        opened.query_one("#intake-label", Input).value = "vent opener"
        opened.query_one("#intake-length", Input).value = "long"
        await press(pilot, settle, "f3")
        kept = desk.known.get(Intake)
        assert kept is not None and kept.label == "vent opener" and kept.length_metre is None
        assert "intake: saved, but not length: " in shown(app)
        await press(pilot, settle, "f2")
        assert opened.query_one("#intake-length", Input).value == "long"


async def test_stages_that_a_motor_can_do_without_are_marked_and_passed_over(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "down", "enter", size=(100, 30)) as pilot:
        await measured_out(pilot, settle)
        assert str(app.screen.query_one("#stage-order", Static).content) == "– order"
        await press(pilot, settle, "f3")
        assert sheet(app).stage_id == "ratings" and "passed over order: its taps tell the phases" in shown(app)
        await press(pilot, settle, "f2")
        assert sheet(app).stage_id == "order" and "optional: its taps tell the phases" in shown(app)


async def test_the_strip_says_what_is_known_and_a_click_on_it_goes_there(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", size=(80, 24)) as pilot:
        assert "windings – · ohms – · current – · connection – · VREF – · rates –" in shown(app).splitlines()[1]
        await measured_out(pilot, settle)
        assert shown(app).splitlines()[1].startswith(" bipolar-4 · 2.4")
        await pilot.click("#strip-4")
        await settle(pilot)
        assert sheet(app).stage_id == "driver"
        await press(pilot, settle, "f4")  # the rest
        assert "coil A" in shown(app) and "label" in shown(app)
