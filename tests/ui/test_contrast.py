"""Every text of every picture of the screens and of the pages over them stands out from its ground: WCAG 2.2, 1.4.3,
4.5 to 1 for text, and 1.4.11, 3 to 1 for lines and shapes."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest

from coilbench.board.link.ports import PortChoice
from coilbench.errors import InputProblem
from coilbench.stages.bench import OwnThings, kind_called
from coilbench.stages.connection.roads import Roads
from coilbench.stages.connection.stage import ConnectionStage
from coilbench.stages.desk import Desk
from coilbench.stages.jog.scene import Curve
from coilbench.stages.machine.work import MachineWork
from coilbench.stages.to_do import Task
from coilbench.ui.app import BenchApp
from coilbench.ui.dialogs.add_motor import AddMotorDialog
from coilbench.ui.dialogs.basic import ConfirmDialog, ProblemDialog
from coilbench.ui.dialogs.own_thing import OwnThingDialog
from coilbench.ui.dialogs.pick_port import PickPortDialog
from coilbench.ui.dialogs.roads import RoadsScreen
from coilbench.ui.dialogs.to_do import ToDoDialog
from coilbench.ui.dialogs.torque import TorqueScreen
from coilbench.ui.screens.axis import AxisScreen
from coilbench.ui.screens.machine import MachineScreen
from coilbench.ui.screens.own import OwnScreen
from coilbench.ui.screens.summary import SummaryScreen
from coilbench.ui.theme import OWN
from coilbench.ui.widgets.skip_curve import SkipCurve
from tests.support import cards
from tests.support.more import some

from .screen import standing

PICTURES = sorted((Path(__file__).with_name("__snapshots__") / "test_snapshots").glob("*.svg"))
TEXT, SHAPE = 4.5, 3.0
SVG = "{http://www.w3.org/2000/svg}"


def luminance(colour: str) -> float:
    """Relative luminance of ``#rrggbb`` (WCAG 2.2, its definition)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_measure_is_the_standards() -> None:
    # WCAG 2.2, definition of contrast ratio: black on white is 21 to 1; G18's own example, #767676 on white, 4.54.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


def faint(picture: str) -> list[str]:
    """The texts of a picture that don't stand out enough, each with its ratio."""
    fills = dict(re.findall(r"\.(\S+-r\d+) \{ fill: (#[0-9a-f]{6})", picture))
    grounds: list[tuple[float, float, float, float, str]] = []
    found = []
    for each in ElementTree.fromstring(picture).iter():
        if each.tag == f"{SVG}rect" and each.get("fill", "").startswith("#"):
            x, y, width, height = (float(each.get(name, "0")) for name in ("x", "y", "width", "height"))
            grounds.append((x, y, x + width, y + height, each.get("fill", "")))
        elif each.tag == f"{SVG}text" and (colour := fills.get(each.get("class", ""))):
            text = (each.text or "").replace("\u00a0", " ")
            x, y = float(each.get("x", "0")) + 1, float(each.get("y", "0")) - 5
            under = [fill for left, top, right, bottom, fill in grounds if left <= x < right and top <= y < bottom]
            if not text.strip() or not under or set(text) == {"█"}:  # a lead's own colour, its name beside it
                continue
            wanted = TEXT if re.search(r"\w", text) else SHAPE
            ratio = contrast(colour, under[-1])
            if ratio < wanted:
                found.append(f"{ratio:.1f} {text.strip()[:40]!r} {colour} on {under[-1]}")
    return found


@pytest.mark.parametrize("path", PICTURES, ids=lambda path: path.stem)
def test_every_text_stands_out(path: Path) -> None:
    picture = path.read_text(encoding="utf-8")
    assert faint(picture) == [] and "<circle" not in picture


CURVE = Curve((300.0, 600.0, 900.0), (0.0, 0.5, 1.0), (0.0, 0.3, 0.9), (0.1, 0.7, 1.0), "steps/s", True)


@pytest.mark.parametrize("theme", some(OWN, of=OWN[1:]))
async def test_pages_over_the_stages_and_charts_stand_out(demo_bench: Callable[..., BenchApp], settle, theme) -> None:
    app = demo_bench(theme=theme)
    async with standing(app, settle, size=(80, 24)) as pilot:
        cards.whole(app.bin, "M-20")
        app.machine = MachineWork.example()
        connection = ConnectionStage(Desk(app.bin, "M-20"))
        things = OwnThings(app.bin)
        things.add(kind_called("driver"), {"chip": "A4988", "sense": "R100"})
        for page in (
            SummaryScreen("M-20"),
            OwnScreen(),
            OwnThingDialog(things, kind_called("supply")),
            AddMotorDialog(),
            ConfirmDialog("delete it?", "It will be gone.", "delete it"),
            ProblemDialog(InputProblem("no such file", remedy="type another"), "put it aside"),
            ToDoDialog("to do", [Task("power off", "it is live"), Task("power on")], {Task("power on")}, "a fault"),
            PickPortDialog([PortChoice("/dev/ttyUSB0", "ttyUSB0: a board", usb=True)]),
            MachineScreen(),
            AxisScreen(app.machine, "screw", "vent"),
            TorqueScreen(connection.torque_plot({**connection.texts(), "supply": "24 V"})),
            RoadsScreen("M-20", Roads(connection.desk).roads(connection.texts())),
        ):
            app.push_screen(page)
            await settle(pilot)
            assert app.screen is page and faint(app.export_screenshot()) == [], page
            app.pop_screen()
        await settle(pilot)
        curve = SkipCurve()
        await app.screen.mount(curve, before=0)
        await curve.draw(CURVE, ((400.0, False), (800.0, True)))
        await settle(pilot)
        picture = app.export_screenshot()
        assert "⣀" in picture or "⠒" in picture or "⠉" in picture
        assert "% lost" in picture.replace("&#160;", " ") and faint(picture) == []
