"""My bench on the screen: one key away from motors and stages, by keyboard or mouse alone, at any size."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Select

from coilbench.records.saved.own import OwnDriver
from coilbench.stages.bench import OwnThings, kind_called
from coilbench.ui.app import BenchApp
from coilbench.ui.dialogs.own_thing import OwnThingDialog
from coilbench.ui.screens.own import OwnScreen, OwnTable
from coilbench.ui.screens.sheet import BenchSheet

from .screen import shown

Build = Callable[..., BenchApp]


async def opened(pilot: Pilot[int]) -> OwnScreen:
    await pilot.pause()
    await pilot.press("f10")
    await pilot.pause()
    assert isinstance(pilot.app.screen, OwnScreen)
    return pilot.app.screen


def lines(screen: OwnScreen) -> list[str]:
    table = screen.query_one(OwnTable)
    return [" ".join(cell.plain for cell in table.get_row_at(place)) for place in range(table.row_count)]


async def test_a_driver_is_told_made_usual_changed_and_taken_off(own_bench: Build) -> None:
    app = own_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(pilot)
        assert lines(screen)[0] == "  driver – none told yet; a tells one"
        for chip, sense in (("a4988", "R100"), ("DRV8825", "")):
            await pilot.press("a", *chip, "tab", *sense, "enter")
            await pilot.pause()
        assert lines(screen)[:2] == ["● driver A4988 R100 A4988, sense R100", "○ driver  DRV8825"]
        await pilot.press("enter")
        await pilot.pause()
        assert lines(screen)[1].startswith("● driver  DRV8825") and lines(screen)[0].startswith("○")
        await pilot.press("e", "tab", *"R050", "enter")
        await pilot.pause()
        assert lines(screen)[1] == "● driver DRV8825 R050 DRV8825, sense R050"
        await pilot.press("d", "tab", "enter")
        await pilot.pause()
        assert [(each.name, each.usual) for each in app.bin.own()] == [("A4988 R100", True)]
        await pilot.press("escape")
        await pilot.pause()
        assert not isinstance(app.screen, OwnScreen)


async def test_a_key_struck_twice_opens_one_dialog_and_the_colours_offered_are_the_benchs(own_bench: Build) -> None:
    app = own_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(pilot)
        for _ in range(2):  # as when both are under way before the first is handled
            screen.action_own_add()
        await pilot.pause()
        assert isinstance(app.screen, OwnThingDialog)
        await pilot.press("escape", "f12")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert not [each for each in app.screen_stack if isinstance(each, OwnThingDialog)]
        seen = shown(app)
        assert "bench-light: the bench's own" in seen and "ansi-dark" in seen and "esc: back" in seen
        assert sum(line.strip().startswith(("bench-", "ansi-")) for line in seen.splitlines()) == 4
        await pilot.press(*"light", "enter")
        await pilot.pause()
        assert "light" in app.theme


async def test_what_cannot_be_read_is_said_and_what_was_typed_stays(own_bench: Build) -> None:
    app = own_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(pilot)
        await pilot.press("a", *"A4989", "enter")
        await pilot.pause()
        dialog = app.screen
        assert isinstance(dialog, OwnThingDialog) and dialog.query_one("#own-chip", Input).value == "A4989"
        assert "no chip 'A4989'" in str(dialog.query_one("#own-problem").render())
        assert app.unsaved_places() == ["my bench"]
        await pilot.press("escape")
        await pilot.pause()
        assert app.bin.own().things == ()


async def test_a_stage_with_nothing_typed_starts_from_the_bench_anew(own_bench: Build) -> None:
    app = own_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        app.bin.add_motor("vent", ["RD", "BU", "WH", "BK"])
        app.push_screen(BenchSheet("vent", stage_id="driver"))
        await pilot.pause()
        await opened(pilot)
        await pilot.press("a", *"A4988", "tab", *"R100", "enter")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert app.screen.query_one("#driver-sense", Input).value == "R100"
        OwnThings(app.bin).add(kind_called("driver"), {"chip": "DRV8825", "sense": "R110"})
        chips = app.screen.query_one("#driver-chips", Select)
        for chip, sense in (("DRV8825", "R110"), ("TMC2209", ""), ("A4988", "R100")):
            chips.value = chip  # chosen from the list: what the bench knows of it comes along
            await pilot.pause()
            await pilot.pause()
            assert app.screen.query_one("#driver-chip", Input).value == chip
            assert app.screen.query_one("#driver-sense", Input).value == sense
        app.screen.query_one("#driver-supply", Input).value = "9 V"
        await opened(pilot)
        await pilot.press("e", "tab", *"R050", "enter")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert app.screen.query_one("#driver-supply", Input).value == "9 V"  # typed, and not lost


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (160, 50)])
async def test_by_mouse_alone_there_and_back(own_bench: Build, size: tuple[int, int]) -> None:
    app = own_bench()
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        await pilot.click("#key-app_bench")
        await pilot.pause()
        assert isinstance(app.screen, OwnScreen)
        await pilot.click("#key-own_add")
        await pilot.pause()
        assert isinstance(app.screen, OwnThingDialog)
        assert await pilot.click("#no")
        await pilot.pause()
        OwnThings(app.bin).add(kind_called("driver"), {"chip": "A4988", "name": "x" * 80})
        app.screen.show()  # type: ignore[attr-defined]
        await pilot.pause()
        assert app.bin.own().usual(OwnDriver) is not None
        assert await pilot.click("#key-own_back")
        await pilot.pause()
        assert not isinstance(app.screen, OwnScreen)
