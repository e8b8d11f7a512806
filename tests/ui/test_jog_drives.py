"""The jog stage on four coil lines, behind gears, with what was said kept."""

from __future__ import annotations

from textual.widgets import Select, Static

from coilbench.board.link.conversation import in_short, read_conversation
from coilbench.board.link.faults import NoAnswer
from coilbench.board.link.ports import PortChoice
from coilbench.motion.trials import Shaft
from coilbench.records.paths import board_log_path
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.jog import Figures, Jog, SavedDrive
from coilbench.records.saved.order import Order
from coilbench.records.saved.windings import Coil, Windings
from coilbench.stages.desk import Desk
from coilbench.ui.dialogs.basic import ProblemDialog
from coilbench.ui.panes.jog.form import JogField

CAN = "M-03"  # five leads, a tin can; third in the bin
WINDINGS = Windings(
    arrangement="unipolar-5",
    confidence=1.0,
    common="BU",
    coils=tuple(Coil(name=name, ends=("BU", end), ohms=52.0) for name, end in zip("ABCD", "ROYP", strict=True)),
)
ORDER = Order(sequence=("RD", "OG", "YE", "PK"), done=True)
CONNECTION = Connection(connection="unipolar", current_ampere=0.2, resistance_ohm=52.0)


def said(pane) -> str:
    return str(pane.query_one("#jog-said", Static).content)


async def test_a_unipolar_motor_runs_from_coil_lines(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        Desk(app.bin, CAN).keep("connection", WINDINGS, ORDER, CONNECTION)
        pane = await jog_pilot.jog_stage(pilot, settle, motor=2)
        screen = jog_pilot.shown(app)
        assert "coils: array" in screen and "full steps" in screen and "microsteps" not in screen
        assert pane.form.texts["turn"] == "48"  # a tin can of 7.5 degrees
        await jog_pilot.press(pilot, settle, "f5")
        screen = jog_pilot.shown(app)
        for pin, name, lead in zip((8, 9, 10, 11), ("A", "B", "A'", "B'"), ORDER.sequence, strict=True):
            assert any(
                f"pin {pin:<3} " in line and f" {name} " in line and f"── {lead}" in line
                for line in screen.splitlines()
            )
        assert "┬─ BU" in screen and "array's common pin" in screen and "10 k from each of these to ground" in screen
        screen = " ".join(screen.split())
        assert "10 V (its rated 0.2 A)" in screen and "0.5 A a line" not in screen  # 52 ohm x 0.2 A
        why = " ".join(pane.head.why)
        assert all(each in why for each in ("0.5 A a line", "never plug or unplug", "space stops it"))
        await jog_pilot.press(pilot, settle, "f6", "m")
        Desk(app.bin, CAN).keep("jog", Jog(drives=(Figures(drive=SavedDrive(kind="array"), start_rate_sps=321.0),)))
        await jog_pilot.press(pilot, settle, "f7")
        assert any(line.text.startswith("transistor array") for line in pane.known())
        assert str(app.screen.query_one("#stage-driver", Static).content) == "– driver"  # none is left to be set


async def test_leads_whose_order_is_not_known_are_said_to_be(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        Desk(app.bin, CAN).keep("windings", WINDINGS)
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
        assert pane.stage.stand == "choose"
        await jog_pilot.press(pilot, settle, "f7")
        assert pane.session is None and pane.stage.stand == "board" and pane.query_one("#jog-row-turn").display


async def test_a_board_that_was_let_go_is_not_missed(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        await jog_pilot.press(pilot, settle, "f5")
        silent = pane.Silent(pane.session, NoAnswer("no answer"))
        await pilot.click("#jog-settings")
        await settle(pilot)
        pane.post_message(silent)  # it was asked just before
        await settle(pilot)
        assert not isinstance(app.screen, ProblemDialog)
        await jog_pilot.press(pilot, settle, "f5")
        pane.post_message(pane.Silent(pane.session, NoAnswer("no answer")))
        await settle(pilot)
        assert isinstance(app.screen, ProblemDialog) and pane.session is None


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
        assert pane.stage.setting.shaft == Shaft(200, 64, "rotor") and pane.stage.stand == "choose"


async def test_the_sensor_counts_a_turn_and_corrects_the_form(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle, motor=2)
        pane.query_one("#jog-choose-kind", Select).value = "driver"
        pane.query_one("#jog-field-turn", JogField).value = "200"
        pane.query_one("#jog-choose-watch", Select).value = "sensor"
        await jog_pilot.press(pilot, settle, "f5", "f6")
        assert pane.stage.stand == "board" and pane.form.texts["turn"] == "48"
        assert "counted 48 steps a turn of the flag, not 200" in said(pane)
        await jog_pilot.press(pilot, settle, "f5", "f6")
        assert "counted 48 steps a turn" in str(pane.query_one("#jog-says", Static).content)
        await jog_pilot.press(pilot, settle, "m", "1")
        await pilot.press("g")  # from here on the sensor answers, and one move follows the other
        await jog_pilot.until(pilot, lambda: any(o.missed_steps for _, o in pane.stage.search.answers))


async def test_without_a_sensor_a_wrong_turn_is_seen(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle, motor=2)
        pane.query_one("#jog-field-turn", JogField).value = "200"
        await jog_pilot.press(pilot, settle, "f5", "f6", "m")
        assert pane.stage.stand == "wire" and "steps in a turn" in said(pane)


async def test_what_was_said_is_kept_and_named_after_a_fault(own_bench, settle, jog_pilot) -> None:
    port = PortChoice("virtual://bench?clock=free", "a board")
    app = own_bench(find_ports=lambda: [port])
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


async def test_a_log_that_cannot_be_written_is_no_hindrance(own_bench, settle, jog_pilot) -> None:
    port = PortChoice("virtual://bench?clock=free", "a board")
    board_log_path().parent.parent.mkdir(parents=True)
    board_log_path().parent.write_text("a file where the folder should be")
    app = own_bench(find_ports=lambda: [port])
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_of_ones_own(pilot, settle)
        await jog_pilot.press(pilot, settle, "f5", "f6", "1")
        assert pane.stage.stand == "choose"
