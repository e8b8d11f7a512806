"""A damaged bin on the screen: what is whole is saved before it is set aside, a large one is looked over later."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from coilbench.records import check_values, opening
from coilbench.records.problems import BinDamaged
from coilbench.records.store import Bin
from coilbench.ui.app import BenchApp
from coilbench.ui.dialogs.basic import TextDialog
from coilbench.ui.dialogs.damaged import DamagedDialog
from coilbench.ui.screens.bin import BinScreen
from tests.support import cards

from .screen import shown, standing


@pytest.fixture
def damaged(tmp_path: Path) -> Path:
    """A large bin, of which one reading is no longer what was written."""
    path = tmp_path / "own.bin"
    with Bin.open(path) as bin_:
        cards.whole(bin_, "vent")
        cards.whole(bin_, "turntable")
    connection = sqlite3.connect(path)
    check_values.register(connection)
    much = "x" * (opening.LARGE_BYTES + 1)
    connection.execute("INSERT INTO tidyings (what, changed, time) VALUES (?, '[]', '')", [much])
    connection.execute("UPDATE readings SET crc = crc + 1 WHERE id = 1")
    connection.commit()
    connection.close()
    return path


def test_a_large_bin_is_opened_without_a_look_at_every_row_only_where_that_follows(damaged: Path) -> None:
    with Bin.open(damaged, thorough=False) as quick:
        assert not quick.looked_over and len(quick.motors()) == 2
    for look in (opening.look_over, Bin.open):
        with pytest.raises(BinDamaged, match="1 of readings is not what was written"):
            look(damaged)
    damaged.unlink()


async def test_what_is_whole_is_saved_from_the_dialog_and_the_rest_set_aside(
    own_bench: Callable[..., BenchApp], settle, damaged: Path, tmp_path: Path
) -> None:
    app = own_bench()
    async with standing(app, settle, "b", size=(60, 20)) as pilot:
        app.look_it_over()  # as its timer does a moment later
        await settle(pilot)
        assert isinstance(app.screen, DamagedDialog) and not app.is_bin_open and len(app.screen_stack) == 2
        await pilot.press("s")
        await settle(pilot)
        saved = tmp_path / "saved.json"
        app.screen.query_one("#typed").value = str(damaged)
        await pilot.press("enter")
        await settle(pilot)
        assert "is there already" in " ".join(shown(app).split())
        app.screen.query_one("#typed").value = str(saved)
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(app.screen, TextDialog) and "row 1 of readings" in app.screen.text
        await pilot.press("escape")
        await settle(pilot)
        assert isinstance(app.screen, DamagedDialog) and damaged.exists()
        await pilot.click("#act")
        await settle(pilot)
        await pilot.press("escape")
        await settle(pilot)
        assert isinstance(app.screen, BinScreen) and "No motor here yet" in shown(app)
    assert [each["name"] for each in json.loads(saved.read_text())["motors"]] == ["vent", "turntable"]
