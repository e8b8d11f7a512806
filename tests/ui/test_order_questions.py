"""Every question of the phase order stage stands whole on a usual screen, whatever the room for its steps."""

from __future__ import annotations

import pytest

from coilbench.records.saved.connection import Connection
from coilbench.records.saved.order import Order
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Coil, Windings
from coilbench.stages.desk import Desk
from coilbench.ui.screens.sheet import BenchSheet
from tests.support.more import some

from .screen import open_stage, standing

RATED = Ratings(current_ampere=0.8, low_ampere=0.8, high_ampere=2.0, resistance_ohm=2.4)
CONNECTED = Connection(connection="half-coil", current_ampere=0.8, resistance_ohm=2.4)
LONGEST = "VT/YE"  # a striped lead's code; longer names are the person's own


def whole(pane, app, jog_pilot) -> None:
    """The question, from its first word to its mark or bracket, lies within what is drawn."""
    asks = app.screen.query_one("#head-words")
    words = pane.head.says.split()
    drawn = [line[asks.region.x : asks.region.right] for line in jog_pilot.shown(app).splitlines()]
    assert " ".join(words) in " ".join(" ".join(drawn[asks.region.y : asks.region.bottom]).split())
    assert words[-1].endswith(("?", ")"))


@pytest.mark.parametrize("size", some([(80, 24), (60, 20), (120, 40)], of=((60, 20),)))
@pytest.mark.parametrize("motor", ["M-02", "M-03", "M-04"])  # six, five, eight leads
async def test_every_question_is_whole(demo_bench, settle, jog_pilot, motor, size) -> None:
    app = demo_bench()
    async with app.run_test(size=size) as pilot:
        pane = await jog_pilot.order_stage(pilot, settle, motor)
        asked = set()
        for _ in range(20):
            if pane.stage.test is None:
                break
            whole(pane, app, jog_pilot)
            asked.add(pane.stage.test.kind)
            await jog_pilot.press(pilot, settle, "m")
        assert pane.stage.test is None and asked == ({"flick", "twitch"} if motor == "M-04" else {"twitch"})


async def test_by_a_board_too_and_with_long_names(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.order_stage(pilot, settle, "M-02")
        await jog_pilot.press(pilot, settle, "b")
        whole(pane, app, jog_pilot)
        await jog_pilot.press(pilot, settle, "g")
        whole(pane, app, jog_pilot)
        await jog_pilot.press(pilot, settle, "b")


async def test_with_long_names(own_bench, settle, jog_pilot) -> None:
    ends = [f"{LONGEST}{number}" for number in range(4)]
    taps = [f"{LONGEST}{number}" for number in (4, 5)]
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        app.bin.add_motor("vent", [*ends, *taps])
        coils = tuple(
            Coil(name=name, ends=pair, tap=tap, ohms=48.0)
            for name, pair, tap in zip("AB", ((ends[0], ends[1]), (ends[2], ends[3])), taps, strict=True)
        )
        Desk(app.bin, "vent").derive(Windings(arrangement="unipolar-6", confidence=0.99, coils=coils))
        pane = (await open_stage(pilot, settle, "vent", "order")).pane
        assert pane.stage.test is not None
        whole(pane, app, jog_pilot)


async def test_a_bin_that_may_only_be_read_is_shown_without_a_complaint(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.order_stage(pilot, settle, "M-02")
        for _ in range(20):
            if pane.stage.test is None:
                break
            await jog_pilot.press(pilot, settle, "m")
        desk = Desk(app.bin, "M-02")
        desk.withdraw("order")
        desk.keep("ratings", RATED)
        desk.keep("connection", CONNECTED)
        app.bin.read_only = True
        await app.screen.show_stage("order")
        await settle(pilot)
        assert "the order is known" in jog_pilot.shown(app) and Order.stage not in desk.known
        await jog_pilot.press(pilot, settle, "f3", "f6")  # ratings, the hot soak
        app.screen.pane.query_one("#ratings-room2").value = "1"
        await jog_pilot.press(pilot, settle, "f3", "f3")
        await jog_pilot.press(pilot, settle, "enter", *"a4988", "enter", "tab", *"R100", "enter")
        assert "VREF" in jog_pilot.shown(app)  # worked out and shown, though it can't be kept
        await jog_pilot.press(pilot, settle, "f3", "f2")
        assert isinstance(app.screen, BenchSheet)
        assert Order.stage not in desk.known
