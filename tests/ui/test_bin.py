"""The bin's table: what comes next for every motor, nothing cut without a sign of it."""

from __future__ import annotations

import pytest

from coilbench.records.config import Config
from coilbench.stages.bin.table_of_lines import TITLES, MotorRow, ordered
from coilbench.ui.app import BenchApp
from coilbench.ui.dialogs.basic import TextDialog
from coilbench.ui.screens.bin import BinScreen
from coilbench.ui.screens.sheet import BenchSheet
from coilbench.ui.screens.summary import SummaryScreen
from coilbench.ui.widgets.bin_table import CELL_PADDING, MARK_WIDTH, SCROLL_BAR, BinTable, cut, fit, widest
from tests.support.cards import whole

from .screen import shown, standing


def row(*texts: str) -> MotorRow:
    return MotorRow(dict(zip(TITLES, texts, strict=True)))


FAULTY = row("M-01", "unipolar-6 ! leaks to case", "24.2 Ω", "0.33 A", "", "", "not to be used", "x" * 90)
SET = row("M-02", "bipolar-4", "2.4 Ω", "1.02 A", "0.814 V", "477 / 1593", "all done", "wide printer")
BARE = row("M-03", "4 leads", "", "", "", "", "next: windings", "")
SMALL = row("M-04", "bipolar-4", "0.9 Ω", "900 mA", "1.07 V", "593 / –", "next: jog", "till")


@pytest.mark.parametrize("width", [60, 80, 120])
def test_a_long_label_ends_in_dots_and_the_rest_stays(width: int) -> None:
    rows = [FAULTY, SET, BARE]
    columns = fit(widest(rows), width)
    for each in rows:
        cells = {title: cut(each.texts[title], columns[title]) for title in columns}
        assert not any("…" in text for title, text in cells.items() if title != "from")
    assert cut(FAULTY.texts["from"], columns["from"]).endswith("…")
    assert sum(columns.values()) + CELL_PADDING * len(columns) + MARK_WIDTH + SCROLL_BAR <= width
    assert (list(columns) == list(TITLES)) == (width == 120)


def test_a_column_of_which_nothing_is_known_takes_no_room() -> None:
    assert list(fit(widest([BARE]), 80)) == ["motor", "windings", "verdict"]


def test_figures_are_sorted_by_their_size_and_what_is_not_known_comes_last() -> None:
    rows = [BARE, SET, SMALL]
    assert [each.name for each in ordered(rows, "current")] == ["M-04", "M-02", "M-03"]
    assert [each.name for each in ordered(rows, "rates")] == ["M-02", "M-04", "M-03"]
    assert [each.name for each in ordered(rows, "from")] == ["M-04", "M-02", "M-03"]
    assert ordered(rows, "") == rows


async def test_motors_are_found_as_one_types_and_all_come_back(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        await pilot.press("slash", *"printer 6")
        await settle(pilot)
        assert "wide printer" in shown(app) and "scanner" not in shown(app) and "1 of 13" in shown(app)
        await pilot.press("enter", "s")
        await settle(pilot)
        assert app.screen.query_one(BinTable).has_focus and "sorted by motor" in shown(app)
        await pilot.press("escape")
        await settle(pilot)
        assert app.screen.query_one(BinTable).row_count == 13
        await pilot.click(BinTable, offset=(10, 0))  # the head of the windings
        await settle(pilot)
        first = app.screen.query_one(BinTable).get_row_at(0)
        assert first[:2] == ["M-07", "3 leads"]


async def test_a_finished_motor_opens_on_all_that_one_needs_to_wire_and_set_it(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        whole(app.bin)
        app.screen.reload()
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(app.screen, SummaryScreen)
        await app.workers.wait_for_complete()
        await settle(pilot)
        said = shown(app)
        for each in ("VREF", "A4988", "A+", "B−", "insulate", "steps/s"):
            assert each in said, said
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(app.screen, BenchSheet)
        await pilot.press("escape")
        await settle(pilot)
        assert isinstance(app.screen, BinScreen)


async def test_the_table_fits_the_screen_at_any_width(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        for width in (60, 80, 120):
            await pilot.resize_terminal(width, 24)
            await settle(pilot)
            table = app.screen.query_one(BinTable)
            assert table.virtual_size.width <= width
            assert "next" in shown(app) and "windings" in shown(app)


async def test_the_scratch_bin_says_that_it_is_thrown_away(settle) -> None:
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
