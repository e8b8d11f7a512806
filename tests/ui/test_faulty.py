"""A faulty motor in every stage: the same judgement stands over each, and no figures where there are none."""

from __future__ import annotations

import pytest

from coilbench.records.saved.connection import Connection
from coilbench.records.saved.ratings import Ratings
from tests.support.more import some

from .screen import measured_out, open_stage, shown, standing

UNFIT = [("M-06", "do not power this motor"), ("M-12", "keep this motor for parts: shorted turns")]


@pytest.mark.parametrize(("motor", "says"), some(UNFIT, of=UNFIT[:1], rows=True))
async def test_no_figures_for_a_motor_that_can_not_be_used(demo_bench, settle, motor, says) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        await open_stage(pilot, settle, motor, "windings")
        await measured_out(pilot, settle)
        for stage in ("order", "ratings", "connection", "driver"):
            await open_stage(pilot, settle, motor, stage)
            assert f"! {says}" in shown(app)
            assert "start with" not in shown(app) and "advised" not in shown(app)
            await pilot.press("enter")
            await settle(pilot)
            assert stage not in app.bin.known(motor)


async def test_an_open_half_goes_on_to_half_coil_drive(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(120, 40)) as pilot:
        await open_stage(pilot, settle, "M-05", "windings")
        await measured_out(pilot, settle)
        await open_stage(pilot, settle, "M-05", "order")
        assert "no order to find" in shown(app)
        await open_stage(pilot, settle, "M-05", "ratings")
        await pilot.press("enter")
        await settle(pilot)
        assert app.bin.known("M-05").get(Ratings).resistance_ohm == pytest.approx(33.2, abs=0.1)
        await open_stage(pilot, settle, "M-05", "connection")
        assert [row.connection for row in app.screen.pane.answer.rows] == ["half-coil"]
        assert "all that the motor's fault leaves" in " ".join(app.screen.pane.head.why)
        assert "6 apart" in app.screen.pane.head.act
        await pilot.press("enter")
        await settle(pilot)
        assert app.bin.known("M-05").get(Connection).connection == "half-coil"
        await open_stage(pilot, settle, "M-05", "driver")
        assert "half-coil drive only" in shown(app)
