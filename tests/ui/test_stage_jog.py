"""The jog stage on a virtual board whose time runs freely: from nothing to a working rate, and every way to stop."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Select, Static

from coilbench.records.saved.jog import TrialMade
from coilbench.records.saved.windings import WindingFault, Windings
from coilbench.stages.desk import Desk
from coilbench.ui.dialogs.basic import ProblemDialog
from coilbench.ui.panes.jog.form import JogField
from coilbench.ui.panes.jog.pane import JogPane
from coilbench.ui.screens.sheet import BenchSheet
from coilbench.ui.widgets.ladder import ladder_lines
from coilbench.ui.widgets.skip_curve import round_ticks

MOTOR = "M-01"
Settle = Callable[[Pilot[int]], Awaitable[None]]


def board_of(pane: JogPane) -> Any:
    return port_of(pane).board


def port_of(pane: JogPane) -> Any:
    session = pane.session
    assert session is not None and session._helper is not None
    return session._helper.link.port


def outputs_on(pane: JogPane) -> bool:
    return bool(board_of(pane).motion.outputs_on)


async def test_mouse_alone_and_the_sensor_answers_by_itself(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        pane.query_one("#jog-choose-watch", Select).value = "sensor"
        for button in ("connect", "turn", "answer-1", "answer-1", "go"):
            await pilot.click(f"#jog-{button}")
            await settle(pilot)
        await jog_pilot.until(pilot, lambda: len(pane.stage.search.answers) >= 3)
        await pilot.click("#jog-stop")
        await jog_pilot.until(pilot, lambda: not pane.waiting or pane.stage.search.trial is None)
        assert {each.value.by for each in app.bin.entries(MOTOR, TrialMade)} == {"sensor"}


async def test_every_way_to_stop_stops(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench(virtual_options="")  # by the clock on the wall
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        for how in ("space", "escape", "button"):
            await jog_pilot.start_a_slow_turn(pilot, pane)
            assert outputs_on(pane)
            assert pane.query_one("#jog-stop").has_focus
            if how == "button":
                await pilot.click("#jog-stop")
            else:
                await pilot.press(how)
            await jog_pilot.until(pilot, lambda: not outputs_on(pane) and not pane.stage.moving)
            assert pane.stage.stand == "wire"
            assert isinstance(app.screen, BenchSheet)  # esc stopped, and did not leave


async def test_leaving_and_closing_stop_the_motor(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench(virtual_options="")  # by the clock on the wall
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        await jog_pilot.start_a_slow_turn(pilot, pane)
        assert outputs_on(pane)
        left, port = board_of(pane), port_of(pane)
        await pilot.press("f2")
        await jog_pilot.until(pilot, lambda: not port.is_open)
        await app.screen.show_stage("jog")
        pane = app.screen.query_one(JogPane)
        await jog_pilot.start_a_slow_turn(pilot, pane)
        assert outputs_on(pane)
        closed = board_of(pane)
    assert not left.motion.outputs_on
    assert not closed.motion.outputs_on


async def test_an_unplugged_board_is_said_with_its_remedy(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench(virtual_options="")  # by the clock on the wall
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        await jog_pilot.start_a_slow_turn(pilot, pane)
        assert outputs_on(pane)
        port_of(pane).close()
        await jog_pilot.until(
            pilot, lambda: "went away" in jog_pilot.shown(app) and "plug it in again" in jog_pilot.shown(app)
        )
        await pilot.press("escape")
        await jog_pilot.until(pilot, lambda: isinstance(app.screen, BenchSheet))
        assert pane.stage.stand == "board"
        await pilot.press("f5")  # plugged in again
        await jog_pilot.until(pilot, lambda: pane.stage.stand == "wire" and not pane.waiting)
        port_of(pane).close()  # and pulled while nothing moves
        await jog_pilot.until(pilot, lambda: isinstance(app.screen, ProblemDialog))


async def test_nothing_is_lost_when_the_bench_is_killed(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test() as pilot:
        pane = await jog_pilot.to_the_search(pilot, settle)
        for key in ("g", "0", "4"):
            await pilot.press(key)
            await settle(pilot)
        assert len(pane.stage.search.answers) == 2
        following = pane.stage.search.trial
    again = demo_bench()
    async with again.run_test() as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        assert "2 moves kept" in str(pane.query_one("#jog-said", Static).content)
        for key in ("f5", "f6", "1"):
            await pilot.press(key)
            await settle(pilot)
        assert pane.stage.search.trial == following and len(pane.stage.search.answers) == 2
        assert not pane.stage.moving  # it waits for a word before it moves
        await pilot.press("ctrl+z")
        await settle(pilot)
        assert len(pane.stage.search.answers) == 1


async def test_bad_fields_the_boards_own_pins_and_a_shaft_that_jerks(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(120, 40)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        said = pane.query_one("#jog-said", Static)
        for name, text in (("microsteps", "0"), ("turn", "two"), ("acceleration", "")):
            field = pane.query_one(f"#jog-field-{name}", JogField)
            kept, field.value = field.value, text
            await pilot.press("f5")
            await pilot.pause()
            assert pane.session is None and "expected a whole number" in str(said.content)
            field.value = kept
        await pilot.press("f5")
        await settle(pilot)
        pins = pane.stage.board.pins["driver"]
        for pin in (pins["step"], pins["dir"], pins["enable"]):
            assert f"pin {pin}" in jog_pilot.shown(app)
        for key in ("f6", "3"):
            await pilot.press(key)
            await settle(pilot)
        assert pane.stage.stand == "wire"
        assert "power off" in str(said.content)


async def test_a_motor_that_leaks_to_its_frame_is_not_powered(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        leaking = Windings(arrangement="unknown", faults=(WindingFault(kind="frame", leads=("RD",)),))
        Desk(app.bin, MOTOR).keep("windings", leaking)
        pane = await jog_pilot.jog_stage(pilot, settle)
        for keys in ((), ("f5",), ("f6", "g")):  # on arrival, and whatever is tried
            await pilot.press(*keys)
            await settle(pilot)
            screen = jog_pilot.shown(app)
            assert "! do not power this motor: RD conducts to the case" in screen
            assert "stop: this motor is not to be used" in screen and "set it aside" in screen
            assert pane.session is None and pane.stage.stand == "board"


async def test_without_a_port_nothing_happens(own_bench, settle, jog_pilot) -> None:
    app = own_bench()
    async with app.run_test() as pilot:
        await settle(pilot)
        app.bin.add_motor("vent", ["RD", "BU"])
        app.screen.reload()
        pane = await jog_pilot.jog_stage(pilot, settle)
        await pilot.press("f5")
        await settle(pilot)
        assert pane.session is None and "choose the port" in str(pane.query_one("#jog-said", Static).content)


def test_the_ladder_keeps_the_present_rung_in_sight() -> None:
    told = [(100.0 * rung, rung > 20) for rung in range(1, 41)] + [(500.0, None)]
    lines = ladder_lines(told, 450.0, 40, 8)
    assert len(lines) == 8
    assert any(line.startswith("▸    450") for line in lines)
    assert any(line.endswith("✓?") for line in lines)


def test_a_long_proof_is_counted_where_its_marks_have_no_room() -> None:
    lines = ladder_lines([(450.0, each == 7) for each in range(60)], 450.0, 30, 8)
    assert lines[-1] == "▸    450 59 ✓  1 ✗"


@pytest.mark.parametrize(("low", "high"), [(40.0, 5000.0), (980.0, 1020.0), (90_000.0, 110_000.0)])
def test_ticks_are_few_and_within(low, high) -> None:
    ticks = round_ticks(low, high)
    assert 2 <= len(ticks) <= 4
    assert low <= ticks[0] and ticks[-1] <= high
