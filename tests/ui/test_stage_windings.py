"""The windings on the screen and on the command line: the same motor, the same figures, whoever measured it."""

from __future__ import annotations

import io
import json

from coilbench.cli import main
from coilbench.records.exchange import export_object
from coilbench.records.store import Bin

from .screen import measured_out, open_stage, shown, standing

SIX = "red,blue,48.3\nred,white,24.3\nwhite,blue,24.2\ngreen,black,48.4\ngreen,yellow,24.2\nred,green,OL\n"


async def test_what_the_command_saves_the_screen_leaves_as_it_is(own_bench, settle, tmp_path, capsys) -> None:
    file = tmp_path / "readings.csv"
    file.write_text(SIX)
    where = str(tmp_path / "own.bin")
    meter = ("--meter", "5% + 10 counts of 0.1 ohm")
    main(["windings", str(file), "--json", "--save", "vent", "--bin", where, *meter])
    said = json.loads(capsys.readouterr().out)
    app = own_bench()
    async with standing(app, settle, size=(120, 40)) as pilot:
        before = export_object(app.bin)
        sheet = await open_stage(pilot, settle, "vent", "windings")
        assert sheet.pane.stage.result() == said
        assert export_object(app.bin) == before


async def test_what_the_screen_saves_the_command_says_too(demo_bench, settle, tmp_path, monkeypatch, capsys) -> None:
    app = demo_bench()
    async with standing(app, settle) as pilot:
        sheet = await open_stage(pilot, settle, "M-02", "windings")
        await measured_out(pilot, settle)
        result = sheet.pane.stage.result()
        leads = ",".join(app.bin.motor("M-02").leads)
        assert "a unipolar motor: two coils" in shown(app)
    before = _exported(tmp_path)
    monkeypatch.setattr("sys.stdin", io.StringIO())
    asked = ["windings", "--ask", "--json", "--save", "M-02", "--go-on", "--leads", leads]
    assert main([*asked, "--bin", str(tmp_path / "demo.bin")]) == 0
    assert json.loads(capsys.readouterr().out.splitlines()[-1])["result"] == result
    assert _exported(tmp_path) == before


def _exported(folder) -> object:
    with Bin.open(folder / "demo.bin") as bin:
        return export_object(bin)
