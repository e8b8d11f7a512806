"""The jog stage on four coil lines, behind gears, with what was said kept."""

from __future__ import annotations

import pytest
from textual.widgets import Select, Static

from coilbench.board.link.conversation import in_short, read_conversation
from coilbench.board.session.drive import Drive
from coilbench.board.session.figures import figures_of
from coilbench.errors import InputProblem
from coilbench.motion.search_order import RANGES
from coilbench.motion.trials import Shaft
from coilbench.records.paths import board_log_path
from coilbench.ui.dialogs.basic import ProblemDialog
from coilbench.ui.panes.jog.form import JogField
from coilbench.ui.panes.jog.scan import scan_plan
from coilbench.ui.panes.jog.setup import Form, PortChoice, Setting, gear_of, read_setting

CAN = "M-03"  # five leads, a tin can; third in the crate
WINDINGS = {
    "arrangement": "unipolar-5",
    "confidence": 1.0,
    "common": "BU",
    "coils": [
        {"name": name, "ends": ["BU", end], "tap": None, "ohms": 52.0, "ohms_sd": 0.5}
        for name, end in zip("ABCD", "ROYP", strict=True)
    ],
    "faults": [],
}
ORDER = {"sequence": ["RD", "OG", "YE", "PK"], "done": True}
CONNECTION = {"connection": "unipolar", "current_ampere": 0.2, "resistance_ohm": 52.0, "wiring": []}

pytestmark = pytest.mark.usefixtures("fast_board")


def ready_can(app) -> None:
    app.bin.put_fact(CAN, "windings", WINDINGS)
    app.bin.put_fact(CAN, "order", ORDER)
    app.bin.put_fact(CAN, "connection", CONNECTION)


def said(pane) -> str:
    return str(pane.query_one("#jog-said", Static).content)


async def test_a_unipolar_motor_runs_from_coil_lines(demo_bench, settle, jog_pilot, monkeypatch) -> None:
    monkeypatch.setitem(RANGES, "start", (300.0, 450.0))  # saves moves
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        ready_can(app)
        pane = await jog_pilot.jog_stage(pilot, settle, motor=2)
        screen = jog_pilot.shown(app)
        assert "coils: array" in screen and "full steps" in screen and "microsteps" not in screen
        assert pane.form.texts.turn == "48"  # a tin can of 7.5 degrees
        await jog_pilot.press(pilot, settle, "f5")
        screen = jog_pilot.shown(app)
        for pin, name, lead in zip((3, 4, 5, 6), ("A", "B", "A'", "B'"), ORDER["sequence"], strict=True):
            assert any(
                f"pin {pin} " in line and f" {name} " in line and f"── {lead}" in line for line in screen.splitlines()
            )
        assert "┬─ BU" in screen and "array's common pin" in screen and "10 k from each of these to ground" in screen
        screen = " ".join(screen.split())
        assert "10 V (this motor's rated 0.2 A)" in screen and "0.5 A a line" in screen  # 52 ohm x 0.2 A
        assert "never plug or unplug" in screen and "space stops it" in screen
        await jog_pilot.press(pilot, settle, "f6", "m", "1")
        await jog_pilot.search_out(pilot, settle, pane)
        fact = app.bin.fact(CAN, "jog")
        assert fact["drive"] == {"kind": "array", "form": "full"} and 200 < fact["start_rate_sps"] < 450
        assert any("transistor array" in line for line in pane.facts_lines())
        assert str(app.screen.query_one("#stage-driver", Static).content) == "– driver"  # none is left to be set


async def test_figures_of_another_drive_stay(demo_bench, settle, jog_pilot, monkeypatch) -> None:
    monkeypatch.setitem(RANGES, "start", (620.0, 690.0))  # saves moves
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        driver = {"start_rate_sps": 777.0, "run_rate_sps": 888.0, "microsteps": 1}
        app.bin.put_fact("M-01", "jog", driver)
        pane = await jog_pilot.jog_stage(pilot, settle)
        pane.query_one("#jog-choose-kind", Select).value = "bridge"
        pane.query_one("#jog-choose-form", Select).value = "half"
        await settle(pilot)
        await jog_pilot.press(pilot, settle, "f5", "f6", "m", "1")
        await jog_pilot.search_out(pilot, settle, pane)
        fact = app.bin.fact("M-01", "jog")
        assert fact["drive"] == {"kind": "bridge", "form": "half"} and fact["start_rate_sps"] != 777
        kept = figures_of(fact, Drive())
        assert kept["start_rate_sps"] == 777 and kept["run_rate_sps"] == 888
        words = "\n".join(pane.facts_lines())
        assert "H-bridge, half steps" in words and "777 steps/s" in words


async def test_a_search_of_another_drive_is_not_gone_on_with(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        await jog_pilot.press(pilot, settle, "f5", "f6", "m", "1", "g", "m")
        assert pane.flow.state.moves == 1
    again = demo_bench()
    async with again.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        assert "1 move kept" in said(pane)
        pane.query_one("#jog-choose-kind", Select).value = "array"
        await jog_pilot.press(pilot, settle, "f5", "f6", "m")
        assert pane.flow.stand == "choose" and "search under way was ended" in pane.flow.pause


async def test_leads_whose_order_is_not_known_are_said_to_be(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        app.bin.put_fact(CAN, "windings", WINDINGS)
        await jog_pilot.jog_stage(pilot, settle, motor=2)
        await jog_pilot.press(pilot, settle, "f5")
        screen = " ".join(jog_pilot.shown(app).split())
        assert "end A'?" in screen and "order" in screen and "only rocks" in screen


async def test_settings_again(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        await jog_pilot.press(pilot, settle, "f5")
        assert not pane.query_one("#jog-row-turn").display
        await pilot.click("#jog-settings")
        await settle(pilot)
        assert pane.session is None and pane.query_one("#jog-row-turn").display
        await jog_pilot.press(pilot, settle, "f5", "f6", "m")
        assert pane.flow.stand == "choose"
        await jog_pilot.press(pilot, settle, "f7")
        assert pane.session is None and pane.flow.stand == "board" and pane.query_one("#jog-row-turn").display


async def test_a_gear_asks_where_the_flag_sits(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        assert not pane.query_one("#jog-row-flag_on").display
        pane.query_one("#jog-field-gear", JogField).value = "64"
        await settle(pilot)
        assert pane.query_one("#jog-row-flag_on").display
        await jog_pilot.press(pilot, settle, "f5")
        assert pane.session is None and "rotor's side of the gear, or use the index sensor" in said(pane)
        pane.query_one("#jog-choose-flag_on", Select).value = "rotor"
        await jog_pilot.press(pilot, settle, "f5", "f6", "m")
        assert pane.session.shaft == Shaft(200, 64, "rotor") and pane.flow.stand == "choose"


async def test_the_sensor_counts_a_turn_and_corrects_the_form(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle, motor=2)
        pane.query_one("#jog-choose-kind", Select).value = "driver"
        pane.query_one("#jog-field-turn", JogField).value = "200"
        pane.query_one("#jog-choose-watch", Select).value = "sensor"
        await jog_pilot.press(pilot, settle, "f5", "f6")
        assert pane.flow.stand == "board" and pane.form.texts.turn == "48"
        assert "counted 48 steps a turn of the flag, not 200" in said(pane)
        await jog_pilot.press(pilot, settle, "f5", "f6")
        assert "counted 48 steps a turn" in str(pane.query_one("#jog-says", Static).content)
        await jog_pilot.press(pilot, settle, "m", "1")
        await pilot.press("g")  # from here on the sensor answers, and one move follows the other
        await jog_pilot.until(pilot, lambda: "steps lost" in str(pane.query_one("#jog-under", Static).content))
        trials = [each.value for each in app.bin.events(CAN, "jog") if each.value["kind"] == "trial"]
        assert trials and all(each["outcome"]["missed_steps"] is not None for each in trials)


async def test_without_a_sensor_a_wrong_turn_is_seen(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle, motor=2)
        pane.query_one("#jog-field-turn", JogField).value = "200"
        await jog_pilot.press(pilot, settle, "f5", "f6", "m")
        assert pane.flow.stand == "wire" and "steps in a turn" in said(pane)


async def test_what_was_said_is_kept_and_named_after_a_fault(own_bench, settle, jog_pilot, monkeypatch) -> None:
    port = PortChoice("virtual://bench?clock=free", "a board")
    monkeypatch.setattr("coilbench.ui.panes.jog.setup.real_ports", lambda: [port])
    app = own_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_of_ones_own(pilot, settle)
        for _ in range(2):
            await jog_pilot.press(pilot, settle, "f5", "f6", "4", "f7")
        await jog_pilot.press(pilot, settle, "f5")
        pane.session._helper.link.port.close()
        await jog_pilot.press(pilot, settle, "f6")
        assert isinstance(app.screen, ProblemDialog)
        screen = "".join(jog_pilot.shown(app).replace("│", "").split())
        assert f"coilbenchboard--replay{board_log_path()}" in screen
    told = in_short(read_conversation(board_log_path()))
    assert any("board: virtual" in line for line in told)
    before = read_conversation(board_log_path().with_stem("board-before"))
    assert any(" move " in each.line for each in before)
    assert len(list(board_log_path().parent.iterdir())) == 2


async def test_the_demo_keeps_nothing(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await jog_pilot.jog_stage(pilot, settle)
        await jog_pilot.press(pilot, settle, "f5")
    assert not board_log_path().exists()


async def test_a_log_that_cannot_be_written_is_no_hindrance(own_bench, settle, jog_pilot, monkeypatch) -> None:
    port = PortChoice("virtual://bench?clock=free", "a board")
    monkeypatch.setattr("coilbench.ui.panes.jog.setup.real_ports", lambda: [port])
    board_log_path().parent.parent.mkdir(parents=True)
    board_log_path().parent.write_text("a file where the folder should be")
    app = own_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_of_ones_own(pilot, settle)
        await jog_pilot.press(pilot, settle, "f5", "f6", "1")
        assert pane.flow.stand == "choose"


def test_ratings_bring_the_swing_frequency_to_a_scan() -> None:
    setting = Setting("virtual://bench", Drive(), Shaft(), 5000.0)
    ratings = {"holding_torque_newton_metre": 0.26, "inertia_kilogram_metre2": 110e-7}
    assert scan_plan(setting, 9000.0, None, ratings)["swing_hz"] == pytest.approx(173, abs=0.5)
    assert scan_plan(setting, 9000.0, None, {"holding_torque_newton_metre": 0.26})["swing_hz"] is None


@pytest.mark.parametrize(("text", "gear"), [("1", 1), ("63,68", 63.68), (" 25792/405 ", 25792 / 405)])
def test_gears_as_people_write_them(text: str, gear: float) -> None:
    assert gear_of(text) == pytest.approx(gear)


@pytest.mark.parametrize("text", ["", "x", "1/0", "nan", "inf", "-3", "0"])
def test_what_is_no_gear(text: str) -> None:
    with pytest.raises(InputProblem, match="gear"):
        gear_of(text)


def test_a_flag_behind_a_gear_must_be_seen() -> None:
    geared = Form(turn="48", gear="64")
    with pytest.raises(InputProblem, match="rotor's side"):
        read_setting("virtual://bench", geared)
    assert read_setting("virtual://bench", Form(turn="48", gear="64", watch="sensor")).shaft.sensor
