"""Leads on clips, from the screen: a board is found, says what goes where, and measures them in one go."""

from __future__ import annotations

from textual.widgets import Button

from coilbench.ui.dialogs.basic import ConfirmDialog
from coilbench.ui.widgets.reading_input import ReadingInput

from .screen import open_stage, shown, standing


async def test_a_motor_is_named_and_its_silent_lead_asked_about(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle) as pilot:
        sheet = await open_stage(pilot, settle, "M-09", "windings")
        await pilot.press("c")
        await settle(pilot)
        screen, leads = shown(app), app.bin.motor("M-09").leads
        assert isinstance(app.screen, ConfirmDialog) and f"clip 1: {leads[0]} (pin 8, A0)" in screen
        assert "no driver, no supply" in " ".join(screen.replace("│", " ").split())
        await pilot.press("escape")  # not now: the board is let go
        await settle(pilot)
        assert sheet.pane.stage.clips.session is None and not app.bin.readings("M-09")
        await pilot.click("#clips")
        await settle(pilot)
        await pilot.click("#yes")
        await settle(pilot)
        assert "conducts to no other lead" in shown(app) and not app.bin.readings("M-09")
        await pilot.click("#yes")  # its clip sits well
        await settle(pilot)
        assert app.screen is sheet and len(app.bin.readings("M-09")) == 10
        verdict = sheet.pane.stage.judged_last
        assert verdict.arrangement == "bipolar-4" and len(verdict.spare) == 1
        assert sheet.pane.ask.kind == "pair"  # one by hand, that the name hangs on no single reading
        measure = sheet.pane.query_one("#measure", Button)
        await pilot.press("1", "2", "m")
        await settle(pilot)
        assert sheet.pane.query_one(ReadingInput).value == "12m" and str(measure.label) == "let the meter measure"
        await pilot.press("escape", "m")
        await settle(pilot)
        assert str(measure.label).endswith("(m)")
        assert sheet.pane.ask.kind == "frame"  # before any lead counts as spare
        for _ in range(2):
            await pilot.press("ctrl+z")
            await settle(pilot)
        assert not app.bin.readings("M-09")
