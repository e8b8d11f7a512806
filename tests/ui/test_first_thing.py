"""Every stage of the demo's motors shows one thing first, little prose below it, and nothing twice."""

from __future__ import annotations

from textual.widgets import Digits, Static

from coilbench.board.virtual.crate import VirtualCrate
from coilbench.errors import CoilbenchError
from coilbench.records.store import Bin
from coilbench.stages.connection.stage import ConnectionStage
from coilbench.stages.desk import Desk
from coilbench.stages.driver.stage import DriverStage
from coilbench.stages.order.stage import OrderStage
from coilbench.stages.ratings.stage import RatingsStage
from coilbench.stages.table import STAGES
from coilbench.stages.windings.stage import WindingsStage
from coilbench.ui.panes.base import in_sight
from coilbench.ui.screens.sheet import BenchSheet
from coilbench.ui.widgets.seven_segments import seven_segments

from .screen import open_stage, shown, standing

MOST_PROSE = 12  # rows at 80x24 before "why"
NO_PROSE = (  # names of fields, tables and drawings
    "#stage-list Static, TitleBar Static, MotorStrip Static, Footer Static, Select Static, #picture, #head-unit, "
    "#result-text, #order-wiring, #jog-wiring, .form-label, .ratings-label, .form-row > Static, .jog-row > Static"
)
LOOKED_AT = {  # a motor with all done, one at its first test, one that is not to be used
    "M-02": [each.id for each in STAGES],
    "M-04": ["windings", "order", "connection"],
    "M-06": ["windings", "order", "ratings", "jog"],
}
AT_HAND = {"driver": "A4988", "chip": "A4988", "sense": "R100", "supply": "24 V"}


def prepared(bin_: Bin, motor: str, *, done: bool) -> None:
    """Sort the windings by the demo's meter; ``done``: all that can be known without a board, too."""
    crate, windings = VirtualCrate(), WindingsStage(Desk(bin_, motor))
    while windings.work_out().ask is not None:
        windings.measure(lambda a, b: crate.measure(motor, a, b), "the demo's")
    if not done:
        return
    order = OrderStage(Desk(bin_, motor))
    while order.test is not None:
        order.answer(crate.twitch(motor, order.test))
    for make in (RatingsStage, ConnectionStage, DriverStage):
        stage = make(Desk(bin_, motor))
        at_hand = {each.id: AT_HAND[each.id] for each in stage.FIELDS if each.id in AT_HAND}
        try:
            stage.keep({**stage.texts(), **at_hand})
        except CoilbenchError:  # a motor that isn't to be used is looked at, too
            return


def prose(sheet: BenchSheet) -> list[tuple[str, int]]:
    """The texts that stand on the screen and the rows they take of it."""
    rows = shown(sheet.app).splitlines()  # type: ignore[arg-type]
    aside = set(sheet.query(NO_PROSE))
    found = []
    for each in sheet.query(Static):
        if each in aside or not in_sight(each) or not str(each.content).strip():
            continue
        part = each.region.intersection(each.container_viewport)
        drawn = [rows[y][part.x : part.right] for y in range(max(part.y, 0), min(part.bottom, len(rows)))]
        found.append((str(each.content), sum(bool(row.strip()) for row in drawn)))
    return found


async def test_a_stage_says_little_and_nothing_twice_and_why_by_one_key(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        for motor, stages in LOOKED_AT.items():
            prepared(app.bin, motor, done=motor == "M-02")
            sheet = await open_stage(pilot, settle, motor, stages[0])
            for stage in stages:
                await sheet.show_stage(stage)
                await settle(pilot)
                told = prose(sheet)
                assert sum(rows for _, rows in told) <= MOST_PROSE, (motor, stage, told)
                lines = [line.strip() for text, _ in told for line in text.splitlines() if len(line.split()) > 2]
                assert len(lines) == len(set(lines)), (motor, stage, lines)
                assert sheet.pane.head.says.split()[0] in str(sheet.query_one("#head-words", Static).content)
                assert sheet.query_one("#head").region.height <= 3 and not sheet.query_one("#why").display
        sheet = await open_stage(pilot, settle, "M-02", "driver")
        why, picture = sheet.query_one("#why"), sheet.query_one("#picture")
        assert not why.display and picture.display and sheet.query_one("#head-figure", Digits).region.height == 3
        focused = app.focused
        await pilot.press("f8")
        await settle(pilot)
        assert why.display and not picture.display and app.focused is focused
        first = shown(app)
        await pilot.press("pagedown")
        await settle(pilot)
        assert shown(app) != first
        await pilot.press("f8")
        await pilot.resize_terminal(120, 36)
        await settle(pilot)
        assert not why.display  # folded by the person
        sheet = await open_stage(pilot, settle, "M-02", "ratings")
        assert sheet.query_one("#why").display and sheet.query_one("#picture").display


def test_a_figure_in_plain_characters_is_three_rows_of_them() -> None:
    rows = seven_segments("0.67")
    assert rows == (" _     _   _", "| |   |_    |", "|_| . |_|   |")
