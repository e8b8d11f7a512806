"""On the screen the caution that matters at an act stands where the act is: one, once, in two lines at 80x24."""

from __future__ import annotations

from textual.widgets import Static

from coilbench.cautions import FROM_THE_MAINS, LIVE_DRIVER, MAINS
from coilbench.stages.table import STAGES
from coilbench.ui.app import BenchApp

from .screen import measured_out, open_stage, sheet, shown, standing


def cautions(app: BenchApp) -> list[str]:
    """What is shown of cautions in the work's part, each whole; those of more than two lines say so."""
    found = []
    for each in sheet(app).query(Static):
        text = str(each.content)
        if "caution:" in text and each.is_on_screen and each.region.height:
            lines = each.region.height if text.startswith("caution:") else text.count("\n") + 1
            found.append(text if lines <= 2 else f"{lines} lines: {text}")
    assert shown(app).count("caution:") == len(found)
    return found


async def test_each_stage_shows_one_caution_in_two_lines(demo_bench, settle) -> None:
    app, seen = demo_bench(), {}
    async with standing(app, settle, size=(80, 24)) as pilot:
        await open_stage(pilot, settle, "M-03", "windings")
        await settle(pilot)
        seen["windings asked"] = cautions(app)
        await measured_out(pilot, settle)
        for row in STAGES:
            await sheet(app).show_stage(row.id)
            await settle(pilot)
            seen[row.id] = cautions(app)
            if row.id == "ratings":
                for key in ("f6", "f7"):
                    await pilot.press(key)
                    seen[f"ratings {key}"] = cautions(app)
            if row.id == "order":
                await pilot.press("w")
                seen["order, another way"] = cautions(app)
                await pilot.press("w", "w", "b")
                await settle(pilot)
                seen["order by board"] = cautions(app)
        for key in ("f5", "f6", "m", "1"):
            await pilot.press(key)
            await settle(pilot)
            seen[f"jog {key}"] = cautions(app)
    too_much = [found for found in seen.values() if len(found) > 1 or any("lines: " in one for one in found)]
    assert too_much == []
    assert seen["intake"] == [f"caution: {FROM_THE_MAINS}; {MAINS}"]
    assert seen["driver"] == seen["jog"] == [f"caution: {LIVE_DRIVER}"]
    assert {act for act, found in seen.items() if not found} <= {
        "windings",
        "jog f6",
        "jog m",
    }  # nothing is asked, or moves
