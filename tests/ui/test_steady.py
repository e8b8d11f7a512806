"""A hurried hand: sizes and keys at once, a click too many."""

from __future__ import annotations

import pytest
from textual.events import Resize
from textual.geometry import Size

from coilbench.errors import Fault
from coilbench.ui.dialogs.basic import ProblemDialog
from coilbench.ui.screens.bin import BinScreen

from .screen import sheet, standing

MOST_LAYOUTS = 40


@pytest.mark.parametrize("over", ["sheet", "help", "palette"])
async def test_two_sizes_with_a_key_between_them_come_to_rest(demo_bench, settle, no_freeze, over) -> None:
    app = demo_bench()
    keys = {"sheet": ("enter",), "help": ("enter", "f1"), "palette": ("enter", "ctrl+p")}[over]
    async with standing(app, settle, *keys, size=(80, 24)) as pilot:
        laid_out: list[object] = []
        app.screen.screen_layout_refresh_signal.subscribe(app, laid_out.append)
        small, large = Size(50, 18), Size(120, 40)
        app._driver._size = large  # as the terminal has it by then
        for size in (small, large):
            app.post_message(Resize(size, size))
            app.screen.post_message(Resize(size, size))
            app.screen.call_later(app.screen.focus_next)
        await settle(pilot)
        assert app.screen.size == large
        assert len(laid_out) < MOST_LAYOUTS


async def test_a_double_click_leaves_one_page_only(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", size=(80, 24)) as pilot:
        app.show_problem(Fault("the disk is full"))
        await settle(pilot)
        assert isinstance(app.screen, ProblemDialog)
        await pilot.click("#close", times=3)
        await settle(pilot)
        assert sheet(app).motor_name == "M-01"
        left = sheet(app)
        left.dismiss(None)
        left.dismiss(None)
        await settle(pilot)
        assert isinstance(app.screen, BinScreen)
