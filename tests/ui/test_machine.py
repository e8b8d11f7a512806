"""The machine on the screen: from the bin to the sheet on the wall, by keys alone, then by mouse alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, OptionList, Static

from coilbench.stages.bench import OwnThings, kind_called
from coilbench.stages.machine.work import MachineWork
from coilbench.ui.app import BenchApp
from coilbench.ui.dialogs.basic import ConfirmDialog
from coilbench.ui.dialogs.machine import PickMachineDialog, WriteFileDialog
from coilbench.ui.dialogs.pick import PickOneDialog
from coilbench.ui.dialogs.torque import TorqueScreen
from coilbench.ui.screens.axis import AxisScreen
from coilbench.ui.screens.machine import AxesTable, MachineScreen
from coilbench.ui.widgets.head import HeadLines
from coilbench.ui.widgets.why import Why
from tests.support.machines import HEAD, add, axis

from .screen import click_foot

Build = Callable[..., BenchApp]


@pytest.fixture(autouse=True)
def shed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of one's own with one machine in it."""
    folder = tmp_path / "shed"
    folder.mkdir()
    (folder / "shed.toml").write_text('name = "the shed"\n' + HEAD + axis("slide", "2 kg"))
    monkeypatch.chdir(folder)
    return folder


def said(app: BenchApp, part: str) -> str:
    return str(app.screen.query_one(f"#{part}", Static).render())


def headed(app: BenchApp) -> str:
    return "\n".join(app.screen.query_one(HeadLines).head.lines)


async def chosen_machine(pilot: Pilot[int], settle: Callable[[Pilot[int]], object]) -> None:
    await pilot.pause()
    add(pilot.app.bin, "one")  # type: ignore[attr-defined]
    add(pilot.app.bin, "two", holding_torque_newton_metre=0.1)  # type: ignore[attr-defined]
    await pilot.press("m")
    await settle(pilot)  # type: ignore[misc]
    assert isinstance(pilot.app.screen, PickMachineDialog)


async def test_by_keys_alone(own_bench: Build, settle, shed: Path) -> None:
    app = own_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await chosen_machine(pilot, settle)
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(app.screen, MachineScreen)
        assert headed(app).startswith("every axis has its motor")
        assert "slide: one bipolar" in said(app, "machine-told") and "fuse" in said(app, "machine-supplies")
        assert not app.screen.query_one(Why).display
        await pilot.press("f8")
        assert "steps per mm" in said(app, "why") and app.screen.query_one(Why).display

        await pilot.press("enter")
        await settle(pilot)
        form = app.screen
        assert isinstance(form, AxisScreen) and headed(app).startswith("5 steps/mm torque")
        mass = form.query_one("#axis-mass", Input)
        mass.focus()
        mass.value = "heavy"
        await settle(pilot)
        assert "mass" in said(app, "axis-said") and app.unsaved_places() == ["an axis"]
        await pilot.press("enter")
        assert app.screen is form, "what can't be read is not kept"
        await pilot.press("escape")
        await settle(pilot)
        assert isinstance(app.screen, ConfirmDialog)
        await pilot.press("escape")
        await settle(pilot)
        mass.value = "900 kg"
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(app.screen, MachineScreen)
        assert "does not fit" in headed(app) and "→" in said(app, "machine-told")
        assert 'mass = "900 kg"' in (shed / "shed.toml").read_text()
        why, more = app.screen.query_one(Why), app.screen.query_one("#machine-more")
        for reasons in (False, True):
            await pilot.press("f8")
            await settle(pilot)
            gone = more.scroll_offset.y
            assert why.display is reasons and (why.virtual_region.y - gone <= 1 if reasons else gone == 0)
        await pilot.press("ctrl+z")
        await settle(pilot)
        assert "every axis" in headed(app) and 'mass = "2 kg"' in (shed / "shed.toml").read_text()

        await pilot.press("t")
        await settle(pilot)
        assert isinstance(app.screen, TorqueScreen) and "wanted" in said(app, "torque-says")
        await pilot.press("t")
        assert "rpm" in said(app, "torque-table")
        await pilot.press("escape", "s")
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(app.screen, MachineScreen), "the sheet is written"
        assert (shed / "shed.html").read_text().startswith("<!DOCTYPE html>")
        await pilot.press("l")
        await settle(pilot)
        app.screen.query_one("#typed", Input).value = "tape.md"
        await pilot.press("enter")
        assert isinstance(app.screen, WriteFileDialog) and ".txt" in said(app, "machine-problem")
        app.screen.query_one("#typed", Input).value = "tape.txt"
        await pilot.press("enter")
        await settle(pilot)
        assert (shed / "tape.txt").read_text().startswith("slide: one, bipolar-4\n")
        await pilot.press("escape")
        await settle(pilot)
        assert app.machine is not None and not isinstance(app.screen, MachineScreen)


async def test_by_mouse_alone_a_new_machine(own_bench: Build, settle, shed: Path) -> None:
    app = own_bench()
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        await click_foot(pilot, settle, "bin_machine")
        await pilot.click(app.screen.query_one(OptionList), offset=(4, 0))
        await settle(pilot)
        assert headed(app).startswith("there is no motor in the bin yet")
        assert "5 " in app.screen.query_one(AxesTable).get_row_at(0)[2].plain, "the axis by itself"
        await pilot.press("t", "s")  # nothing to draw or to print yet
        assert isinstance(app.screen, MachineScreen)
        add(app.bin, "one")
        await click_foot(pilot, settle, "machine_file")
        pick = app.screen.query_one(OptionList)
        await pilot.click(pick, offset=(4, pick.option_count - 1))
        await settle(pilot)
        assert isinstance(app.screen, MachineScreen) and "no axis is described" in headed(app)
        await click_foot(pilot, settle, "machine_add")
        assert isinstance(app.screen, PickOneDialog)
        await pilot.click(app.screen.query_one(OptionList), offset=(4, 3))
        await settle(pilot)
        assert isinstance(app.screen, AxisScreen) and app.screen.kind == "drum"
        texts = {"name": "door", "diameter": "20 mm", "force": "5 N", "speed": "20 mm/s", "microsteps": "8"}
        for key, text in texts.items():
            app.screen.query_one(f"#axis-{key}", Input).value = text
        await click_foot(pilot, settle, "axis_keep")
        assert isinstance(app.screen, AxisScreen) and said(app, "axis-said").endswith("F10 opens my bench")
        things = OwnThings(app.bin)
        things.add(kind_called("driver"), {"chip": "DRV8825", "sense": "R100"})
        things.add(kind_called("supply"), {"supply": "24 V"})
        await click_foot(pilot, settle, "axis_keep")
        assert isinstance(app.screen, MachineScreen) and app.screen.query_one(AxesTable).row_count == 1
        assert "door: " in said(app, "machine-told") and "24 V" in said(app, "machine-supplies")
        assert app.unsaved_places() == ["a machine that is in no file"]
        await click_foot(pilot, settle, "machine_keep")
        assert isinstance(app.screen, WriteFileDialog)
        await pilot.click("#yes")
        await settle(pilot)
        assert MachineWork.opened(shed / "machine.toml").axes == ("door",) and app.unsaved_places() == []
        await click_foot(pilot, settle, "machine_labels")
        await pilot.click("#yes")
        await settle(pilot)
        labels = (shed / "machine-labels.html").read_text()
        assert isinstance(app.screen, MachineScreen) and labels.count('<article class="label">') == 1
