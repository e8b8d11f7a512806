"""Leads on clips, from the screen: a board is found, says what goes where, and measures them in one go."""

from __future__ import annotations

from coilbench.records.saved.windings import Windings
from coilbench.ui.dialogs.basic import ConfirmDialog

from .screen import open_stage, shown, standing


async def test_a_motor_is_named_by_two_keys(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle) as pilot:
        sheet = await open_stage(pilot, settle, "M-02", "windings")
        leads = app.bin.motor("M-02").leads
        await pilot.press("c")
        await settle(pilot)
        screen = shown(app)
        assert isinstance(app.screen, ConfirmDialog) and f"clip 1: {leads[0]} (pin 8, A0)" in screen
        assert "no driver, no supply" in " ".join(screen.replace("│", " ").split()), screen
        await pilot.click("#yes")
        await settle(pilot)
        assert app.screen is sheet and len(app.bin.readings("M-02")) == 15
        assert sheet.pane.stage.judged_last.arrangement == "unipolar-6"
        assert sheet.pane.ask.kind == "frame" and sheet.pane.stage.clips.session is None
        await pilot.press("ctrl+z")
        await settle(pilot)
        assert not app.bin.readings("M-02")


async def test_a_silent_lead_is_asked_about_first(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle) as pilot:
        sheet = await open_stage(pilot, settle, "M-09", "windings")
        await pilot.click("#clips")
        await settle(pilot)
        await pilot.click("#yes")
        await settle(pilot)
        assert "conducts to no other lead" in shown(app) and not app.bin.readings("M-09")
        await pilot.click("#yes")
        await settle(pilot)
        verdict = sheet.pane.stage.judged_last
        assert verdict.arrangement == "bipolar-4" and len(verdict.spare) == 1
        assert app.bin.known("M-09").get(Windings) is None or verdict.sure
