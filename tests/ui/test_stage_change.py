"""From stage to stage by a hurried hand."""

from __future__ import annotations

import asyncio

import pytest

from coilbench.stages.table import STAGES
from coilbench.ui.panes.base import StagePane
from coilbench.ui.screens.bin import BinScreen
from coilbench.ui.screens.sheet import BenchSheet
from tests.support.more import some

from .screen import sheet, standing


@pytest.mark.parametrize("stage", some([spec.id for spec in STAGES], of=("order", "driver", "jog")))
async def test_a_sheet_that_is_left_shows_no_other_stage(demo_bench, settle, stage) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", size=(80, 24)) as pilot:
        left = sheet(app)
        changing = asyncio.create_task(left.show_stage(stage))
        for _ in range(3):  # on its way
            await asyncio.sleep(0)
        await asyncio.gather(app.pop_screen(), changing)
        await settle(pilot)
        assert isinstance(app.screen, BinScreen)


async def test_of_two_stages_at_once_one_stands_at_the_end(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", size=(80, 24)) as pilot:
        await asyncio.gather(sheet(app).show_stage("ratings"), sheet(app).show_stage("driver"))  # a click and a key
        await settle(pilot)
        assert list(sheet(app).query(StagePane)) == [sheet(app).pane]


@pytest.mark.parametrize("turns", some(range(8), of=(0, 2, 5)))
async def test_a_key_as_a_sheet_opens_is_taken_or_passed_over(demo_bench, settle, turns) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        opened = BenchSheet("M-01")
        app.push_screen(opened)
        for _ in range(turns):
            await asyncio.sleep(0)
        for act in ("sheet_next", "sheet_undo", "sheet_back"):
            await app.run_action(act, opened)
        await settle(pilot)
        assert list(opened.query(StagePane)) == [opened.pane]


async def test_an_act_for_a_stage_that_has_gone_is_passed_over(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", size=(80, 24)) as pilot:
        await sheet(app).show_stage("connection")
        gone = sheet(app).pane
        await sheet(app).show_stage("driver")
        await app.run_action("connection_drive", gone)  # as the palette found it a moment ago
        await settle(pilot)
        assert sheet(app).stage_id == "driver"
