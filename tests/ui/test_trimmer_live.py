"""The trimmer, live, on the screen: the demo's turned by keys and by itself, nothing that jumps, a slip seen."""

from __future__ import annotations

from textual.widgets import Digits

from coilbench.records.saved.driver import Driver
from coilbench.stages.desk import Desk
from coilbench.ui.dialogs.trimmer import TrimmerDialog
from coilbench.ui.widgets.needle import needle_lines

from .screen import open_stage, shown, standing

SET = Driver(
    chip="A4988",
    peak_ampere=0.8,
    sense_ohm=0.1,
    vref_volt=0.64,
    supply_volt=12.0,
    microsteps=16,
    typed={"chip": "A4988", "sense": "R100", "current": "0.8 A", "supply": "12 V"},
)


async def test_the_demos_trimmer_by_keys_by_itself_and_slipping(demo_bench, settle, jog_pilot, monkeypatch) -> None:
    app = demo_bench()
    rung: list[bool] = []
    monkeypatch.setattr(app, "bell", lambda: rung.append(True))
    async with standing(app, settle, size=(80, 24)) as pilot:
        Desk(app.bin, "M-01").keep("driver", SET)
        await open_stage(pilot, settle, "M-01", "driver")
        await pilot.press("f6")
        await jog_pilot.until(pilot, lambda: "TURN UP" in shown(app))
        page = app.screen
        assert (
            isinstance(page, TrimmerDialog) and "makes it finer" in shown(app) and "caution: never plug" in shown(app)
        )
        places = {each.id: each.region for each in page.query("*") if each.id}
        low = page.query_one("#trimmer-volt", Digits).value
        await pilot.press("plus")
        await jog_pilot.until(pilot, lambda: page.query_one("#trimmer-volt", Digits).value > low)
        await pilot.press("m")
        await jog_pilot.until(pilot, lambda: rung and "HOLD" in shown(app))
        page.query_one("#trimmer-meter").focus()
        await pilot.press(*"0.61", "enter")
        await jog_pilot.until(pilot, lambda: "makes it finer" not in shown(app) and bool(app.virtual_memory))
        await pilot.press("z")
        await jog_pilot.until(pilot, lambda: "SLIPPED !" in shown(app))
        assert {each.id: each.region for each in page.query("*") if each.id} == places, "nothing has moved"
        await pilot.press("escape", "f6")
        await jog_pilot.until(pilot, lambda: "driver's error" in shown(app))
        assert "makes it finer" not in shown(app), "the board still knows"


def test_the_needle_in_its_band() -> None:
    text = needle_lines(0.5, (0.4, 0.6), ("0", "0.6 to 0.7 V", "1.3"), 32, ascii=True)
    assert text.splitlines() == [
        "|------------======------------|",
        "               ^                ",
        "0        0.6 to 0.7 V        1.3",
    ]
    for place in (0.0, 1.0, 0.37):
        assert {
            len(line) for line in needle_lines(place, (0.48, 0.52), ("0", "x", "1"), 60, ascii=False).split("\n")
        } == {60}
