"""The jog stage and a person who is frightened, tired, or in a hurry."""

from __future__ import annotations

from textual.widgets import Select, Static

from coilbench.records.saved.driver import Driver
from coilbench.stages.desk import Desk
from coilbench.ui.panes.jog.form import TYPED, JogField
from coilbench.ui.panes.jog.pane import JogPane
from coilbench.ui.screens.sheet import BenchSheet

MOTOR = "M-01"


def said(pane) -> str:
    return str(pane.query_one("#jog-said", Static).content)


async def test_any_key_stops_a_moving_motor_but_not_one_pressed_too_early(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench(virtual_options="")  # by the clock on the wall
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        for key in ("ctrl+c", "k", "n", "6"):
            await jog_pilot.start_a_slow_turn(pilot, pane)
            await pilot.press("0", "g", "m")  # an answer or a go, a moment too early
            assert pane.stage.moving
            board = pane.session._helper.link.port.board
            await pilot.press(key)
            await jog_pilot.until(pilot, lambda: not board.motion.outputs_on and not pane.stage.moving)  # noqa: B023
            assert "Stopped, outputs off" in said(pane) and isinstance(app.screen, BenchSheet)
        await jog_pilot.start_a_slow_turn(pilot, pane)
        await pilot.press("f1")
        assert "The motor was stopped: a page covered STOP" in jog_pilot.shown(app)
        await jog_pilot.until(pilot, lambda: not pane.stage.moving)
        await pilot.press("escape")  # closes the page, and no more
        assert app.screen.query_one(JogPane) is pane and "a page covered STOP" in said(pane)


async def test_without_a_current_set_the_slow_turn_has_its_caution(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(60, 20)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        await jog_pilot.press(pilot, settle, "f5")
        screen = jog_pilot.shown(app)
        assert "no current is set for this motor" in screen and "PgDn: more" in screen
        await jog_pilot.press(pilot, settle, "f4")
        assert "supply + ─fuse─▸ VM" in app.screen.text
        await jog_pilot.press(pilot, settle, "escape", "f7")
        Desk(app.bin, MOTOR).keep("driver", Driver(chip="A4988", vref_volt=0.4, peak_ampere=0.6, microsteps=1))
        await jog_pilot.press(pilot, settle, "f5")
        assert "never plug or unplug" in jog_pilot.shown(app) and "no current is set" not in jog_pilot.shown(app)
        await jog_pilot.press(pilot, settle, "f6")  # not a refusal
        assert pane.stage.stand == "turned"


async def test_two_moves_are_no_result_and_not_lost_either(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        await jog_pilot.press(pilot, settle, "f5", "f6", "1")
        assert "Stopped" not in jog_pilot.shown(app)
        await jog_pilot.press(pilot, settle, "1", "g")
        assert "did it turn, and end" in jog_pilot.shown(app)  # the way back, alone
        await jog_pilot.press(pilot, settle, "0", "0", "0")
        assert not pane.query_one("#jog-curve").display  # one move is no curve
        assert "for a curve: one held, one lost" in jog_pilot.shown(app)
        await jog_pilot.press(pilot, settle, "4")
        assert pane.query_one("#jog-curve").display and "an estimate, between" in jog_pilot.shown(app)
        await jog_pilot.press(pilot, settle, "n")
        text = " ".join(str(pane.query_one("#jog-says", Static).content).split())
        assert "Too rough for a result; its 4 moves are kept" in text


async def test_a_port_that_is_not_listed_can_be_typed(own_bench, settle, jog_pilot) -> None:
    app = own_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_of_ones_own(pilot, settle)
        field = pane.query_one("#jog-field-typed", JogField)
        assert not field.parent.display
        pane.query_one("#jog-port", Select).value = TYPED
        await settle(pilot)
        assert field.parent.display
        for typed, told in (("", "type the port's name"), ("/dev/null", "is no serial port")):
            field.value = typed
            await jog_pilot.press(pilot, settle, "f5")
            assert told in said(pane)
            if typed:
                await jog_pilot.press(pilot, settle, "escape")  # the same as a dialog
        field.value = "virtual://bench?clock=free"
        await jog_pilot.press(pilot, settle, "f5")
        assert pane.stage.stand == "wire"
