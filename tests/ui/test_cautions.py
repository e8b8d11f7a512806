"""On the screen each shared caution stands where its act is, whole and once, at 80x24, too."""

from __future__ import annotations

import pytest

from coilbench.cautions import FROM_THE_MAINS, LIVE_DRIVER, MAINS

from .screen import open_stage, shown, standing


@pytest.mark.parametrize(
    ("stage", "cautions"), [("intake", (FROM_THE_MAINS, MAINS)), ("driver", (LIVE_DRIVER,)), ("jog", (LIVE_DRIVER,))]
)
async def test_a_stage_shows_its_cautions_whole_and_once(demo_bench, settle, stage, cautions) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        sheet = await open_stage(pilot, settle, "M-01", stage)
        work = sheet.query_one("#work").region
        rows = shown(app).splitlines()[work.y : work.bottom]
        drawn = " ".join(" ".join(row[work.x : work.right].strip(" ▇▅▃▁█▏│") for row in rows).split())
        for caution in cautions:
            assert drawn.count(caution) == 1, drawn
