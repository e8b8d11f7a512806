"""``coilbench bin`` from the outside."""

import json
import math
from pathlib import Path

import pytest

from coilbench.cli import main
from coilbench.records import writing
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.order import HandTest
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import Reading


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A bin with two motors, found by the environment."""
    path = tmp_path / "motors.db"
    monkeypatch.setenv("COILBENCH_BIN", str(path))
    with Bin.open(path) as bin_:
        bin_.add_motor("M-07", ["RD", "BU", "WH"])
        writing.add_reading(bin_, "M-07", Reading("RD", "BU", 48.2), meter="1% + 0.2 ohm")
        writing.add_reading(bin_, "M-07", Reading("RD", "WH", math.inf))
        writing.derive(bin_, "M-07", Intake(frame="NEMA 17", label="\x1b[2Jold\nprint"))
        writing.add_event(bin_, "M-07", HandTest(kind="twitch", reference="RD", touched="BU", answer="cw"))
        bin_.add_motor("[/x] =1+1", ["[/x]", "=1+1"])
    return path


def ran(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    status = main(["bin", *map(str, arguments)])
    shown = capsys.readouterr()
    return status, shown.out, shown.err


def test_list(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = ran(capsys, "list")
    assert status == 0 and "M-07" in out and "RD BU WH" in out and "[/x] =1+1" in out
    whole = json.loads(ran(capsys, "list", "--json")[1])
    assert whole["motors"][0] == {"name": "M-07", "leads": ["RD", "BU", "WH"], "readings": 2, "stages": ["intake"]}


def test_show_and_its_text_is_inert(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = ran(capsys, "show", "M-07")
    assert status == 0 and "48.2" in out and "OL" in out and "not known" in out
    assert "\x1b" not in out and "label: [2Jold print" in out
    assert "none or not known: diameter, length, step angle" in out and "reference RD, touched BU" in out
    assert json.loads(ran(capsys, "show", "M-07", "--json")[1])["readings"][1]["ohms"] == "OL"


def test_show_of_a_name_that_is_not_there(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = ran(capsys, "show", "M07")
    assert (status, out) == (2, "") and "'M-07'" in err and err.count("\n") == 1


def test_export_and_import_round_trip(path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "crate.json"
    assert ran(capsys, "export", file)[0] == 0
    assert ran(capsys, "import", file, "--bin", tmp_path / "second.db")[0] == 0
    first, second = ran(capsys, "export")[1], ran(capsys, "export", "--bin", tmp_path / "second.db")[1]
    assert first == second and json.loads(first) == json.loads(file.read_text())


def test_export_does_not_write_over_a_file(path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "crate.json"
    file.write_text("mine")
    status, _, err = ran(capsys, "export", file)
    assert status == 2 and "is there already" in err and file.read_text() == "mine"
    status, _, err = ran(capsys, "export", file, "--force")
    assert status == 2 and "no earlier export" in err and file.read_text() == "mine"
    for whose in (path, path.with_name(path.name + "-wal"), path.parent / ".." / path.parent.name / path.name):
        status, _, err = ran(capsys, "export", whose, "--force")
        assert status == 2 and "is the bin itself" in err
    file.unlink()
    for force in ([], ["--force"]):
        assert ran(capsys, "export", file, *force)[0] == 0
    assert sorted(each.name for each in tmp_path.iterdir() if each.suffix != ".db") == ["crate.json"]
    assert ran(capsys, "export", tmp_path)[0] == ran(capsys, "export", tmp_path / "none" / "x")[0] == 2


def test_import_says_which_names_were_taken(path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "crate.json"
    ran(capsys, "export", file, "--motor", "M-07")
    status, out, err = ran(capsys, "import", file)
    assert (status, out) == (0, "") and "M-07 is there already, the same in everything: left out" in err
    assert "0 motors added" in err
    with Bin.open(path) as bin_:
        writing.add_reading(bin_, "M-07", Reading("BU", "WH", 24.1))
    status, out, err = ran(capsys, "import", file)
    assert (status, out) == (0, "") and "M-07 was taken by another motor: added as M-07 (2)" in err
    again = json.loads(ran(capsys, "import", file, "--json")[1])
    assert again == {"added": [], "there_already": [{"name": "M-07", "as": "M-07 (2)"}], "bench": []}


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"from,to,ohms\nRD,BU,48.2\n", "line 1"),
        (b'{"format":\n"caf\xe9"}', "line 2: byte 0xe9 is not UTF-8"),
        (b"[" * 200_000, "nested too deeply"),
        (b'{"format": "coilbench-bin", "version": 1, "motors": [{}]}', "motors[0]: no 'name'"),
    ],
    ids=["empty", "readings", "latin-1", "nested", "bare"],
)
def test_import_of_what_is_no_export(
    path: Path, tmp_path: Path, data: bytes, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "crate.json"
    file.write_bytes(data)
    status, out, err = ran(capsys, "import", file)
    assert (status, out) == (2, "") and err.count("\n") == 1 and said in err and str(file) in err


def test_import_of_a_file_too_large(path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "crate.json"
    file.write_bytes(b" " * 32_000_001)
    status, _, err = ran(capsys, "import", file)
    assert status == 2 and "larger than 32 MB" in err


def test_import_of_a_folder_or_nothing(path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for file in (tmp_path, tmp_path / "none.json"):
        status, _, err = ran(capsys, "import", file)
        assert status == 2 and err.count("\n") == 1 and str(file) in err


def test_check(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = ran(capsys, "check")
    assert status == 0 and "sound, 2 motors" in out
    assert json.loads(ran(capsys, "check", "--json")[1])["sound"] is True


def test_a_damaged_bin_is_told_left_and_set_aside(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path.write_bytes(b"spilt coffee")
    for action in (["list"], ["show", "M-07"], ["export"], ["check"]):
        status, _, err = ran(capsys, *action)
        assert status == 4 and err.count("\n") == 1 and "--set-aside" in err
        assert path.read_bytes() == b"spilt coffee"
    status, out, _ = ran(capsys, "check", "--set-aside", "--json")
    told = json.loads(out)
    assert status == 4 and told["sound"] is False and Path(told["set_aside"]).read_bytes() == b"spilt coffee"
    assert ran(capsys, "list")[0] == 0


def test_looking_does_not_begin_a_bin(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "none.db"
    assert ran(capsys, "list", "--bin", path)[0] == 0
    assert json.loads(ran(capsys, "list", "--json", "--bin", path)[1])["motors"] == []
    for action in (["show", "M-07"], ["export"], ["check"]):
        status, out, err = ran(capsys, *action, "--bin", path)
        assert (status, out) == (2, "") and err.count("\n") == 1 and "no bin" in err
    assert not path.exists()


def test_a_file_that_is_no_bin_is_never_moved(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear Ana")
    status, _, err = ran(capsys, "check", "--set-aside", "--bin", letter)
    assert status == 2 and "no motor bin" in err and letter.read_text() == "Dear Ana"
    assert [each.name for each in tmp_path.iterdir()] == ["letter.txt"]


def test_of_a_damaged_bin_all_that_is_whole_is_exported(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = json.loads(ran(capsys, "export")[1])
    with Bin.open(path) as bin_, bin_.reading() as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    data = path.read_bytes()
    at = data.index(b"RDBU")  # a reading's ends
    path.write_bytes(data[:at] + b"XX" + data[at + 2 :])
    file = tmp_path / "saved.json"
    status, out, err = ran(capsys, "export", file)
    assert (status, out) == (4, "") and "left out: row 1 of readings: not what was written" in err
    saved = json.loads(file.read_text())
    before["motors"][0]["readings"] = before["motors"][0]["readings"][1:]
    assert saved == before
    assert ran(capsys, "check", "--set-aside")[0] == 4
    assert ran(capsys, "import", file)[0] == 0
