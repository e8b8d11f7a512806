"""The bench's own things in the file: out and in again, damaged, and beside another program's."""

import json
import sqlite3
from pathlib import Path

import pytest

from coilbench.errors import InputProblem
from coilbench.records import opening, rescue, schema, writing
from coilbench.records.exchange import export_object, import_text
from coilbench.records.problems import BinDamaged
from coilbench.records.saved.own import OwnBoard, OwnDriver, OwnSupply
from coilbench.records.store import Bin

THINGS = (
    OwnDriver(name="left", chip="A4988", sense="R100", noted_at="M-07"),
    OwnSupply(name="12 V", supply="12 V"),
    OwnDriver(name="right", chip="DRV8825", usual=True),
)


@pytest.fixture
def equipped(bin_: Bin) -> Bin:
    for each in THINGS:
        writing.put_own(bin_, each)
    return bin_


def test_an_export_carries_the_bench_and_an_import_adds_what_is_not_there(equipped: Bin, tmp_path: Path) -> None:
    whole = export_object(equipped)
    assert [(each["kind"], each["name"], each.get("usual", False)) for each in whole["bench"]] == [
        ("driver", "left", False),
        ("supply", "12 V", True),
        ("driver", "right", True),
    ]
    with Bin.open(tmp_path / "other.db") as other:
        writing.put_own(other, OwnDriver(name="left", chip="DRV8825"))
        done = import_text(other, json.dumps(whole))
        assert done.own == ["supply 12 V", "driver right"]
        assert [(each.name, each.usual) for each in other.own()] == [("left", True), ("12 V", True), ("right", False)]
        assert import_text(other, json.dumps(whole)).own == []
    with Bin.open(tmp_path / "empty.db") as empty:
        import_text(empty, json.dumps(whole))
        assert export_object(empty) == whole
    assert export_object(equipped, ["M-07"])["bench"] == []


@pytest.mark.parametrize(
    ("things", "said"),
    [
        ({}, "bench: an object, expected a list"),
        ([{"kind": "magnet", "name": "x"}], r"bench\[0\]\.kind"),
        ([{"kind": "driver", "name": "x"}], r"bench\[0\]: no 'chip'"),
        ([{"kind": "supply", "name": "", "supply": "12 V"}], "can't be a name"),
        ([{"kind": "supply", "name": "x", "supply": "12 V"}] * 2, r"bench\[1\]: supply 'x' is there twice"),
        ([{"kind": "supply", "name": each, "supply": "12 V", "usual": True} for each in "xy"], "a second usual"),
        ([{"kind": "board", "name": "x", "port": "a\x1b"}], "printable"),
    ],
)
def test_a_bench_that_no_export_wrote_is_refused_whole(bin_: Bin, things: object, said: str) -> None:
    text = json.dumps({**export_object(bin_), "bench": things})
    with pytest.raises(InputProblem, match=said):
        import_text(bin_, text)
    assert bin_.own().things == ()


def test_a_damaged_thing_is_found_and_the_others_are_rescued(equipped: Bin) -> None:
    path = equipped.path
    equipped.close()
    data = path.read_bytes()
    at = data.index(b'"R100"')
    path.write_bytes(data[:at] + b'"R010"' + data[at + 6 :])
    with pytest.raises(BinDamaged, match="row 1 of own is not what was written"):
        Bin.open(path)
    found = rescue.rescued(path)
    assert [each["name"] for each in found.whole["bench"]] == ["12 V", "right"]
    assert found.lost == ["row 1 of own: not what was written"]
    assert [each["name"] for each in found.whole["motors"]] == ["M-07"]


def test_a_file_from_before_is_looked_over_and_gets_its_place_for_them(tmp_path: Path) -> None:
    path = tmp_path / "old.db"
    connection = sqlite3.connect(path)
    schema.bring_forward(connection, schema.STEPS[:4])
    connection.close()
    assert opening.problems_of(path) == []
    with Bin.open(path) as bin_:
        assert bin_.own().things == ()
        writing.put_own(bin_, OwnBoard(name="nano", port="/dev/ttyUSB0"))
    assert opening.problems_of(path) == []


def test_two_programs_tell_at_once_and_lose_nothing(equipped: Bin) -> None:
    with Bin.open(equipped.path) as other:
        writing.put_own(other, OwnSupply(name="brick", supply="24 V", usual=True))
        writing.put_own(equipped, OwnSupply(name="bench", supply="15 V", usual=True))
        assert [each.name for each in other.own() if each.usual] == ["right", "bench"]
        with pytest.raises(InputProblem, match="there is a supply 'brick' already"):
            writing.put_own(equipped, OwnSupply(name="brick", supply="9 V"))


BOARD = {"kind": "board", "name": "ttyACM0", "usual": True, "noted_at": "", "port": "/dev/ttyACM0"}


def test_a_board_loses_the_scale_that_it_now_keeps_itself(tmp_path: Path) -> None:
    """As version 3 kept it, in a bin's file and in an export."""
    before, path = {**BOARD, "scale": "0.964"}, tmp_path / "bin.db"
    with sqlite3.connect(path) as connection:
        schema.bring_forward(connection, schema.STEPS[:6])
        connection.execute("INSERT INTO own (kind, name, value, time) VALUES ('board', 'ttyACM0', ?, ?)",
                           [json.dumps(before), "2026-01-02T03:04:05+00:00"])  # fmt: skip
    with Bin.open(path) as bin_, Bin.open(tmp_path / "other.db") as other:
        whole = export_object(bin_)
        assert whole["bench"] == [BOARD] and opening.problems_of(path) == []
        import_text(other, json.dumps({**whole, "version": 3, "bench": [before]}))
        assert list(other.own()) == list(bin_.own())
        with pytest.raises(InputProblem, match="scale"):
            import_text(other, json.dumps({**whole, "bench": [before]}))
