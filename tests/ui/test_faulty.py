"""A faulty motor in every stage: the same judgement stands over each, and no figures where there are none."""

from __future__ import annotations

import pytest
from textual.widgets import Static

from coilbench.ui.screens.sheet import BenchSheet


def shown(app) -> str:
    return "\n".join("".join(part.text for part in strip) for strip in app.screen._compositor.render_strips())


async def sorted_out(app, pilot, settle, motor: str) -> None:
    await settle(pilot)
    app.push_screen(BenchSheet(motor, stage_id="windings"))
    await settle(pilot)
    for _ in range(40):
        if app.screen.pane.ask is None:
            break
        await pilot.press("m")
        await settle(pilot)


async def show(app, pilot, settle, motor: str, stage: str) -> None:
    app.push_screen(BenchSheet(motor, stage_id=stage))
    await settle(pilot)


@pytest.mark.parametrize(
    ("motor", "says"), [("M-06", "do not power this motor"), ("M-12", "keep this motor for parts: shorted turns")]
)
async def test_no_figures_for_a_motor_that_can_not_be_used(demo_bench, settle, motor, says) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await sorted_out(app, pilot, settle, motor)
        for stage in ("order", "ratings", "connection", "driver"):
            await show(app, pilot, settle, motor, stage)
            assert f"! {says}" in shown(app)
            assert "start with" not in shown(app) and "advised" not in shown(app)
            await pilot.press("enter")
            await settle(pilot)
            assert app.bin.fact(motor, stage) is None


async def test_an_open_half_goes_on_to_half_coil_drive(demo_bench, settle) -> None:
    app = demo_bench()
    async with app.run_test(size=(120, 40)) as pilot:
        await sorted_out(app, pilot, settle, "M-05")
        await show(app, pilot, settle, "M-05", "order")
        assert "no order to find" in shown(app)
        await show(app, pilot, settle, "M-05", "ratings")
        await pilot.press("enter")
        await settle(pilot)
        assert app.bin.fact("M-05", "ratings")["resistance_ohm"] == pytest.approx(33.2, abs=0.1)
        await show(app, pilot, settle, "M-05", "connection")
        assert [row.connection for row in app.screen.pane.choice.rows] == ["half-coil"]
        assert "all that the motor's fault leaves" in str(app.screen.query_one("#connection-why", Static).content)
        assert "6: insulate" in str(app.screen.query_one("#connection-wires", Static).content)
        await pilot.press("enter")
        await settle(pilot)
        assert app.bin.fact("M-05", "connection")["connection"] == "half-coil"
        await show(app, pilot, settle, "M-05", "driver")
        assert "half-coil drive only" in shown(app)
