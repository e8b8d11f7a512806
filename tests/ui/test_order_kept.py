"""The phase order between screen and command: what one has kept the other shows, and goes on with."""

from __future__ import annotations

import io
import sys

import pytest

from coilbench.cli import main
from coilbench.quantity import OPEN
from coilbench.records.exchange import export_object
from coilbench.records.saved.order import HandTest
from coilbench.stages.desk import Desk
from coilbench.stages.order.stage import OrderStage
from coilbench.winding.readings.reading import FRAME, Reading
from tests.support.motors import FIVE, IN_ORDER

from .screen import open_stage, shown, standing

LEADS = ("WH", "RD", "YE", "BU", "BK")
READINGS = (
    ("WH", "RD", 70.2),
    ("YE", "BU", 140.2),
    ("WH", "BK", 70.2),
    ("WH", FRAME, OPEN),
    ("RD", "BK", 140.2),
)


class Lines(io.StringIO):
    encoding = "utf-8"


def vent(app) -> Desk:
    app.bin.add_motor("vent", LEADS)
    desk = Desk(app.bin, "vent")
    for a, b, ohm in READINGS:
        desk.add_reading(Reading(a, b, ohm))
    desk.derive(FIVE)
    return desk


async def test_an_order_without_its_tests_is_shown_and_stays(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(120, 40)) as pilot:
        vent(app).derive(IN_ORDER)
        before = export_object(app.bin)
        await open_stage(pilot, settle, "vent", "order")
        assert "the order is known" in shown(app) and "RD BU YE BK" in shown(app)
        await pilot.press("ctrl+z", "ctrl+y", "1", "f2", "f3")
        await settle(pilot)
        assert export_object(app.bin) == before


@pytest.mark.parametrize("first", ["screen", "command"])
async def test_one_goes_on_where_the_other_stopped(own_bench, settle, monkeypatch, tmp_path, first) -> None:
    words = ["windings", "--bin", str(tmp_path / "own.bin"), "--ask", "--go-on", "--save", "vent", "--order"]

    def by_command() -> None:
        with monkeypatch.context() as streams:
            streams.setattr(sys, "stdin", io.StringIO("unsure\n"))
            streams.setattr(sys, "stdout", Lines())
            assert main([*words, "--json"]) == 3

    app = own_bench()
    async with standing(app, settle, size=(120, 40)) as pilot:
        desk = vent(app)
        if first == "command":
            by_command()
        await open_stage(pilot, settle, "vent", "order")
        await pilot.press("1")
        await settle(pilot)
        if first == "screen":
            by_command()
        assert [entry.value.answer for entry in desk.entries(HandTest)] == (
            ["unsure", "cw"] if first == "command" else ["cw", "unsure"]
        )
        stage = OrderStage(desk)
        assert stage.verdict is not None and stage.verdict.tests == 2
