"""What the tests of the screens share: a bench that stands, its screen as text, a stage opened, a motor measured."""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from typing import Any

from textual.pilot import Pilot
from textual.widgets._footer import FooterKey

from coilbench.records.saved.base import Fact
from coilbench.stages.desk import Desk
from coilbench.ui.app import BenchApp
from coilbench.ui.screens.sheet import BenchSheet

Settle = Callable[[Pilot[int]], Awaitable[None]]


@asynccontextmanager
async def standing(app: BenchApp, settle: Settle, *keys: str, **options: Any) -> AsyncIterator[Pilot[int]]:
    """A bench whose first screen stands, after these keys were pressed one by one."""
    async with app.run_test(**options) as pilot:
        await settle(pilot)
        for key in keys:
            await pilot.press(key)
            await settle(pilot)
        yield pilot


def shown(app: BenchApp) -> str:
    """The screen as text."""
    return "\n".join("".join(part.text for part in strip) for strip in app.screen._compositor.render_strips())


def sheet(app: BenchApp) -> BenchSheet:
    """The bench sheet on top."""
    assert isinstance(app.screen, BenchSheet)
    return app.screen


def add_motor(app: BenchApp, leads: str, *facts: Fact) -> Desk:
    """Add the motor M-20 with these leads and what its stages have kept; its desk."""
    app.bin.add_motor("M-20", leads.split())
    desk = Desk(app.bin, "M-20")
    for fact in facts:
        desk.keep(fact.stage, fact)
    return desk


async def open_stage(pilot: Pilot[int], settle: Settle, motor: str, stage: str) -> BenchSheet:
    """Open a motor's sheet at a stage."""
    await pilot.app.push_screen(BenchSheet(motor, stage_id=stage))
    await settle(pilot)
    return sheet(pilot.app)  # type: ignore[arg-type]


async def click_foot(pilot: Pilot[int], settle: Settle, action: str) -> None:
    """Click the key of an action at the foot of the screen."""
    await settle(pilot)  # a foot comes after the rest
    (key,) = [each for each in pilot.app.screen.query(FooterKey) if each.action == action]
    await pilot.click(key)
    await settle(pilot)


async def measured_out(pilot: Pilot[int], settle: Settle) -> None:
    """Let the demo's meter answer until nothing is asked any more."""
    for _ in range(40):
        if sheet(pilot.app).pane.ask is None:  # type: ignore[arg-type,union-attr]
            return
        await pilot.press("m")
        await settle(pilot)
    raise AssertionError("still asking after 40 readings")
