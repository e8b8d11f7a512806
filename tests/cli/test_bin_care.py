"""``coilbench bin``: notes, archive, table, likeness, merge, split, backups, from the outside."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from coilbench.cli import main
from coilbench.records import backups, writing
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import Reading
from tests.support import cards

Ran = Callable[..., str]


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "motors.db"
    monkeypatch.setenv("COILBENCH_BIN", str(path))
    with Bin.open(path) as bin_:
        cards.whole(bin_)
        cards.whole(bin_, "M-12")
        bin_.add_motor("M-13", ["1", "2", "3", "4"])
        writing.add_reading(bin_, "M-13", Reading("1", "3", math.inf))
    return path


@pytest.fixture
def done(path: Path, capsys: pytest.CaptureFixture[str]) -> Ran:
    """Run an action that must succeed; what it says to the person."""

    def run(*words: str) -> str:
        assert main(["bin", *words]) == 0
        return capsys.readouterr().err

    return run


@pytest.mark.usefixtures("path")
def test_a_note_is_on_the_card(done: Ran, capsys: pytest.CaptureFixture[str]) -> None:
    assert "no file no.jpg" in done("note", "M-13", "--from", "wide printer", "--photo", "no.jpg")
    assert main(["card", "M-13"]) == 0
    out = capsys.readouterr().out
    assert "from        wide printer" in out and "photo       no.jpg" in out


def test_archived_motors_are_passed_over(
    path: Path, done: Ran, answer: Callable[..., dict[str, Any]], refusal: Callable[..., str]
) -> None:
    assert "M-13 put away" in done("archive", "M-13")
    assert [each["name"] for each in answer("bin", "list")["motors"]] == ["M-02", "M-12"]
    assert len(answer("bin", "list", "--all")["motors"]) == 3
    assert "1 motor archived" in done("list")
    done("archive", "M-13", "--back")
    assert [each["name"] for each in answer("bin", "list", "--with", "m-1")["motors"]] == ["M-12", "M-13"]
    assert "M-99" in refusal("bin", "archive", "M-02", "M-99")
    assert len(answer("bin", "list")["motors"]) == 3  # all or none


def test_a_table_is_written_and_no_other_file_written_over(
    path: Path, done: Ran, tmp_path: Path, refusal: Callable[..., str], capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "bin.csv"
    for count in (3, 3):
        assert f"{count} motors written" in done("export", str(table))
    with table.open(encoding="utf-8-sig", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["motor"] for row in rows] == ["M-02", "M-12", "M-13"] and rows[0]["chip"] == "A4988"
    other = tmp_path / "other.csv"
    other.write_text("motor,mine\n")
    assert "there already" in refusal("bin", "export", str(other)) and other.read_text() == "motor,mine\n"
    assert "the bin itself" in refusal("bin", "export", "--csv", str(path))
    assert main(["bin", "export", "--csv", "--motor", "M-13"]) == 0
    assert len(capsys.readouterr().out.splitlines()) == 2


@pytest.mark.usefixtures("path")
def test_alike(answer: Callable[..., dict[str, Any]], capsys: pytest.CaptureFixture[str]) -> None:
    (group,) = answer("bin", "alike")["groups"]
    assert group["motors"] == ["M-02", "M-12"] and group["face"] == "nema 23"
    assert main(["bin", "alike"]) == 0 and "M-02, M-12" in capsys.readouterr().out


@pytest.mark.usefixtures("path")
def test_merging_and_back(done: Ran, answer: Callable[..., dict[str, Any]], refusal: Callable[..., str]) -> None:
    assert "kept as backup" in done("merge", "M-02", "M-12")
    assert [each["name"] for each in answer("bin", "list")["motors"]] == ["M-02", "M-13"]
    assert "other leads" in refusal("bin", "merge", "M-02", "M-13")
    assert "taken back: M-12 merged into M-02" in done("undo")
    assert len(answer("bin", "list")["motors"]) == 3
    assert answer("bin", "redo") == {"done_again": "M-12 merged into M-02"}
    assert answer("bin", "redo") == {"done_again": None} and len(answer("bin", "list")["motors"]) == 2
    assert "3 motors" in done("restore")
    assert len(answer("bin", "list")["motors"]) == 3


@pytest.mark.usefixtures("path")
def test_splitting(done: Ran, answer: Callable[..., dict[str, Any]], refusal: Callable[..., str]) -> None:
    assert "M-14 has 3 4 now" in done("split", "M-13", "M-14", "3", "4")
    assert [each["leads"] for each in answer("bin", "list")["motors"][2:]] == [["1", "2"], ["3", "4"]]
    assert "two leads or more" in refusal("bin", "split", "M-02", "M-15", "RD")


def test_backups_are_listed_and_a_named_one_comes_back(
    path: Path, done: Ran, answer: Callable[..., dict[str, Any]], refusal: Callable[..., str]
) -> None:
    assert "no backup" in refusal("bin", "restore")
    done("note", "M-13", "--text", "one")
    (first,) = answer("bin", "backups")["backups"]
    with Bin.open(path) as bin_:
        for motor in bin_.motors():
            bin_.delete_motor(motor.name)
    assert answer("bin", "restore", first["name"])["motors"] == 3
    assert "expected one of" in refusal("bin", "restore", "none.db")
    path.unlink()
    assert answer("bin", "restore", first["name"]) == {
        "bin": str(path), "restored": first["name"], "motors": 3, "kept": None,
    }  # fmt: skip
    assert len(backups.backups(path)) <= backups.MOST


def test_nothing_begins_a_bin(tmp_path: Path, refusal: Callable[..., str]) -> None:
    path = tmp_path / "none.db"
    for words in (
        ["note", "a", "--text", "x"],
        ["archive", "a"],
        ["alike"],
        ["merge", "a", "b"],
        ["undo"],
        ["restore"],
    ):
        assert "no b" in refusal("bin", *words, "--bin", str(path))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("path")
def test_a_note_of_nothing_is_refused(refusal: Callable[..., str]) -> None:
    assert "--from, --photo or --text" in refusal("bin", "note", "M-13")
