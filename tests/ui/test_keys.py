"""Keys do what makes sense now: help closes itself, letters typed by habit run nothing, redo needs something."""

from __future__ import annotations

from textual.widgets import Button

from coilbench.stages.table import STAGES
from coilbench.stages.words import words_of
from coilbench.ui.dialogs.basic import ConfirmDialog
from coilbench.ui.dialogs.help import HelpDialog
from coilbench.ui.screens.sheet import BenchSheet
from coilbench.ui.widgets.reading_input import ReadingInput

from .screen import measured_out, sheet, standing


async def test_f1_closes_the_help_it_opened(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", "f1") as pilot:
        assert isinstance(app.screen, HelpDialog)
        await pilot.press("f1")
        await settle(pilot)
        assert isinstance(app.screen, BenchSheet)


async def test_help_over_a_dialog_names_the_dialogs_keys(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "f9", "f1"):
        assert isinstance(app.screen, HelpDialog)
        assert "close" in app.screen.text and "copy" in app.screen.text.split("keys that work now")[1]


async def test_help_of_every_stage_stands(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", size=(100, 40)) as pilot:
        for spec in STAGES:
            await sheet(app).show_stage(spec.id)
            await settle(pilot)
            words = words_of(spec.id)
            await pilot.press("f1")
            await settle(pilot)
            assert isinstance(app.screen, HelpDialog) and words in app.screen.text
            await pilot.press("f1")
            await settle(pilot)


async def test_typing_inf_is_open_and_no_command(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", "m") as pilot:
        await pilot.press(*"inf")
        assert app.screen.query_one(ReadingInput).value == "inf"
        await pilot.press("enter")
        await settle(pilot)
        assert app.bin.readings("M-01")[-1].ohm == float("inf")
        assert "windings" not in app.bin.known("M-01")


async def test_finishing_with_a_question_open_asks_first(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", "m", "f") as pilot:
        assert isinstance(app.screen, ConfirmDialog)
        await pilot.press("enter")  # the harmless answer has the focus
        await settle(pilot)
        assert isinstance(app.screen, BenchSheet) and "windings" not in app.bin.known("M-01")
        await pilot.press("f")
        await settle(pilot)
        app.screen.query_one("#yes", Button).press()
        await settle(pilot)
        assert "windings" in app.bin.known("M-01")


async def test_redo_of_a_test_by_hand_needs_one_taken_back(demo_bench, settle) -> None:
    def redo_offered(app) -> bool:
        return any(active.binding.id == "sheet.redo" for active in app.screen.active_bindings.values())

    app = demo_bench()
    async with standing(app, settle, "down", "down", "enter") as pilot:
        await measured_out(pilot, settle)
        for key, offered in (("f3", False), ("m", False), ("ctrl+z", True), ("ctrl+y", False)):
            await pilot.press(key)
            await settle(pilot)
            assert redo_offered(app) is offered, key


async def test_undo_and_redo_are_offered_when_there_is_something(demo_bench, settle) -> None:
    def offered(app) -> set[str | None]:
        return {active.binding.id for active in app.screen.active_bindings.values()}

    app = demo_bench()
    async with standing(app, settle, "enter") as pilot:
        assert not {"sheet.undo", "sheet.redo"} & offered(app)
        await pilot.press("m")
        await settle(pilot)
        assert "sheet.undo" in offered(app) and "sheet.redo" not in offered(app)
        await pilot.press("ctrl+z")
        await settle(pilot)
        assert "sheet.redo" in offered(app) and "sheet.undo" not in offered(app)
