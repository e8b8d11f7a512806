"""``coilbench connect`` as scripts and people use it."""

from __future__ import annotations

import pytest

from coilbench.cli import main
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Coil, Windings
from coilbench.records.store import Bin
from coilbench.stages.desk import desk_of

EIGHT = ["--leads", "8", "--coil", "1.4 ohm", "--current", "3 A", "--inductance", "3.2mH"]


def test_eight_leads_as_printed(answer):
    # 23-305-DS8A: drawing of 2007-05-13: 3.0/2.12/4.2 A, 1.4/2.8/0.7 ohm, 3.2/12.8/3.2 mH.
    compared = answer("connect", *EIGHT)
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


def test_without_inductance(answer):
    rows = answer("connect", "--leads", "6", "--coil", "34 ohm", "--current", "400mA")["rows"]
    assert [row["connection"] for row in rows] == ["half-coil", "series", "unipolar"]
    assert all(row["henry"] is None for row in rows)


def test_driver_and_supply_decide(answer):
    assert answer("connect", *EIGHT, "--driver-max", "5 A")["choose"] == "parallel"
    assert answer("connect", *EIGHT, "--driver-max", "2.5 A")["choose"] == "series"
    slow, fast = (
        answer("connect", *EIGHT, "--leads", "6", "--chip", "DRV8825", "--supply", "24V", "--speed", speed)
        for speed in ("60 rpm", "1200 rpm")
    )
    assert (slow["choose"], fast["choose"]) == ("series", "half-coil")
    assert fast["judged_at_rev_per_second"] == pytest.approx(20)
    pulled = {row["connection"]: row["torque_at_speed_relative"] for row in fast["rows"]}
    assert pulled["half-coil"] > pulled["series"]
    assert answer("connect", *EIGHT, "--drive", "unipolar")["choose"] == "unipolar"


def test_the_chip_brings_its_limit(answer, refusal):
    # A4988: a bare board carries 1 A peak (its carrier's maker), 2 A is the absolute maximum; parallel wants 4.2 A.
    assert answer("connect", *EIGHT, "--chip", "A4988")["choose"] == "series"
    rows = answer("connect", *EIGHT, "--chip", "a4988")["rows"]
    assert all(row["usable_amp"] <= 1.0 for row in rows)
    said = refusal("connect", *EIGHT, "--chip", "A4989X7")
    assert "A498" in said and "vref with --gain" in said  # connect has no such option


@pytest.mark.parametrize(
    "argv",
    [
        ["--leads", "7", "--coil", "1 ohm", "--current", "1 A"],
        ["--leads", "eight", "--coil", "1 ohm", "--current", "1 A"],
        ["--leads", "8", "--coil", "1 V", "--current", "1 A"],
        ["--leads", "8", "--coil", "1 ohm", "--current", "1 rpm"],
        ["--leads", "8", "--coil", "1 ohm", "--current", "0 A"],
        ["--leads", "8", "--coil", "-1 ohm", "--current", "1 A"],
        ["--leads", "8", "--coil", "10 kohm", "--current", "3 A"],
        ["--leads", "8", "--coil", "1 ohm", "--current", "1 A", "--inductance", "3 mV"],
        ["--leads", "8", "--coil", "1 ohm", "--current", "1 A", "--inductance", "3 V"],
        ["--leads", "4", "--coil", "1 ohm", "--current", "1 A", "--drive", "unipolar"],
        ["--leads", "8", "--coil", "1 ohm", "--current", "1 A", "--save"],
    ],
)
def test_bad_input_is_one_line_and_exit_2(argv, refusal):
    refusal("connect", *argv)


def test_a_number_alone_is_in_the_unit_that_the_option_says(answer):
    with_units = answer("connect", *EIGHT, "--supply", "24 V", "--speed", "300 rpm")
    eight = [each.split()[0] if each.endswith((" ohm", " A")) else each for each in EIGHT]
    assert answer("connect", *eight, "--supply", "24", "--speed", "300") == with_units


def test_not_enough_known_names_what(refusal):
    assert "--current" in refusal("connect", "--leads", "8", "--coil", "1 ohm", status=3)


def test_plain_text_for_five_leads(capsys):
    assert main(["connect", "--leads", "5", "--coil", "50 ohm", "--current", "100 mA"]) == 0
    out = capsys.readouterr().out
    assert "unipolar" in out and "opening the motor" in out and "hard-switched" in out


def test_wiring_from_the_bin_and_inert_names(tmp_path, capsys, answer):
    path = tmp_path / "crate.db"
    names = ["[/x]", "=1+1", "BU", "GN", "YE", "BK"]
    coils = (
        Coil(name="A", ends=("[/x]", "BU"), tap="=1+1", ohms=60.0),
        Coil(name="B", ends=("GN", "BK"), tap="YE", ohms=60.0),
    )
    with Bin.open(path) as bin_:
        desk = desk_of(bin_, "M-07", names)
        desk.keep("windings", Windings(arrangement="unipolar-6", coils=coils))
        desk.keep("ratings", Ratings(current_ampere=0.3, inductance_henry=0.03))
    argv = ["--bin", str(path), "--motor", "M-07"]
    compared = answer("connect", *argv, "--save")
    assert compared["choose"] == "series"
    chosen = next(row for row in compared["rows"] if row["connection"] == "series")
    assert {"to": "A+", "leads": ["[/x]"]} in chosen["wiring"]
    with Bin.open(path) as bin_:
        saved = bin_.known("M-07").get(Connection)
    assert saved is not None and saved.connection == "series"
    assert saved.current_ampere == pytest.approx(0.3 / 2**0.5)
    assert "A+: [/x]" in saved.wiring
    assert main(["connect", *argv, "--ascii"]) == 0
    out = capsys.readouterr().out
    assert "[/x]" in out


def test_the_table_has_no_column_without_a_figure(capsys):
    assert main(["connect", "--leads", "4", "--coil", "2.4 ohm", "--current", "0.8 A"]) == 0
    head = capsys.readouterr().out.splitlines()[0]
    assert " ".join(head.split()) == "connection rated RMS set peak ohms volts heat"
    assert main(["connect", *EIGHT]) == 0
    assert "torque" in (head := capsys.readouterr().out.splitlines()[0]) and "henry" in head and "half at" not in head
    assert main(["connect", *EIGHT, "--supply", "24 V"]) == 0
    assert "torque at rest  at 120 rpm  half at rpm" in capsys.readouterr().out.splitlines()[0]
