"""Driving the jog stage from tests: to its form, to a search, through one."""

from __future__ import annotations

from collections.abc import Callable

from textual.pilot import Pilot

from coilbench.ui.app import BenchApp
from coilbench.ui.panes.jog.form import JogField
from coilbench.ui.panes.jog.pane import JogPane
from coilbench.ui.panes.order.pane import OrderPane
from coilbench.ui.screens.sheet import BenchSheet
from tests.ui.screen import Settle, measured_out, open_stage, shown


async def jog_stage(pilot: Pilot[int], settle: Settle, *, motor: int = 0) -> JogPane:
    """Open the jog stage of the motor in that row of the bin."""
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
        if pane.stage.search.trial is None and not pane.waiting:
            return
        await press(pilot, settle, "g" if pane.stage.search.asked is None else "m")
    raise AssertionError(shown(pilot.app))  # type: ignore[arg-type]


async def jog_of_ones_own(pilot: Pilot[int], settle: Settle) -> JogPane:
    """The jog stage of a new motor in one's own bin."""
    app = pilot.app
    assert isinstance(app, BenchApp)
    await settle(pilot)
    app.bin.add_motor("vent", ["RD", "BU", "GN", "BK"])
    app.screen.reload()  # type: ignore[attr-defined]
    return await jog_stage(pilot, settle)


async def to_the_search(pilot: Pilot[int], settle: Settle) -> JogPane:
    """The first motor turned once, the search for its fastest start begun."""
    pane = await jog_stage(pilot, settle)
    await press(pilot, settle, "f5", "f6", "m", "1")
    assert pane.stage.search.trial is not None and not pane.stage.moving
    return pane


async def order_stage(pilot: Pilot[int], settle: Settle, motor: str) -> OrderPane:
    """The order stage of a motor of the demo's crate, its windings sorted."""
    await settle(pilot)
    sheet = await open_stage(pilot, settle, motor, "windings")
    await measured_out(pilot, settle)
    await sheet.show_stage("order")
    await settle(pilot)
    return sheet.query_one(OrderPane)


async def until(pilot: Pilot[int], true: Callable[[], bool]) -> None:
    """Let the screen go on until something has come about."""
    for _ in range(500):
        if true():
            return
        await pilot.pause(0.02)
    raise AssertionError(shown(pilot.app))  # type: ignore[arg-type]


async def start_a_slow_turn(pilot: Pilot[int], pane: JogPane) -> None:
    """A turn that takes a long while, well on its way."""
    await until(pilot, lambda: pane.stage.stand in ("board", "wire") and not pane.waiting)
    pane.query_one("#jog-field-turn", JogField).value = "480"
    await pilot.press("f5")
    await until(pilot, lambda: pane.stage.stand == "wire" and not pane.waiting)
    await pilot.press("f6")
    await until(pilot, lambda: bool(pane.stage.way))
