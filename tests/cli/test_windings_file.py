"""``coilbench windings FILE``: readings from a file, bad input, exit statuses, keeping."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from coilbench.cli import main
from coilbench.records.saved.windings import Windings
from coilbench.records.store import Bin

SIX = """\
from,to,ohms
# the grey can from the greenhouse crate
red,blue,48.3
red,white,24.3
white,blue,24.2
green,black,48.4
green,yellow,24.2
red,green,OL
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "readings.csv"
    path.write_text(SIX)
    return path


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    status = main(["windings", *map(str, arguments)])
    out, err = capsys.readouterr()
    return status, out, err


def refused(capsys: pytest.CaptureFixture[str], *arguments: object) -> str:
    status, out, err = run(capsys, *arguments)
    assert status == 2
    assert out == ""
    assert err.endswith("\n") and err.count("\n") == 1 and "Traceback" not in err
    return err


def test_json_result_of_a_file(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = run(capsys, file, "--json")
    assert (status, err) == (0, "")
    result = json.loads(out)
    assert result["arrangement"] == "unipolar-6"
    assert result["confidence"] >= 0.95
    coils = {frozenset(coil["ends"]): coil for coil in result["coils"]}
    assert coils[frozenset(("red", "blue"))]["tap"] == "white"
    assert coils[frozenset(("green", "black"))]["tap"] == "yellow"
    assert coils[frozenset(("red", "blue"))]["ohms"] == pytest.approx(48.2, abs=0.5)
    assert result["cannot_tell"] == ["which way the shaft turns"]
    assert result["faults"] == [] and result["spare"] == [] and result["repeat"] == []
    assert result["order"] is None and result["common"] is None and result["readings"] == 6


def test_plain_result_of_a_file(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, file, "--ascii")
    assert status == 0 and out.isascii()
    assert " red    o---+" in out and " white  o---+" in out
    rows = [line.split() for line in out.splitlines()]
    assert ["white", "white", "A", "tap"] in [row[:4] for row in rows]


def test_too_few_readings_end_with_3(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file.write_text("red,blue,48.3\nwhite,black,OL\n")
    status, out, _ = run(capsys, file, "--json")
    assert status == 3
    assert json.loads(out)["next"] is not None


@pytest.mark.parametrize(
    "text",
    [
        "red,blue,12.3\nwhite,black,12.4\nred,white,OL\n",
        "\ufeffFROM,TO,OHMS\r\nred,blue,12.3\r\nwhite,black,12.4\r\nred,white,OL\r\n",
        "ohms,to,from\n12.3,blue,red\n12.4,black,white\nopen,white,red\n",
        'red;blue;12,3\nwhite;black;"12,4"\nred;white;OL\n',
        'red,blue,"12,3"\n\n# spare line\nWhite,black,12R4\nred,white,o.l\nred,frame,OL\nprobes,probes,0.2\n',
        "from,to,ohms,range\nred,blue,12.3,auto\nwhite,black,12.4,auto\nred,white,OL,auto\n",
    ],
)
def test_files_as_people_write_them(text: str, file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file.write_text(text, encoding="utf-8", newline="")
    status, out, _ = run(capsys, file, "--json")
    assert status in (0, 3)
    assert json.loads(out)["arrangement"] == "bipolar-4"
    assert {lead.lower() for coil in json.loads(out)["coils"] for lead in coil["ends"]} == {
        "red", "blue", "white", "black",
    }  # fmt: skip


def test_standard_input(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(SIX.encode())))
    status, out, _ = run(capsys, "-", "--json")
    assert status == 0 and json.loads(out)["arrangement"] == "unipolar-6"


BAD = {
    "empty": (b"", "no readings"),
    "comments alone": (b"# nothing\n\n", "no readings"),
    "header alone": (b"from,to,ohms\n", "no readings"),
    "missing column in the header": (b"from,ohms\nred,12\n", "column to missing"),
    "missing column": (b"red,blue\n", "line 1"),
    "missing column later": (b"red,blue,12\nred,white\n", "line 2"),
    "negative": (b"red,blue,-12\n", "-12"),
    "nan": (b"red,blue,nan\n", "nan"),
    "no number": (b"red,blue,lots\n", "lots"),
    "no value": (b"red,blue,\n", "line 1"),
    "no lead": (b",blue,12\n", "line 1"),
    "a lead against itself": (b"red,blue,12\nred,red,12\n", "line 2"),
    "one lead alone": (b"red,frame,OL\n", "only 1 lead"),
    "thirteen leads": (b"\n".join(b"a%d,b,12" % k for k in range(12)) + b"\na13,b,12\n", "lead 13"),
    "ten megabytes": (b"red,blue,12.3\n" * 750_000, "larger than"),
    "thousands of readings": (b"red,blue,12.3\n" * 5_000, "more than"),
    "one endless line": (b"x" * 10_000_000, "larger than"),
    "Latin-1": ("rot,grün,12.3\n".encode("latin-1"), "0xfc"),
    "bytes": (bytes(range(256)), "readings.csv, line"),
    "null": (b"red,bl\0ue,12\n", "line 1"),
    "decimal comma": (b"red,blue,12,3\n", "decimal comma"),
    "open quote": (b'red,"blue,12\n', "line 1"),
    "probes and a lead": (b"red,probes,0.2\n", "probes"),
    "endless name": (b"red," + b"x" * 5000 + b",12\n", "no lead's name"),
    "terminal codes": (b"red,\x1b[31m,12\n", "no lead's name"),
}


@pytest.mark.parametrize("name", BAD)
@pytest.mark.parametrize("options", [(), ("--json",)])
def test_bad_files(name: str, options: tuple[str, ...], file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    content, expected = BAD[name]
    file.write_bytes(content)
    error = refused(capsys, file, *options)
    assert "readings.csv" in error and expected in error and "expected" in error
    assert len(error) < 400 and error[:-1].isprintable()


def test_bad_places(tmp_path: Path, file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "directory" in refused(capsys, tmp_path)
    assert "no such file" in refused(capsys, tmp_path / "missing.csv")
    assert "no such file" in refused(capsys, tmp_path / "missing\n\x1b[31m.csv")
    refused(capsys, "bad\0name")
    refused(capsys, "x" * 5000)


def test_bad_options(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "'yellow'" in refused(capsys, file, "--leads", "red blue white green black orange")
    refused(capsys, file, "--frobnicate")
    refused(capsys, file, "--meter", "quite good")
    refused(capsys, file, "--range", "-3")
    refused(capsys, file, "--ask", "--leads", "4")
    refused(capsys)
    refused(capsys, "--ask")
    refused(capsys, "--ask", "--leads", "13")
    refused(capsys, "--ask", "--leads", "red")
    refused(capsys, "--ask", "--leads", "red,frame")
    refused(capsys, "--common", "red")
    refused(capsys, "--order", "--common", "red", "--leads", "red,blue")


def test_odd_names_are_inert(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file.write_text("[/x],=1+1,12.3\n<b>,@cmd,12.4\n[/x],<b>,OL\n[/x],frame,OL\n<b>,frame,OL\n")
    status, out, err = run(capsys, file, "--json")
    assert err == "" and status == 0
    assert {lead for coil in json.loads(out)["coils"] for lead in coil["ends"]} == {"[/x]", "=1+1", "<b>", "@cmd"}
    status, out, err = run(capsys, file)
    assert err == "" and "[/x]" in out and "=1+1" in out


def test_a_leak_to_the_frame_says_not_to_power_it(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file.write_text(SIX + "red,frame,120\n")
    _, out, _ = run(capsys, file)
    assert "Do not power this motor" in out.splitlines()[0]
    assert "set it aside" in out


def test_kept_in_the_bin(file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    where = tmp_path / "bin.sqlite3"
    assert run(capsys, file, "--json", "--save", "M-07", "--bin", where)[0] == 0
    with Bin.open(where) as bin_:
        assert [record.name for record in bin_.motors()] == ["M-07"]
        assert len(bin_.readings("M-07")) == 6
        fact = bin_.known("M-07").get(Windings)
        assert fact is not None and fact.arrangement == "unipolar-6"
    said = refused(capsys, file, "--save", "M-07", "--bin", where)
    assert "has 6 readings" in said and "--go-on" in said and "'M-07 (2)'" in said
    with Bin.open(where) as bin_:
        assert len(bin_.readings("M-07")) == 6


def test_going_on_with_a_motor_that_has_readings(
    file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    where = tmp_path / "bin.sqlite3"
    lines = file.read_text().splitlines()
    file.write_text("\n".join(lines[:3]) + "\n")
    assert (
        run(capsys, file, "--json", "--save", "M-07", "--leads", "red,blue,white,green,black,yellow", "--bin", where)[
            0
        ]
        == 3
    )
    file.write_text("\n".join([lines[0], *lines[3:]]) + "\n")
    status, out, _ = run(capsys, file, "--json", "--save", "M-07", "--go-on", "--bin", where)
    assert status == 0 and json.loads(out)["arrangement"] == "unipolar-6" and json.loads(out)["readings"] == 6
    with Bin.open(where) as bin_:
        assert len(bin_.readings("M-07")) == 6
    assert "--save NAME" in refused(capsys, file, "--go-on", "--bin", where)
    assert run(capsys, file, "--json", "--save", "another", "--go-on", "--bin", where)[0] in (
        0,
        3,
    )  # a new one begins
