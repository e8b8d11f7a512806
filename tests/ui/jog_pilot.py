"""Driving the jog stage from tests: to its form, to a search, through one."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from textual.pilot import Pilot

from coilbench.ui.app import BenchApp
from coilbench.ui.screens.sheet import BenchSheet
from coilbench.ui.stages.jog import JogPane

Settle = Callable[[Pilot[int]], Awaitable[None]]


def shown(app: BenchApp) -> str:
    """The screen as text."""
    return "\n".join("".join(part.text for part in strip) for strip in app.screen._compositor.render_strips())


async def jog_stage(pilot: Pilot[int], settle: Settle, *, motor: int = 0) -> JogPane:
    """Open the jog stage of the motor in that row of the crate."""
    app = pilot.app
    assert isinstance(app, BenchApp)
    await settle(pilot)
    await pilot.press(*["down"] * motor, "enter")
    await settle(pilot)
    assert isinstance(app.screen, BenchSheet)
    await app.screen.show_stage("jog")
    await settle(pilot)
    return app.screen.query_one(JogPane)


async def press(pilot: Pilot[int], settle: Settle, *keys: str) -> None:
    """Keys one by one, each with all that follows from it."""
    for key in keys:
        await pilot.press(key)
        await settle(pilot)


async def search_out(pilot: Pilot[int], settle: Settle, pane: JogPane, most: int = 40) -> None:
    """Let the virtual shaft answer until the search has found what it looks for."""
    for _ in range(most):
        if pane.flow.trial is None:
            return
        await press(pilot, settle, "g" if pane.flow.asked is None else "m")
    raise AssertionError(shown(pilot.app))  # type: ignore[arg-type]
