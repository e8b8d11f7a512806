"""Every question of the phase order stage stands whole on a usual screen, whatever the room for its steps."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coilbench.records.problems import BinReadOnly
from coilbench.ui.screens.sheet import BenchSheet
from coilbench.winding.order.judging import judge_order, order_question
from coilbench.winding.order.words import next_twitch

RATED = {"current_ampere": 0.8, "low_ampere": 0.8, "high_ampere": 2.0, "resistance_ohm": 2.4}
CONNECTED = {"connection": "half-coil", "current_ampere": 0.8, "resistance_ohm": 2.4, "wiring": []}
LONGEST = "VT/YE"  # a striped lead's code; longer names are the person's own


def whole(pane, app, jog_pilot) -> None:
    """The question, from its first word to its mark or bracket, lies within what is drawn."""
    asks = pane.query_one("#order-asks")
    words = str(asks.content).split()
    drawn = [line[asks.region.x : asks.region.right] for line in jog_pilot.shown(app).splitlines()]
    assert " ".join(words) in " ".join(" ".join(drawn[asks.region.y : asks.region.bottom]).split())
    assert words[-1].endswith(("?", ")"))


@pytest.mark.parametrize("size", [(80, 24), (60, 20), (120, 40)])
@pytest.mark.parametrize("motor", ["M-02", "M-03", "M-04"])  # six, five, eight leads
async def test_every_question_is_whole(demo_bench, settle, jog_pilot, motor, size) -> None:
    app = demo_bench()
    async with app.run_test(size=size) as pilot:
        pane = await jog_pilot.order_stage(pilot, settle, motor)
        asked = set()
        for _ in range(20):
            if pane.test is None:
                break
            whole(pane, app, jog_pilot)
            asked.add(pane.test.kind)
            await jog_pilot.press(pilot, settle, "m")
        assert pane.test is None and asked == ({"flick", "twitch"} if motor == "M-04" else {"twitch"})


async def test_by_a_board_too_and_with_long_names(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.order_stage(pilot, settle, "M-02")
        await jog_pilot.press(pilot, settle, "b")
        whole(pane, app, jog_pilot)
        await jog_pilot.press(pilot, settle, "g")
        whole(pane, app, jog_pilot)
        await jog_pilot.press(pilot, settle, "b")
        question = order_question(pane.verdict)
        assert question is not None
        renamed = replace(question, ends=tuple(f"{LONGEST}{n}" for n in range(4)), supply=(LONGEST,) * 4)
        pane.order = replace(judge_order(question, []), next=next_twitch(renamed, *renamed.ends[:2]))
        pane.show()
        await settle(pilot)
        whole(pane, app, jog_pilot)


async def test_a_bin_that_may_only_be_read_is_shown_without_a_complaint(
    demo_bench, settle, jog_pilot, monkeypatch
) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.order_stage(pilot, settle, "M-02")
        for _ in range(20):
            if pane.test is None:
                break
            await jog_pilot.press(pilot, settle, "m")
        app.bin.put_fact("M-02", "order", None)
        app.bin.put_fact("M-02", "ratings", RATED)
        app.bin.put_fact("M-02", "connection", CONNECTED)

        def refuse(*_: object) -> None:
            raise BinReadOnly(app.bin.path)

        for writes in ("put_fact", "add_event"):
            monkeypatch.setattr(app.bin, writes, refuse)
        monkeypatch.setattr(app.bin, "read_only", True)
        await app.screen.show_stage("order")
        await settle(pilot)
        assert "the order is known" in jog_pilot.shown(app) and app.bin.fact("M-02", "order") is None
        await jog_pilot.press(pilot, settle, "f3", "f6")  # ratings, the hot soak
        app.screen.pane.query("RatingInput").last().value = "1"
        await jog_pilot.press(pilot, settle, "f3", "f3")
        await jog_pilot.press(pilot, settle, "enter", *"a4988", "enter", "tab", *"R100", "enter")
        assert app.screen.pane.judgement is not None  # worked out and shown, though it can't be kept
        await jog_pilot.press(pilot, settle, "f3", "f2")
        assert isinstance(app.screen, BenchSheet)
