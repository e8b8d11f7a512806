"""What nobody foresaw: it is written down, the motor stops, and the sheet stays."""

from __future__ import annotations

import pytest
from textual.command import CommandList
from textual.message import Message
from textual.widgets import Button, Input, Static

from coilbench.records.fault_log import MOST_BYTES, note_fault
from coilbench.ui.commands import Palette
from coilbench.ui.dialogs.basic import FaultDialog
from coilbench.ui.faults import MOST

from .screen import sheet, shown, standing


class Stumbling(Static):
    """A widget that fails at whatever it is told to."""

    class Stumble(Message):
        """Fail in the handler."""

    def on_stumbling_stumble(self) -> None:
        raise ZeroDivisionError("in the handler")

    def fail(self) -> None:
        raise ZeroDivisionError("in a timer")

    def action_fail(self) -> None:
        raise ZeroDivisionError("in an action")


@pytest.mark.parametrize("way", ["handler", "timer", "action", "library", "worker"])
async def test_a_fault_is_written_down_and_the_sheet_stays(demo_bench, settle, faults_expected, way) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", size=(100, 30)) as pilot:
        stops: list[str] = []
        app.at_work = type("Session", (), {"stop": lambda self: stops.append("stop"), "look": None})()
        odd = Stumbling()
        await sheet(app).pane.mount(odd)
        if way == "handler":
            odd.post_message(Stumbling.Stumble())
        elif way == "timer":
            odd.set_timer(0.001, odd.fail)
        elif way == "action":
            odd.call_later(app.run_action, "fail", odd)
        elif way == "library":
            sheet(app).query_one("#measure", Button).call_later(odd.fail)
        else:
            app.run_worker(odd.fail, thread=True)
        for _ in range(500):
            if isinstance(app.screen, FaultDialog) and "ZeroDivisionError" in shown(app):
                break
            await pilot.pause(0.02)
        assert isinstance(app.screen, FaultDialog)
        assert "written down" in " ".join(shown(app).replace("│", "").split())
        assert 'raise ZeroDivisionError("in ' in faults_expected.read_text()
        assert stops == ["stop"]
        await pilot.press("escape")
        await settle(pilot)
        sheet(app).query_one("#reading", Input).focus()
        await pilot.press("1", "2", "enter")
        await settle(pilot)
        assert [each.ohm for each in app.bin.readings("M-01")] == [12.0]
    assert app.return_code in (0, None)


async def test_a_key_for_a_list_that_is_not_laid_out_yet_is_passed_over(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "ctrl+p") as pilot:
        found = app.screen.query_one(CommandList)
        assert found.option_count
        found.styles.max_height = 0  # as in the instant before it is given its place
        await settle(pilot)
        found._clear_caches()
        await pilot.press("pagedown", "pageup")
        await settle(pilot)
        assert isinstance(app.screen, Palette)


async def test_a_fault_without_end_ends_the_bench_in_words(demo_bench, settle, faults_expected) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter"):
        for _ in range(MOST):
            app.met(ZeroDivisionError("again"))
    assert app.return_value == 4
    assert faults_expected.read_text().count("ZeroDivisionError: again") == MOST


def test_the_log_of_faults_does_not_grow_without_end(tmp_path) -> None:
    log = tmp_path / "faults.log"
    log.write_text("x" * (MOST_BYTES + 1))
    assert note_fault(ValueError("\x1b[2J"), log) == log
    assert "ValueError" in log.read_text() and log.stat().st_size < 1000
    assert (tmp_path / "faults-before.log").exists()
    assert note_fault(ValueError("no room"), tmp_path / "faults.log" / "below") is None
