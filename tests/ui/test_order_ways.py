"""The order stage's other ways on the screen: chosen by a key or a click, asked whole, cautioned once."""

from __future__ import annotations

import pytest

from coilbench.records.saved.order import HandTest, Order
from coilbench.stages.desk import Desk
from coilbench.ui.widgets.titlebar import TitleBar
from tests.support.more import some

from .screen import shown
from .test_order_questions import whole


@pytest.mark.parametrize("size", some([(80, 24), (120, 40)], of=((80, 24),)))
async def test_each_way_is_asked_whole_and_says_each_caution_once(demo_bench, settle, jog_pilot, size) -> None:
    app = demo_bench()
    async with app.run_test(size=size) as pilot:
        pane = await jog_pilot.order_stage(pilot, settle, "M-04")
        kinds = []
        for _ in range(4):
            asked = pane.stage.test
            kinds.append(asked.kind)
            whole(pane, app, jog_pilot)
            said = " ".join((str(pane.query_one("#order-first").content), *pane.head.why))
            assert [said.count(caution) for caution in asked.cautions] == [1] * len(asked.cautions)
            await jog_pilot.press(pilot, settle, "w")
        assert kinds == ["flick", "induced", "free", "drag"]
        await pilot.click("#order-way")
        await settle(pilot)
        for _ in range(20):
            if pane.stage.test is None:
                break
            await jog_pilot.press(pilot, settle, "m")
        order = Desk(app.bin, "M-04").known.get(Order)
        assert order is not None and order.done and not order.direction_known
        assert {entry.value.kind for entry in Desk(app.bin, "M-04").entries(HandTest)} == {"induced", "added"}
        assert "find the direction (w)" in shown(app)
        await jog_pilot.press(pilot, settle, "w")
        assert pane.stage.test is not None and pane.stage.test.kind == "twitch"


async def test_what_is_told_has_room_and_ends_at_a_word(demo_bench, settle) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        told = "taken back: reading VT/YE VT/WH, reading VT/YE the case, what was kept"
        app.tell(told)
        await settle(pilot)
        assert told in shown(app).splitlines()[0]
        app.tell(f"{told} " + "and more " * 20)
        await settle(pilot)
        assert shown(app).splitlines()[0].rstrip().endswith(" …")
        app.tell("taken back: test")
        await settle(pilot)
        assert "f1 help" in shown(app).splitlines()[0] and not app.screen.query_one(TitleBar).has_class("-long")
