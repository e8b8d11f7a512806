"""The crate's table: what comes next for every motor, nothing cut without a sign of it."""

from __future__ import annotations

from rich.text import Text

from coilbench.records.config import Config
from coilbench.ui.app import BenchApp
from coilbench.ui.dialogs.basic import TextDialog
from coilbench.ui.screens.crate import CELL_PADDING, SCROLL_BAR, CrateTable, fit

from .screen import add_motor, open_stage, shown, standing


def test_a_long_label_ends_in_dots_and_the_rest_stays() -> None:
    row = [Text(each) for each in ("M-01", "6", "unipolar-6 ! leaks to frame", "not to be used", "3 of 7", "x" * 90)]
    widths = fit([row], 80)
    assert row[-1].plain.endswith("…") and "…" not in "".join(cell.plain for cell in row[:-1])
    assert all(cell.cell_len <= width for cell, width in zip(row, widths, strict=True))
    assert sum(widths) + CELL_PADDING * 6 + SCROLL_BAR <= 80


async def test_the_table_fits_the_screen_at_any_width(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        for width in (60, 80, 120):
            await pilot.resize_terminal(width, 24)
            await settle(pilot)
            table = app.screen.query_one(CrateTable)
            assert table.virtual_size.width <= width
            assert "next" in shown(app) and "windings" in shown(app)


async def test_what_is_known_is_broken_once_when_a_scroll_bar_comes(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        add_motor(app, "RD BU")
        sheet = await open_stage(pilot, settle, "M-20", "ratings")
        sheet.facts = [f"fact{number:<5} seven words that just about fill it" for number in range(30)]
        sheet.redraw_known()
        await settle(pilot)
        known = sheet.query_one("#known")
        assert known.show_vertical_scrollbar
        lines = str(sheet.query_one("#facts").content).split("\n")
        assert max(map(len, lines)) <= known.scrollable_content_region.width


async def test_the_scratch_crate_says_that_it_is_thrown_away(settle) -> None:
    app = BenchApp(demo=True, config=Config())
    async with standing(app, settle, size=(80, 24)) as pilot:
        assert "thrown away on quit" in shown(app)
        await pilot.press("f9")
        await settle(pilot)
        assert isinstance(app.screen, TextDialog)
        assert app.bin.path.name in app.screen.text and "own.bin" not in app.screen.text


async def test_a_demo_that_is_kept_does_not_say_so(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle):
        assert "thrown away" not in shown(app)
