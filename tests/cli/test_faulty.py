"""A faulty motor on the command line: rated, wired and driven as far as it can be, or not at all."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from coilbench.cli import main
from coilbench.records.saved.base import Fact
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Coil, WindingFault, Windings
from coilbench.records.store import Bin
from coilbench.stages.desk import desk_of

WHOLE = Coil(name="A", ends=("1", "3"), tap="2", ohms=66.4, ohms_sd=0.4)
SOUND_HALF = Windings(
    arrangement="unipolar-6",
    confidence=0.996,
    coils=(WHOLE, Coil(name="B", ends=("4", "5"), ohms=33.2, ohms_sd=0.3)),
    faults=(WindingFault(kind="open", leads=("6",)),),
)
TAP_LOST = Windings(
    arrangement="unipolar-6",
    confidence=0.996,
    coils=(WHOLE, Coil(name="B", ends=("4", "6"), ohms=66.4, ohms_sd=0.3)),
    faults=(WindingFault(kind="broken-lead", leads=("5",)),),
)
COMMANDS = (
    ["rate", "--coil", "2.4 ohm", "--frame", "17"],
    ["connect", "--leads", "4", "--coil", "2.4 ohm", "--current", "1 A"],
    ["vref", "--chip", "A4988", "--sense", "R100", "--current", "1 A"],
)


@pytest.fixture
def bin_of(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Put one motor, ``vent``, with these windings and more facts into a scratch bin."""
    monkeypatch.setenv("COILBENCH_BIN", str(tmp_path / "own.bin"))

    def put(*facts: Fact) -> None:
        with Bin.open() as bin_:
            desk = desk_of(bin_, "vent", ["1", "2", "3", "4", "5", "6"])
            for fact in facts:
                desk.derive(fact)

    return put


@pytest.mark.parametrize("command", COMMANDS, ids=lambda words: words[0])
@pytest.mark.parametrize(
    ("kind", "word"), [("frame", "do not power"), ("open", "for parts"), ("shorted-turns", "for parts")]
)
def test_what_can_not_be_used_gets_no_figures(bin_of, capsys, command, kind, word) -> None:
    fault = WindingFault(kind=kind, leads=("1", "2"))
    bin_of(Windings(arrangement="bipolar-4", confidence=0.99, faults=(fault,)))
    assert main([*command, "--motor", "vent", "--json"]) == 4
    said = capsys.readouterr()
    assert said.out == "" and len(said.err.splitlines()) == 1 and word in said.err


def test_an_open_half_leaves_half_coil_drive(bin_of, capsys) -> None:
    bin_of(SOUND_HALF, Ratings(current_ampere=0.3, resistance_ohm=33.2))
    assert main(["connect", "--motor", "vent", "--save", "--json"]) == 0
    said = capsys.readouterr()
    assert "half-coil drive only" in said.err
    (row,) = json.loads(said.out)["rows"]
    assert row["connection"] == "half-coil"
    laid = {wire["to"]: wire["leads"] for wire in row["wiring"]}
    assert laid["A+"] == ["1"] and laid["A-"] == ["2"] and laid["B+"] == ["4"] and laid["B-"] == ["5"]
    with Bin.open() as bin_:
        kept = bin_.known("vent").get(Connection)
    assert kept.connection == "half-coil" and "6: insulate" in kept.wiring
    assert main(["connect", "--motor", "vent", "--drive", "unipolar"]) == 2
    assert "half-coil alone" in capsys.readouterr().err


def test_a_lost_tap_leaves_series_at_half_the_ohms_end_to_end(bin_of, capsys) -> None:
    bin_of(TAP_LOST)
    assert main(["rate", "--motor", "vent", "--frame", "17", "--save", "--json"]) == 0
    rated = json.loads(capsys.readouterr().out)
    assert rated["coil_ohm"] == pytest.approx(33.2)
    assert any("series drive only" in note for note in rated["notes"])
    assert main(["connect", "--motor", "vent", "--json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)["rows"]
    assert row["connection"] == "series" and row["ohm"] == pytest.approx(66.4)
    assert {tuple(wire["leads"]) for wire in row["wiring"]} == {("1",), ("3",), ("2",), ("4",), ("6",), ("5",)}
