"""From stage to stage by a hurried hand."""

from __future__ import annotations

import asyncio

import pytest

from coilbench.stages.table import STAGES
from coilbench.ui.panes.base import StagePane
from coilbench.ui.screens.crate import CrateScreen

from .screen import sheet, standing


@pytest.mark.parametrize("stage", [spec.id for spec in STAGES])
async def test_a_sheet_that_is_left_shows_no_other_stage(demo_bench, settle, stage) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", size=(80, 24)) as pilot:
        left = sheet(app)
        changing = asyncio.create_task(left.show_stage(stage))
        for _ in range(3):  # on its way
            await asyncio.sleep(0)
        await asyncio.gather(app.pop_screen(), changing)
        await settle(pilot)
        assert isinstance(app.screen, CrateScreen)


async def test_of_two_stages_at_once_one_stands_at_the_end(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", size=(80, 24)) as pilot:
        await asyncio.gather(sheet(app).show_stage("ratings"), sheet(app).show_stage("driver"))  # a click and a key
        await settle(pilot)
        assert list(sheet(app).query(StagePane)) == [sheet(app).pane]
