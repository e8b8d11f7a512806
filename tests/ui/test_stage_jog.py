"""The jog stage on a virtual board whose time runs freely: from nothing to a working rate, and every way to stop."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Select, Static

from coilbench.board.link.faults import LinkFault
from coilbench.board.session.drive import Drive
from coilbench.board.session.jog import JogSession
from coilbench.errors import InputProblem
from coilbench.motion.search_order import RANGES
from coilbench.motion.trials import Shaft, Trial
from coilbench.records.rows import SavedEvent
from coilbench.ui.dialogs.basic import ProblemDialog
from coilbench.ui.panes.jog.flow import begin_event, search_left
from coilbench.ui.panes.jog.form import JogField
from coilbench.ui.panes.jog.pane import JogPane
from coilbench.ui.panes.jog.scan import scan_plan
from coilbench.ui.panes.jog.setup import Form, Setting, port_words, read_setting, real_ports
from coilbench.ui.screens.crate import CrateScreen
from coilbench.ui.screens.sheet import BenchSheet
from coilbench.ui.widgets.ladder import ladder_lines
from coilbench.ui.widgets.skip_curve import round_ticks

MOTOR = "M-01"
Settle = Callable[[Pilot[int]], Awaitable[None]]


@pytest.fixture(autouse=True)
def fast_board(monkeypatch: pytest.MonkeyPatch) -> None:
    """No real ports, and a virtual board that takes no longer than reckoning does."""
    monkeypatch.setattr(JogPane, "VIRTUAL_OPTIONS", "clock=free")
    monkeypatch.setattr("coilbench.ui.panes.jog.setup.real_ports", lambda: [])


@pytest.fixture
def slow_board(monkeypatch: pytest.MonkeyPatch) -> None:
    """A virtual board by the clock on the wall, to be stopped on its way."""
    monkeypatch.setattr(JogPane, "VIRTUAL_OPTIONS", "")


def board_of(pane: JogPane) -> Any:
    return port_of(pane).board


def port_of(pane: JogPane) -> Any:
    session = pane.session
    assert session is not None and session._helper is not None
    return session._helper.link.port


def outputs_on(pane: JogPane) -> bool:
    return bool(board_of(pane).motion.outputs_on)


async def test_keys_alone_from_a_board_to_a_working_rate(demo_bench, settle, jog_pilot, monkeypatch) -> None:
    monkeypatch.setitem(RANGES, "start", (900.0, 1400.0))  # saves moves
    app = demo_bench(mouse=False)
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.to_the_search(pilot, settle)
        for _ in range(40):
            if pane.flow.trial is None:
                break
            await pilot.press("g" if pane.flow.asked is None else "m")
            await settle(pilot)
        fact = app.bin.fact(MOTOR, "jog")
        low, high = fact["interval"]
        assert fact["working_rate_sps"] == fact["start_rate_sps"] < low < high
        assert (
            "working figure" in jog_pilot.shown(app)
            and "✗ skipped" in jog_pilot.shown(app)
            and "STOP" in jog_pilot.shown(app)
        )
        for key in ("p", "g", "0"):  # a proving trial, and the next one goes on by itself
            await pilot.press(key)
            await settle(pilot)
        assert pane.flow.found.proved == 1 and pane.flow.asked is not None
        await pilot.press("5", "n")
        await settle(pilot)
        assert "fastest run" in jog_pilot.shown(app)
        await pilot.press("escape")
        await settle(pilot)
        assert isinstance(app.screen, CrateScreen)


async def test_resonance_is_scanned_and_kept_away_from(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        for key in ("f5", "f6", "m", "4", "g", "m"):
            await pilot.press(key)
            await settle(pilot)
        assert pane.flow.state.moves == 1 and pane.flow.kind == "resonance"
    again = demo_bench()  # closed on the way: it goes on where it was
    async with again.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        assert "resonance is under way, 1 move kept" in str(pane.query_one("#jog-said", Static).content)
        for key in ("f5", "f6", "m"):
            await pilot.press(key)
            await settle(pilot)
        for _ in range(60):
            if pane.flow.trial is None:
                break
            assert again.bin.fact(MOTOR, "jog") is None  # a scan halfway says nothing yet
            await pilot.press("g" if pane.flow.asked is None else "m")
            await settle(pilot)
        fact = again.bin.fact(MOTOR, "jog")
        # The bench motor's small-swing frequency is near 173 Hz (sqrt(50 x 0.26 / 110e-7) / 2 pi); skips lie below.
        assert fact["resonance_sps"] and all(80 < rate < 200 for rate in fact["resonance_sps"])
        assert "pass through it quickly" in str(pane.query_one("#jog-says", Static).content)
        assert any("resonance" in line for line in pane.facts_lines())
        for key in ("n", "1"):
            await pilot.press(key)
            await settle(pilot)
        assert pane.flow.kind == "start" and pane.flow.trial is not None
        assert [list(band) for band in pane.flow.state.plan.avoid] == fact["resonance_bands_sps"]


def test_a_scan_stays_below_every_known_limit() -> None:
    setting = Setting("virtual://bench", Drive(), Shaft(), 5000.0)
    assert scan_plan(setting, 9000.0, None)["highest_sps"] == 400
    assert scan_plan(setting, 9000.0, {"start_rate_sps": 250.0, "run_rate_sps": None})["highest_sps"] == 200
    assert scan_plan(setting, 9000.0, {"start_rate_sps": 900.0, "run_rate_sps": 300.0})["highest_sps"] == 300
    with pytest.raises(InputProblem, match="can't be"):
        scan_plan(setting, 9000.0, {"start_rate_sps": 20.0})


async def test_mouse_alone_and_the_sensor_answers_by_itself(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        pane.query_one("#jog-choose-watch", Select).value = "sensor"
        for button in ("connect", "turn", "answer-1", "answer-1", "go"):
            await pilot.click(f"#jog-{button}")
            await settle(pilot)
        await jog_pilot.until(pilot, lambda: pane.flow.state is not None and pane.flow.state.moves >= 3)
        await pilot.click("#jog-stop")
        await jog_pilot.until(pilot, lambda: not pane.busy or pane.flow.trial is None)
        events = [each.value for each in app.bin.events(MOTOR, "jog") if each.value["kind"] == "trial"]
        assert {each["by"] for each in events} == {"sensor"}
        assert all(each["outcome"]["kind"] in ("returned", "off") for each in events)


async def test_every_way_to_stop_stops(demo_bench, settle, jog_pilot, slow_board) -> None:
    app = demo_bench()
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
            await jog_pilot.until(pilot, lambda: not outputs_on(pane) and not pane.flow.moving)
            assert pane.flow.stand == "wire"
            assert isinstance(app.screen, BenchSheet)  # esc stopped, and did not leave


async def test_leaving_and_closing_stop_the_motor(demo_bench, settle, jog_pilot, slow_board) -> None:
    app = demo_bench()
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


async def test_an_unplugged_board_is_said_with_its_remedy(demo_bench, settle, jog_pilot, slow_board) -> None:
    app = demo_bench()
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
        assert pane.flow.stand == "board"
        await pilot.press("f5")  # plugged in again
        await jog_pilot.until(pilot, lambda: pane.flow.stand == "wire" and not pane.busy)
        port_of(pane).close()  # and pulled while nothing moves
        await jog_pilot.until(pilot, lambda: isinstance(app.screen, ProblemDialog))


def test_a_stop_before_the_first_step_holds() -> None:
    session = JogSession("virtual://bench?clock=free", Drive(), Shaft())
    session.open()
    session.ready()
    session.stop()
    end = session.trial(Trial("start", 500, 300, 500, 500, 5000, 100, 0.3), lambda state, rate: None)
    assert not end.complete
    session.close()
    with pytest.raises(LinkFault, match="no board"):
        session.turn(lambda state, rate: None)


async def test_nothing_is_lost_when_the_bench_is_killed(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test() as pilot:
        pane = await jog_pilot.to_the_search(pilot, settle)
        for key in ("g", "0", "4"):
            await pilot.press(key)
            await settle(pilot)
        assert pane.flow.state.moves == 2
        following = pane.flow.trial
    again = demo_bench()
    async with again.run_test() as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        assert "2 moves kept" in str(pane.query_one("#jog-said", Static).content)
        for key in ("f5", "f6", "1"):
            await pilot.press(key)
            await settle(pilot)
        assert pane.flow.trial == following and pane.flow.state.moves == 2
        assert not pane.flow.moving  # it waits for a word before it moves
        await pilot.press("u")
        await settle(pilot)
        assert pane.flow.state.moves == 1


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
        pins = pane.board.pins["driver"]
        for pin in (pins["step"], pins["dir"], pins["enable"]):
            assert f"pin {pin}" in jog_pilot.shown(app)
        for key in ("f6", "3"):
            await pilot.press(key)
            await settle(pilot)
        assert pane.flow.stand == "wire"
        assert "power off" in str(said.content)


async def test_a_motor_that_leaks_to_its_frame_is_not_powered(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        leaking = {"arrangement": "unknown", "faults": [{"kind": "frame", "leads": ["RD"]}]}
        app.bin.put_fact(MOTOR, "windings", leaking)
        pane = await jog_pilot.jog_stage(pilot, settle)
        said = pane.query_one("#jog-said", Static)
        for keys in ((), ("f5",), ("f6", "g")):  # on arrival, and whatever is tried
            await pilot.press(*keys)
            await settle(pilot)
            assert "do not power this motor: RD conducts to the frame" in str(said.content)
            assert "set it aside" in str(said.content)
            assert pane.session is None and pane.flow.stand == "board"


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


def test_ports_in_plain_words() -> None:
    assert port_words("/dev/ttyACM0", "[/x] board", 0x2341) == "ttyACM0: [/x] board"
    assert "no USB board" in port_words("/dev/ttyS0", "n/a", None)
    assert isinstance(real_ports(), list)


def test_a_search_left_is_gone_on_with_on_its_own_shaft_alone() -> None:
    settings = [read_setting("virtual://bench", Form(turn=turn)) for turn in ("200", "400")]
    begun = [begin_event("start", setting, 50_000.0, {}) for setting in settings]
    values = [begun[0], {"kind": "end", "so_far": "700 to 900 steps/s"}, begun[1], {"kind": "end"}]
    events = [SavedEvent(number, "jog", value, "") for number, value in enumerate(values, 1)]
    assert search_left(events, "start", settings[0]) == (events[0], events[1])  # whatever the other one came to
    assert search_left(events, "start", settings[1]) is None


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


def test_settings_are_read() -> None:
    setting = read_setting("virtual://bench", Form(microsteps="16", turn="48", acceleration="900", watch="sensor"))
    assert setting.drive == Drive(microsteps=16) and setting.acceleration_sps2 == 900
    assert setting.shaft == Shaft(48, sensor=True)
