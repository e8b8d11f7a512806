"""At 60x20 every dialog is on the screen whole, and says how to leave it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from textual.widgets import Button

from coilbench.board.link.ports import PortChoice
from coilbench.errors import InputProblem
from coilbench.records.problems import BinDamaged
from coilbench.stages.bench import KINDS, OwnThings
from coilbench.stages.desk import Desk
from coilbench.stages.driver.stage import DriverStage
from coilbench.stages.to_do import Task
from coilbench.stages.windings.stage import WindingsStage
from coilbench.ui.actions import ACTIONS
from coilbench.ui.app import BenchApp
from coilbench.ui.dialogs import (
    add_motor,
    basic,
    bin_form,
    bin_menu,
    damaged,
    flash,
    help,
    machine,
    own_thing,
    pick,
    pick_pair,
    pick_port,
    to_do,
    trimmer,
)
from coilbench.ui.steady import Dialog

from .screen import shown, standing

LONG = "a text that says what is to be said, and goes on. " * 30


def dialogs(app: BenchApp) -> Iterator[Dialog[object]]:
    """Every dialog with more in it than fits, or as much as it can have."""
    leads = tuple(f"lead number {number}" for number in range(1, 13))
    app.bin.add_motor("M-20", leads)
    stage = WindingsStage(Desk(app.bin, "M-20"))
    things = OwnThings(app.bin)
    yield add_motor.AddMotorDialog()
    yield basic.ConfirmDialog("delete it?", LONG[:200], "delete it")
    yield basic.TextDialog("a text", LONG, "one more act")
    yield basic.ProblemDialog(InputProblem(LONG, remedy=LONG), "set it aside")
    yield help.HelpDialog(("help", LONG))
    yield own_thing.OwnThingDialog(things, max(KINDS, key=lambda kind: len(kind.fields)))
    yield pick_pair.PickPairDialog(stage.places)
    yield pick_port.PickPortDialog([PortChoice(f"/dev/ttyUSB{n}", f"ttyUSB{n}: a board", True) for n in range(20)])
    yield to_do.ToDoDialog("M-20: to do", [Task(LONG[:150], LONG[:100])] * 15, set(), LONG[:150])
    yield machine.PickMachineDialog([Path(f"machine-{number}.toml") for number in range(20)])
    yield machine.WriteFileDialog("write it", LONG[:120], "card.md", lambda path: None)
    yield flash.FlashDialog("virtual://bench")
    yield damaged.DamagedDialog(BinDamaged(Path("a folder/" * 20), LONG))
    yield bin_menu.BinMenu("the bin", [(each, each.keys, "") for each in ACTIONS if each.where == "bin"])
    yield pick.PickOneDialog("which one?", LONG[:100], [f"backup {number}" for number in range(20)])
    fields = [bin_form.Asked(f"f{number}", f"field {number}", "such") for number in range(5)]
    yield bin_form.BinForm("a form", LONG[:120], fields, "do it", lambda texts: None)
    driver = DriverStage(Desk(app.bin, "M-01"))
    texts = {"chip": "A4988", "sense": "R100", "current": "0.8 A", "supply": "12 V"}
    yield trimmer.TrimmerDialog(driver, driver.answer(texts), "virtual://bench")


async def test_every_dialog_is_whole_and_shows_its_way_out(demo_bench: Callable[..., BenchApp], settle) -> None:
    app, short = demo_bench(), []
    async with standing(app, settle, size=(60, 20)) as pilot:
        for dialog in dialogs(app):
            await app.push_screen(dialog)
            await pilot.pause()
            assert app.screen is dialog
            name, box = type(dialog).__name__, dialog.query_one(".dialog-box").region
            buttons = [each for each in dialog.query(Button) if each.display]
            if not (buttons or "Escape: never mind" in shown(app)):
                short.append(f"{name}: no way out is shown")
            short += [f"{name}: {each.label} is cut" for each in buttons if not box.contains_region(each.region)]
            if not app.screen.region.contains_region(box):
                short.append(f"{name}: the box is cut")
            await pilot.press("escape")
            assert app.screen is not dialog, name
    assert short == []
