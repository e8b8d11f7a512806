"""``coilbench windings --order``: phase order and half pairing on plain lines and JSON lines."""

from __future__ import annotations

import contextlib
import io
import json
import sys
from pathlib import Path

import pytest

from coilbench.cli import main
from coilbench.records.saved.order import HandTest, Order
from coilbench.records.store import Bin

EIGHT = "a1,a2,3.1\nb1,b2,3.1\nc1,c2,3.2\nd1,d2,3.1\na1,b1,OL\na1,c1,OL\na1,d1,OL\nb1,c1,OL\nb1,d1,OL\nc1,d1,OL\n"
FIVE = "red,blue,24.2\nred,pink,24.1\nred,yellow,24.2\nred,orange,24.2\nblue,pink,48.2\n"
ORDER = ("blue", "pink", "yellow", "orange")  # turns clockwise
PHASE_OF = {"a": 0, "c": 0, "b": 1, "d": 1}  # a and c share a phase, c reversed; so do b and d, alike


class Bench(io.StringIO):
    """Answers each test that is asked last on standard output."""

    encoding = "utf-8"

    def readline(self, limit: int | None = -1) -> str:  # type: ignore[override]
        test = json.loads(self.getvalue().splitlines()[-1])
        assert test["cautions"] and test["steps"] and "unsure" in test["answers"]
        reference, touched = test["reference"], test["touch"]
        if test["test"] == "twitch":
            ring = ORDER if reference in ORDER else ("a1", "b1", "c1", "d2")
            return ("none", "cw", "none", "ccw")[(ring.index(touched) - ring.index(reference)) % 4] + "\n"
        if PHASE_OF[reference[0]] != PHASE_OF[touched[0]]:
            return "none\n"
        alike = (reference[1] == touched[1]) == (PHASE_OF[reference[0]] == 1)
        return "plus\n" if alike else "minus\n"


def run(monkeypatch: pytest.MonkeyPatch, *arguments: object) -> tuple[int, dict[str, object]]:
    bench = Bench()
    monkeypatch.setattr(sys, "stdin", bench)
    monkeypatch.setattr(sys, "stdout", bench)
    status = main(["windings", "--order", "--json", *map(str, arguments)])
    return status, json.loads(bench.getvalue().splitlines()[-1])["result"]


def rotations(sequence: tuple[str, ...]) -> list[list[str]]:
    return [[*sequence[k:], *sequence[:k]] for k in range(len(sequence))]


def test_five_leads_from_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "five.csv"
    file.write_text(FIVE)
    status, result = run(monkeypatch, file)
    assert status == 0
    assert result["common"] == "red"
    assert result["order"] in rotations(ORDER)


def test_five_leads_with_the_common_given(monkeypatch: pytest.MonkeyPatch) -> None:
    status, result = run(monkeypatch, "--leads", "red,blue,pink,yellow,orange", "--common", "red")
    assert status == 0
    assert result["sequence"] in rotations(ORDER)
    assert result["reverse"] in rotations(ORDER[::-1])


def test_eight_leads_from_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "eight.csv"
    file.write_text(EIGHT + "probes,probes,0.1\n")
    status, result = run(monkeypatch, file)
    assert status == 0 and result["arrangement"] == "split-8"
    assert result["order"] in rotations(("a1", "b1", "c1", "d2"))


def test_the_end_of_the_input_leaves_the_order_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "five.csv"
    file.write_text(FIVE)
    monkeypatch.setattr(sys, "stdin", io.StringIO("cw\nhmm\n"))
    assert main(["windings", "--order", "--json", str(file)]) == 3
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert lines[1] == lines[2], "an answer it can't read is asked again"
    assert lines[-1]["result"]["order"] is None


def test_plain_lines_carry_the_cautions(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "five.csv"
    file.write_text(FIVE)
    monkeypatch.setattr(sys, "stdin", io.StringIO("cw\nundo\nunsure\nwhat\n"))
    assert main(["windings", "--order", str(file)]) == 3
    out = capsys.readouterr().out
    assert "caution: motor off every driver; seconds only" in out
    assert "taken back" in out and "'what'" in out
    assert "turns the shaft" not in out, "no wiring before it is known"


def of_vent(path: Path) -> tuple[list[HandTest], Order | None]:
    with Bin.open(path) as bin_:
        return [entry.value for entry in bin_.entries("vent", HandTest)], bin_.known("vent").get(Order)


def test_every_test_is_saved_when_it_is_answered_and_another_run_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file, path = tmp_path / "five.csv", tmp_path / "own.bin"
    file.write_text(FIVE + "pink,yellow,48.2\nred,frame,OL\n")
    save = ("--bin", path, "--save", "vent")

    class Interrupted(io.StringIO):
        def readline(self, limit: int | None = -1) -> str:  # type: ignore[override]
            line = super().readline()
            if not line:
                raise KeyboardInterrupt
            return line

    monkeypatch.setattr(sys, "stdin", Interrupted("none\n"))
    with contextlib.suppress(KeyboardInterrupt):
        main(["windings", "--order", "--json", str(file), *map(str, save)])
    capsys.readouterr()
    tests, order = of_vent(path)
    assert len(tests) == 1 and order is None
    monkeypatch.setattr(sys, "stdin", io.StringIO("undo\nundo\nredo\n"))
    assert main(["windings", "--ask", "--go-on", "--order", *map(str, save)]) == 3
    out = capsys.readouterr().out
    assert "taken back" in out and "nothing to take back" in out and "done again" in out
    assert of_vent(path)[0] == tests
    status, result = run(monkeypatch, "--ask", "--go-on", *save)
    kept, order = of_vent(path)
    assert status == 0 and order is not None and list(order.sequence) == result["order"]
    assert kept[:1] == tests and len(kept) == order.tests
    assert run(monkeypatch, "--ask", "--go-on", *save)[1] == result  # nothing is left to test


def test_plain_lines_take_the_screens_digits_and_other_ways(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "five.csv"
    file.write_text(FIVE)
    monkeypatch.setattr(sys, "stdin", io.StringIO("2\nway\n9\n2\nundo\nquit\n"))
    assert main(["windings", "--order", str(file)]) == 3
    out = capsys.readouterr().out
    assert "answer 1  clockwise" in out and "way (another way)" in out
    assert "now by small AC volts" in out and "caution: never mains" in out
    assert "'9' is no answer" in out and "answer 2  most on" in out


@pytest.mark.parametrize("way", ["volts", "free"])
def test_a_way_is_chosen_beforehand_and_leaves_the_direction_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, way: str
) -> None:
    file = tmp_path / "five.csv"
    file.write_text(FIVE)

    class Coils(Bench):
        def readline(self, limit: int | None = -1) -> str:  # type: ignore[override]
            test = json.loads(self.getvalue().splitlines()[-1])
            assert test["way"] == way and test["cautions"]
            partner = ORDER[(ORDER.index(test["reference"]) + 2) % 4]
            if way == "volts":
                return f"on {partner}\n"
            return "free\n" if test["touch"] == partner else "holds\n"

    bench = Coils()
    monkeypatch.setattr(sys, "stdin", bench)
    monkeypatch.setattr(sys, "stdout", bench)
    assert main(["windings", "--order", "--json", "--way", way, str(file)]) == 0
    result = json.loads(bench.getvalue().splitlines()[-1])["result"]
    assert result["order"] in [*rotations(ORDER), *rotations(ORDER[::-1])]


def test_a_sorted_motor_with_nothing_to_find_says_why(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "four.csv"
    file.write_text("RD,BU,2.4\nGN,BK,2.4\nRD,GN,OL\nRD,frame,OL\nGN,frame,OL\n")
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    assert main(["windings", "--order", str(file)]) == 0
    assert "Phase order: nothing to do here. Two plain coils" in capsys.readouterr().out
    assert main(["windings", str(file), "--way", "volts"]) == 2
