"""The bin kept in order on the screen: marked, archived, merged, split, written out, put back; by keys and mouse."""

from __future__ import annotations

import csv
import math
from pathlib import Path

from textual.widgets import OptionList

from coilbench.records import backups, writing
from coilbench.records.saved.notes import Notes
from coilbench.ui.dialogs.basic import ConfirmDialog, TextDialog
from coilbench.ui.dialogs.bin_form import AskedField, BinForm
from coilbench.ui.dialogs.bin_menu import BinMenu
from coilbench.ui.dialogs.pick import PickOneDialog
from coilbench.ui.screens.bin import BinScreen
from coilbench.ui.widgets.bin_table import BinTable
from coilbench.winding.readings.reading import Reading
from tests.support import cards

from .screen import shown, standing


def names(app) -> list[str]:
    return [row.name for row in app.screen.query_one(BinTable).rows]


async def test_marked_motors_are_put_away_merged_and_come_back(own_bench, settle, tmp_path: Path) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        for name in ("M-02", "M-12"):
            cards.whole(app.bin, name)
        for number in range(3):
            app.bin.add_motor(f"B-{number}", ("RD", "BU", "GN", "BK"))
        writing.add_reading(app.bin, "B-0", Reading("RD", "BU", math.inf))
        app.screen.reload()
        await settle(pilot)

        async def press(*keys: str) -> None:
            for key in keys:
                await pilot.press(key)
                await settle(pilot)

        await press("end", "space", "up", "space")
        assert "2 marked, 5 motors" in shown(app) and shown(app).count("●") == 2
        await press("b")
        assert isinstance(app.screen, BinMenu) and "archive" in shown(app) and "never mind (esc)" in shown(app)
        await press("v")  # by its own key
        assert isinstance(app.screen, BinScreen) and names(app) == ["M-02", "M-12", "B-0"]
        await press("h")
        assert "archived motors are listed" in shown(app) and len(names(app)) == 5
        await press("h", "ctrl+z")
        assert "taken back: B-2, B-1 archived" in shown(app) and len(names(app)) == 5
        await press("ctrl+y", "ctrl+z")

        await press("home", "b")
        menu = app.screen.query_one(OptionList)
        assert menu.get_option_at_index(7).disabled  # merge: no two are marked
        await press("l")
        assert isinstance(app.screen, PickOneDialog) and "2  unipolar-6" in shown(app)
        await press("enter", "c")
        assert isinstance(app.screen, TextDialog) and "wide printer, carriage" in app.screen.text
        await press("escape", "b")
        await pilot.click(OptionList, offset=(4, 7))
        await settle(pilot)
        assert isinstance(app.screen, ConfirmDialog) and "merge M-12 into M-02" in shown(app)
        await press("tab", "enter")
        assert names(app) == ["M-02", "B-0", "B-1", "B-2"] and app.bin.motor("M-02").readings == 2
        await press("ctrl+z")
        assert names(app) == ["M-02", "M-12", "B-0", "B-1", "B-2"] and app.bin.motor("M-12").readings == 1

        await press("end", "t")
        assert isinstance(app.screen, BinForm)
        await press(*"GN", "enter", "enter")
        assert isinstance(app.screen, BinForm) and "two leads or more" in shown(app)  # and the dialog stays
        app.screen.query(AskedField).first().value = "GN BK"
        await press("enter")
        assert len(names(app)) == 6 and app.bin.motor("B-2").leads == ("RD", "BU")
        await press("d", "tab", "enter")
        assert len(names(app)) == 5
        await press("ctrl+z", "ctrl+z")
        assert app.bin.motor("B-2").leads == ("RD", "BU", "GN", "BK")

        await press("n")
        app.screen.query(AskedField).first().value = "till"
        await press("enter", "enter", "enter")
        notes = app.bin.known("B-2").get(Notes)
        assert notes is not None and notes.origin == "till" and "noted of B-2" in shown(app) and "till" in shown(app)

        await press("home")
        await pilot.click(BinTable, offset=(0, 1))  # its mark
        for key, name, holds in (("x", "bin.csv", "M-02"), ("p", "cards.html", "made by coilbench")):
            await press(key)
            app.screen.query_one("#typed").value = str(tmp_path / name)
            await press("enter")
            assert holds in (tmp_path / name).read_text(encoding="utf-8-sig") and isinstance(app.screen, BinScreen)
        assert len(list(csv.reader((tmp_path / "bin.csv").open()))) == 2  # the heads, and the one that is marked

        before = len(backups.backups(app.bin.path))
        await press("delete", "tab", "enter", "r", "enter")
        assert isinstance(app.screen, ConfirmDialog) and "put the bin back" in shown(app)
        await press("tab", "enter")
        assert "M-02" in names(app) and len(backups.backups(app.bin.path)) > min(before, backups.MOST - 1)


async def test_five_hundred_motors_are_listed_without_their_being_looked_at_first(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(60, 20)) as pilot:
        with app.bin.writing() as connection:
            rows = [(f"B-{number}", '["RD", "BU"]', "2026-01-01T00:00:00Z") for number in range(500)]
            connection.executemany("INSERT INTO motors (name, leads, created) VALUES (?, ?, ?)", rows)
        app.screen.reload()
        assert len(app.screen.query_one(BinTable).rows) == 500 and app.screen._looking
        await settle(pilot)
        assert "next: windings" in shown(app) and not [line for line in shown(app).splitlines()[2:10] if "…" in line]
        for key, first in (("end", "B-499"), ("pageup", "B-499"), ("home", "B-0")):
            await pilot.press(key)
            await pilot.pause()
            assert first in shown(app)
        await pilot.press("slash", *"B-49")
        await settle(pilot)
        assert "11 of 500" in shown(app)
        await pilot.press("enter", "b")
        await settle(pilot)
        assert "never mind (esc)" in shown(app)
