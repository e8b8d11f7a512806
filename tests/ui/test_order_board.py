"""Phase order by a helper board: wired once, nudged by a key, answered as by hand."""

from __future__ import annotations

import pytest
from textual.widgets import Select, Static

from coilbench.board.link.ports import PortChoice
from coilbench.records.saved.order import HandTest, Order
from coilbench.records.saved.windings import Coil, Windings
from coilbench.stages.desk import Desk
from coilbench.ui.dialogs.basic import ConfirmDialog, ProblemDialog
from coilbench.ui.dialogs.pick_port import PickPortDialog
from coilbench.ui.panes.order.pane import OrderPane
from tests.support.more import some


def turned_by(app, name: str) -> list[str]:
    """The ends in the order in which they turn the shaft clockwise, from the motor's inside."""
    places = app.virtual.motor(name).windings.places
    return sorted(places, key=places.__getitem__)


async def nudged_out(pilot, settle, jog_pilot, pane) -> None:
    for _ in range(30):
        if pane.stage.test is None:
            return
        assert pane.stage.board.connected
        await jog_pilot.press(pilot, settle, "g", "m")
    raise AssertionError(jog_pilot.shown(pilot.app))


@pytest.mark.parametrize(("row", "name"), some([(2, "M-03"), (1, "M-02")], of=((2, "M-03"),), rows=True))
async def test_a_board_finds_the_order(demo_bench, settle, jog_pilot, row, name) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.order_stage(pilot, settle, f"M-{row + 1:02}")
        await jog_pilot.press(pilot, settle, "b")
        screen = jog_pilot.shown(app)
        for pin, end in zip((8, 9, 10, 11), pane.stage.board.lines.ends, strict=True):
            assert any(f"pin {pin} " in line and f"── {end}" in line for line in screen.splitlines())
        caution = pane.query_one("#order-first", Static)
        assert "supply off while you wire" in str(caution.content) and caution.region.bottom <= 23
        assert any("nothing limits the current" in each for each in pane.head.why)
        wired = pane.stage.board.lines
        await jog_pilot.press(pilot, settle, "g")
        assert wired == pane.stage.board.lines and "which way did it go?" in jog_pilot.shown(app)
        await nudged_out(pilot, settle, jog_pilot, pane)
        sequence, ring = list(app.bin.known(name).get(Order).sequence), turned_by(app, name)
        start = ring.index(sequence[0])
        assert sequence == ring[start:] + ring[:start]
        assert pane.stage.board.session is None and not pane.stage.board.connected  # done: the board is let go
        assert "the order is known" in jog_pilot.shown(app)


async def test_a_small_screen_has_room_for_every_answer_and_the_cautions_to_leaf_through(
    demo_bench, settle, jog_pilot
) -> None:
    app = demo_bench()
    async with app.run_test(size=(60, 20)) as pilot:
        pane = await jog_pilot.order_stage(pilot, settle, "M-02")
        await jog_pilot.press(pilot, settle, "b", "1")
        assert not app.bin.entries("M-02", HandTest) and pane.query_one("#answer-1").disabled  # not nudged yet
        await jog_pilot.press(pilot, settle, "g")
        screen = jog_pilot.shown(app)
        for text in (
            "supply off",
            "which way did it go?",
            "1 clockwise",
            "4 can't tell",
            "let the shaft answer",
        ):
            assert text in screen
        assert "a coil's kick" not in screen
        await jog_pilot.press(pilot, settle, "f8")
        pages = []
        for _ in range(6):
            pages.append(jog_pilot.shown(app))
            await jog_pilot.press(pilot, settle, "pagedown")
        assert app.screen.query_one("#beside").scroll_y > 0 and any("a coil's kick" in page for page in pages)
        await jog_pilot.press(pilot, settle, "m")
        assert len(app.bin.entries("M-02", HandTest)) == 1


async def test_eight_leads_are_paired_by_hand_first(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(120, 40)) as pilot:
        pane = await jog_pilot.order_stage(pilot, settle, "M-04")
        for _ in range(20):
            if pane.stage.test.kind == "twitch":
                break
            assert not pane.query_one("#order-board").display
            await jog_pilot.press(pilot, settle, "b")  # nothing to nudge yet
            assert pane.stage.board.session is None
            await jog_pilot.press(pilot, settle, "m")
        await jog_pilot.press(pilot, settle, "b")
        wiring = "\n".join(pane.stage.board.wiring())
        assert all(lead in wiring for lead in app.virtual.motor("M-04").windings.leads)
        await nudged_out(pilot, settle, jog_pilot, pane)
        windings, sequence = app.virtual.motor("M-04").windings, app.bin.known("M-04").get(Order).sequence
        places = [windings.places[end] for end in sequence]
        assert [(place - places[0]) % 4 for place in places] == [0, 1, 2, 3]


async def test_mouse_alone_and_back_by_hand(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.order_stage(pilot, settle, "M-03")
        for button in ("order-board", "order-nudge", "answer-1"):
            await pilot.click(f"#{button}")
            await settle(pilot)
        assert len(app.bin.entries("M-03", HandTest)) == 1 and pane.stage.board.turned_steps is None
        await pilot.click("#order-board")
        await settle(pilot)
        assert pane.stage.board.session is None and "series resistor" in str(
            pane.query_one("#order-steps", Static).content
        )


async def test_leaving_switches_the_coils_off(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench(virtual_options="")  # by the clock on the wall
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.order_stage(pilot, settle, "M-03")
        for way_out in ("space", "escape", "ctrl+c", "f2"):
            await pilot.press("b")
            for _ in range(300):
                if pane.stage.board.connected and not pane.waiting:
                    break
                await pilot.pause(0.02)
            await pilot.press("g")
            port = pane.stage.board.session._helper.link.port
            for _ in range(300):
                if port.board.motion.outputs_on:
                    break
                await pilot.pause(0.02)
            board = port.board
            assert board.motion.outputs_on and board.motion.state == "coil"
            await pilot.press(way_out)
            for _ in range(300):
                if not board.motion.outputs_on and not pane.moves_now:
                    break
                await pilot.pause(0.02)
            assert not board.motion.outputs_on
            if way_out != "f2":
                assert "stopped" in pane.stage.board.says
                await pilot.press("b")
                await settle(pilot)
        assert app.screen.stage_id == "windings"


async def test_several_ports_are_a_choice_and_none_is_said(own_bench, settle, jog_pilot) -> None:
    ports: list[PortChoice] = []
    app = own_bench(find_ports=lambda: list(ports))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        app.bin.add_motor("vent", ["RD", "OG", "YE", "PK", "BU"])
        ends = zip("ABCD", ("RD", "OG", "YE", "PK"), strict=True)
        coils = tuple(Coil(name=name, ends=("BU", end), ohms=52.0) for name, end in ends)
        Desk(app.bin, "vent").derive(Windings(arrangement="unipolar-5", confidence=0.99, common="BU", coils=coils))
        app.screen.reload()
        await jog_pilot.press(pilot, settle, "enter")
        await app.screen.show_stage("order")
        await settle(pilot)
        pane = app.screen.query_one(OrderPane)
        assert pane.stage.board.lines is not None
        await jog_pilot.press(pilot, settle, "b")
        assert isinstance(app.screen, PickPortDialog) and "none found: plug it in, or type it" in jog_pilot.shown(app)
        app.screen.query_one("#typed").value = "/dev/null"
        await jog_pilot.press(pilot, settle, "enter")
        assert isinstance(app.screen, ProblemDialog) and "is no serial port" in jog_pilot.shown(app)
        await jog_pilot.press(pilot, settle, "escape")
        ports.append(PortChoice("/dev/ttyS0", "ttyS0: built in, no USB board"))
        await jog_pilot.press(
            pilot, settle, "b", "enter"
        )  # a port of the machine's own is nobody's choice but theirs
        assert isinstance(app.screen, PickPortDialog) and "ttyS0" in jog_pilot.shown(app)
        await jog_pilot.press(pilot, settle, "escape")
        await app.screen.show_stage("jog")
        await settle(pilot)
        assert app.screen.query_one("#jog-port", Select).is_blank()
        await app.screen.show_stage("order")
        await settle(pilot)
        pane = app.screen.query_one(OrderPane)
        ports[:] = [PortChoice(f"virtual://tincan?clock=free&seed={seed}", f"[/x] board {seed}") for seed in (1, 2)]
        await jog_pilot.press(pilot, settle, "b")
        assert isinstance(app.screen, PickPortDialog) and "[/x] board 2" in jog_pilot.shown(app)
        await jog_pilot.press(pilot, settle, "escape")
        assert pane.stage.board.session is None
        await jog_pilot.press(pilot, settle, "b", "down", "enter")
        assert pane.stage.board.connected and "seed=2" in pane.stage.board.session.url
        assert not pane.query_one("#shaft").display  # nobody but the person answers here
        pane.stage.board.session.url = "/dev/ttyUSB0"  # as if it were a real one: the first nudge is confirmed
        await jog_pilot.press(pilot, settle, "g")
        assert isinstance(app.screen, ConfirmDialog) and "fingers off the shaft" in jog_pilot.shown(app)
        await jog_pilot.press(pilot, settle, "enter")  # the harmless answer
        assert not pane.stage.board.nudged
        await jog_pilot.press(pilot, settle, "g", "y", "1")
        assert len(app.bin.entries("vent", HandTest)) == 1
        await jog_pilot.press(pilot, settle, "g")  # asked once
        assert not isinstance(app.screen, ConfirmDialog) and pane.stage.board.nudged
        pane.stage.board.session._helper.link.port.close()
        await jog_pilot.press(pilot, settle, "g")
        assert isinstance(app.screen, ProblemDialog) and not pane.stage.board.connected


@pytest.mark.parametrize(
    ("row", "idle"),
    some([(0, True), (1, True), (2, False), (5, True), (6, True)], of=((1, True), (2, False)), rows=True),
)
async def test_a_stage_with_nothing_to_do_is_not_left_open(demo_bench, settle, jog_pilot, row, idle) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await jog_pilot.order_stage(pilot, settle, f"M-{row + 1:02}")
        await app.screen.show_stage("ratings")
        await settle(pilot)
        mark = str(app.screen.query_one("#stage-order", Static).content)
        assert mark == ("– order" if idle else "· order")
