"""A motor that runs away: whoever hits Enter again and again stops it, and starts it not."""

from __future__ import annotations

from textual.widgets import Button

from coilbench.ui.panes.board import QUIET_SECONDS


class Clock:
    """Goes on when told to."""

    now = 0.0

    def __call__(self) -> float:
        return self.now


MOVES_OR_ANSWERS = (
    "jog-turn",
    "jog-go",
    "jog-meter",
    "jog-prove",
    "jog-choose",
    "order-nudge",
    "answer-",
    "jog-answer",
)


def rests_on_what_moves(app) -> bool:
    return isinstance(app.focused, Button) and (app.focused.id or "").startswith(MOVES_OR_ANSWERS)


async def test_eight_enters_stop_a_turn_and_start_none(demo_bench, settle, jog_pilot) -> None:
    clock = Clock()
    app = demo_bench(virtual_options="", clock=clock)  # the board goes by the clock on the wall
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        await jog_pilot.start_a_slow_turn(pilot, pane)
        await pilot.press("enter")
        await jog_pilot.until(pilot, lambda: not pane.waiting)
        assert pane.stage.stand == "wire" and pane.stage.stopped
        assert not rests_on_what_moves(app)
        turn = pane.query_one("#jog-turn", Button)
        for _ in range(8):
            await pilot.press("enter", "tab")
            await pilot.click(turn)
            turn.focus()  # even there
            await pilot.press("enter", "space", "escape")
            assert not pane.stage.busy and app.screen.query_one("JogPane") is pane
        clock.now += QUIET_SECONDS
        turn.focus()
        await pilot.press("enter")
        await jog_pilot.until(pilot, lambda: bool(pane.stage.way))  # a second later it is meant
        await pilot.press("space")
        await jog_pilot.until(pilot, lambda: not pane.waiting)


async def test_after_a_finished_move_no_stop_key_answers_and_the_focus_rests_where_enter_does_nothing(
    demo_bench, settle, jog_pilot
) -> None:
    clock = Clock()
    app = demo_bench(clock=clock)
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.to_the_search(pilot, settle)
        assert not rests_on_what_moves(app)
        await jog_pilot.press(pilot, settle, "g")
        assert pane.stage.search.asked is not None and not rests_on_what_moves(app)
        asked = pane.stage.search.asked
        pane.query_one("#jog-answer-0", Button).focus()
        await jog_pilot.press(pilot, settle, "enter", "space")
        await pilot.click("#jog-answer-0")
        await settle(pilot)
        assert pane.stage.search.asked is asked
        clock.now += QUIET_SECONDS
        await pilot.press("0")
        await jog_pilot.until(pilot, lambda: pane.stage.search.asked is not asked)
        await settle(pilot)
        assert not rests_on_what_moves(app)


async def test_after_a_nudge_no_stop_key_answers(demo_bench, settle, jog_pilot) -> None:
    clock = Clock()
    app = demo_bench(clock=clock)
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.order_stage(pilot, settle, "M-02")
        await jog_pilot.press(pilot, settle, "b")
        assert pane.is_connected and not rests_on_what_moves(app)
        await jog_pilot.press(pilot, settle, "g")
        assert pane.stage.board.nudged and not rests_on_what_moves(app)
        test = pane.stage.test
        pane.query_one("#answer-1", Button).focus()
        await jog_pilot.press(pilot, settle, "enter", "space", "enter")
        assert pane.stage.test is test
        clock.now += QUIET_SECONDS
        await jog_pilot.press(pilot, settle, "1")
        assert pane.stage.test is not test
