"""``coilbench card`` from the outside."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from coilbench.cli import main
from coilbench.records.store import Bin
from tests.support import cards, machines


@pytest.fixture(autouse=True)
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A bin that the environment names, with three motors."""
    path = tmp_path / "motors.db"
    monkeypatch.setenv("COILBENCH_BIN", str(path))
    monkeypatch.setenv("COILBENCH_CONFIG", str(tmp_path / "config.toml"))
    with Bin.open(path) as bin_:
        for make in (cards.whole, cards.leaky, cards.nasty):
            make(bin_)
    return path


def test_on_plain_lines_with_the_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["card", "M-02"]) == 0
    out = capsys.readouterr().out
    for part in ("A+ ■── RD", "VREF 0.186 V", "start-stop    640 steps/s", "caution: never plug"):
        assert part in out
    assert main(["card", "M-02", "--ascii"]) == 0
    assert capsys.readouterr().out.isascii()


def test_as_one_object(answer: Callable[..., dict[str, Any]]) -> None:
    first, second = answer("card", "M-02", "M-06")["cards"]
    assert first["label"]["figures"][1] == "VREF 0.186 V on A4988 R100" and first["not_known"] == []
    assert second["label"]["stop"].startswith("do not power") and second["warnings"]


@pytest.mark.parametrize(
    ("options", "name", "begins"),
    [
        ([], "card.html", "<!DOCTYPE html>"),
        ([], "card.md", "<!-- made by coilbench -->"),
        ([], "card.txt", "M-02: unipolar-6"),
        (["--html"], "card.txt", "<!DOCTYPE html>"),
        (["--label"], "label.txt", "M-02, unipolar-6"),
        (["--label"], "label.html", "<!DOCTYPE html>"),
        ([], "card.json", "{"),
    ],
)
def test_a_file_is_written_by_its_ending_and_replaced_by_a_later_card(
    options: list[str], name: str, begins: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / name
    for _ in range(2):
        assert main(["card", "M-02", *options, "-o", str(file)]) == 0
        shown = capsys.readouterr()
        assert shown.out == "" and "M-02" in shown.err and str(file) in shown.err
        assert file.read_text(encoding="utf-8").startswith(begins)


def test_no_other_file_is_written_over(path: Path, tmp_path: Path, refusal: Callable[..., str]) -> None:
    letter = tmp_path / "letter.html"
    letter.write_text("Dear Ana")
    assert "there already" in refusal("card", "M-02", "-o", str(letter)) and letter.read_text() == "Dear Ana"
    assert "the bin itself" in refusal("card", "M-02", "-o", str(path))
    assert "can be written" in refusal("card", "M-02", "-o", str(tmp_path / "none" / "card.html"))


def test_what_can_not_be_done_is_refused_in_a_line(tmp_path: Path, refusal: Callable[..., str]) -> None:
    assert "'M-02'" in refusal("card", "M02")
    assert "label in Markdown" in refusal("card", "M-02", "--label", "--markdown")
    assert "no bin" in refusal("card", "M-02", "--bin", str(tmp_path / "none.db"))
    assert "NAME" in refusal("card")
    assert "not both" in refusal("card", "M-02", "--machine", "none.toml")
    assert "none.toml" in refusal("card", "--machine", "none.toml")
    assert not (tmp_path / "none.db").exists()


def test_a_sheet_of_labels(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["card", "M-02", "M-06", "M-02", "--label", "--html"]) == 0
    out = capsys.readouterr().out
    assert out.count('<article class="label">') == 2 and "do not power this motor" in out


@pytest.mark.parametrize(
    ("options", "name", "begins"),
    [
        ([], "sheet.html", "<!DOCTYPE html>"),
        ([], "sheet.md", "<!-- made by coilbench -->"),
        ([], "sheet.json", "{"),
        ([], "sheet.txt", "shed\n"),
        (["--label"], "labels.txt", "slide: M-02, unipolar-6"),
        (["--label"], "labels.html", "<!DOCTYPE html>"),
    ],
)
def test_a_machines_sheet_and_labels(
    options: list[str], name: str, begins: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    machine, file = tmp_path / "shed.toml", tmp_path / name
    machine.write_text('name = "shed"\n' + machines.HEAD + machines.axis("slide"))
    assert main(["card", "--machine", str(machine), *options, "-o", str(file)]) == 0
    assert "every axis has its motor" in capsys.readouterr().err
    assert file.read_text(encoding="utf-8").startswith(begins)
    assert main(["card", "--machine", str(machine), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["axes"][0]["motors"][0]["motor"] == "M-02"


def test_json_of_a_name_from_outside_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["card", "<script>alert(1)</script> |*", "--json"]) == 0
    (line,) = capsys.readouterr().out.splitlines()
    assert json.loads(line)["cards"][0]["motor"] == "<script>alert(1)</script> |*"
