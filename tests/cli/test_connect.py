"""``coilbench connect`` as scripts and people use it."""

from __future__ import annotations

import json

import pytest

from coilbench.cli import main
from coilbench.records.store import Bin

EIGHT = ["--leads", "8", "--coil", "1.4 ohm", "--current", "3 A", "--inductance", "3.2mH"]


def _answer(capsys, *argv):
    assert main(["connect", *argv, "--json"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 1
    return json.loads(lines[0])


def test_eight_leads_as_printed(capsys):
    # 23-305-DS8A drawing of 2007-05-13 (read): 3.0/2.12/4.2 A, 1.4/2.8/0.7 ohm, 3.2/12.8/3.2 mH.
    compared = _answer(capsys, *EIGHT)
    rows = {row["connection"]: row for row in compared["rows"]}
    assert list(rows) == ["half-coil", "series", "parallel", "unipolar"]
    assert [round(rows[name]["amp"], 2) for name in ("unipolar", "series")] == [3.0, 2.12]
    assert round(rows["parallel"]["amp"], 1) == 4.2
    assert [rows[name]["ohm"] for name in ("unipolar", "series", "parallel")] == pytest.approx([1.4, 2.8, 0.7])
    assert [rows[name]["henry"] for name in ("unipolar", "series", "parallel")] == pytest.approx(
        [3.2e-3, 12.8e-3, 3.2e-3]
    )
    assert all(row["watt"] == pytest.approx(25.2) for row in rows.values())
    assert compared["choose"] in rows and compared["why"]
    assert "RMS" in compared["convention"] and compared["test"]


def test_without_inductance(capsys):
    rows = _answer(capsys, "--leads", "6", "--coil", "34 ohm", "--current", "400mA")["rows"]
    assert [row["connection"] for row in rows] == ["half-coil", "series", "unipolar"]
    assert all(row["henry"] is None for row in rows)


def test_driver_and_supply_decide(capsys):
    assert _answer(capsys, *EIGHT, "--driver-max", "5 A")["choose"] == "parallel"
    assert _answer(capsys, *EIGHT, "--driver-max", "2.5 A")["choose"] == "series"
    fast = _answer(capsys, *EIGHT, "--supply", "24V", "--speed", "450 rpm")
    assert fast["choose"] == "half-coil"
    assert _answer(capsys, *EIGHT, "--drive", "unipolar")["choose"] == "unipolar"


def test_the_chip_brings_its_limit(capsys):
    # A4988, peak 2 A (its maker's data sheet): parallel would want 4.2 A.
    assert _answer(capsys, *EIGHT, "--chip", "A4988")["choose"] == "series"
    rows = _answer(capsys, *EIGHT, "--chip", "a4988")["rows"]
    assert all(row["usable_amp"] <= 2.0 for row in rows)
    assert main(["connect", *EIGHT, "--chip", "A4989X7"]) == 2
    assert "A498" in capsys.readouterr().err


@pytest.mark.parametrize(
    "argv",
    [
        ["--leads", "7", "--coil", "1 ohm", "--current", "1 A"],
        ["--leads", "eight", "--coil", "1 ohm", "--current", "1 A"],
        ["--leads", "8", "--coil", "1", "--current", "1 A"],
        ["--leads", "8", "--coil", "1 ohm", "--current", "1"],
        ["--leads", "8", "--coil", "1 ohm", "--current", "0 A"],
        ["--leads", "8", "--coil", "-1 ohm", "--current", "1 A"],
        ["--leads", "8", "--coil", "10 kohm", "--current", "3 A"],
        ["--leads", "8", "--coil", "1 ohm", "--current", "1 A", "--inductance", "3 mV"],
        ["--leads", "8", "--coil", "1 ohm", "--current", "1 A", "--supply", "12"],
        ["--leads", "4", "--coil", "1 ohm", "--current", "1 A", "--drive", "unipolar"],
        ["--leads", "8", "--coil", "1 ohm", "--current", "1 A", "--save"],
    ],
)
def test_bad_input_is_one_line_and_exit_2(argv, capsys):
    assert main(["connect", *argv]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith("coilbench connect: ")
    assert len(captured.err.splitlines()) == 1


def test_not_enough_known_names_what(capsys):
    assert main(["connect", "--leads", "8", "--coil", "1 ohm"]) == 3
    assert "--current" in capsys.readouterr().err


def test_plain_text_for_five_leads(capsys):
    assert main(["connect", "--leads", "5", "--coil", "50 ohm", "--current", "100 mA"]) == 0
    out = capsys.readouterr().out
    assert "unipolar" in out and "opening the motor" in out


def test_wiring_from_the_bin_and_inert_names(tmp_path, capsys):
    path = tmp_path / "crate.db"
    names = ["[/x]", "=1+1", "BU", "GN", "YE", "BK"]
    with Bin.open(path) as bin_:
        bin_.add_motor("M-07", names)
        coils = [
            {"name": "A", "ends": ["[/x]", "BU"], "tap": "=1+1", "ohms": 60.0},
            {"name": "B", "ends": ["GN", "BK"], "tap": "YE", "ohms": 60.0},
        ]
        bin_.put_fact("M-07", "windings", {"arrangement": "unipolar-6", "coils": coils})
        bin_.put_fact("M-07", "ratings", {"current_ampere": 0.3, "inductance_henry": 0.03})
    argv = ["--bin", str(path), "--motor", "M-07"]
    compared = _answer(capsys, *argv, "--save")
    assert compared["choose"] == "series"
    chosen = next(row for row in compared["rows"] if row["connection"] == "series")
    assert {"to": "A+", "leads": ["[/x]"]} in chosen["wiring"]
    with Bin.open(path) as bin_:
        saved = bin_.fact("M-07", "connection")
    assert saved["connection"] == "series"
    assert saved["current_ampere"] == pytest.approx(0.3 / 2**0.5)
    assert "A+: [/x]" in saved["wiring"]
    assert main(["connect", *argv, "--ascii"]) == 0
    out = capsys.readouterr().out
    assert "[/x]" in out


def test_the_table_has_no_column_without_a_figure(capsys):
    assert main(["connect", "--leads", "4", "--coil", "2.4 ohm", "--current", "0.8 A"]) == 0
    head = capsys.readouterr().out.splitlines()[0]
    assert head.split() == ["connection", "RMS", "sine", "peak", "ohms", "volts", "heat"]
    assert main(["connect", *EIGHT]) == 0
    assert "torque" in (head := capsys.readouterr().out.splitlines()[0]) and "henry" in head and "limit" not in head
