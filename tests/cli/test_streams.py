"""Commands whose surroundings are not as usual: streams closed or full, no home folder, files without end."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from coilbench.cli import main
from coilbench.cli.output import print_json
from coilbench.records.config import load_config
from coilbench.records.store import Bin

VREF = "vref --chip DRV8825 --sense R100 --current 1A --json"


def shell(command: str) -> subprocess.CompletedProcess[str]:
    """A command started by a shell, as ``coilbench``."""
    line = command.replace("coilbench", f"{sys.executable} -m coilbench", 1)
    return subprocess.run(["sh", "-c", line], capture_output=True, text=True, check=False, timeout=60)


@pytest.mark.parametrize("command", [f"{VREF} >&-", f"{VREF} > /dev/full", "vref --help > /dev/full"])
def test_output_that_can_not_be_written_is_one_line(command: str) -> None:
    done = shell(f"coilbench {command}")
    assert done.returncode == 4 and done.stdout == ""
    assert done.stderr.startswith("coilbench vref: ") and done.stderr.count("\n") == 1


def test_closed_error_output_keeps_output_clean() -> None:
    good, bad = shell(f"coilbench {VREF} 2>&-"), shell("coilbench vref --chip none 2>&-")
    assert good.returncode == 0 and json.loads(good.stdout)["chip"] == "DRV8825"
    assert bad.returncode == 2 and bad.stdout == ""


def test_closed_input_is_at_its_end() -> None:
    done = shell("coilbench windings --ask --json --leads RD,BU,GN,BK <&-")
    assert done.returncode == 3 and "Traceback" not in done.stderr


def test_closed_streams_never_lead_into_the_bin(tmp_path: Path) -> None:
    path = tmp_path / "motors.db"
    with Bin.open(path) as bin_:
        bin_.add_motor("M-07", ["RD", "BU"])
    for closed in (">&-", "<&- >&- 2>&-", "2>&-"):
        shell(f"coilbench bin --bin {path} show M-07 {closed}")
        shell(f"coilbench bin --bin {path} show none {closed}")
    assert main(["bin", "--bin", str(path), "check"]) == 0


NO_HOME = """
import pwd, sys

def no_entry(*_):
    raise KeyError("this system knows no such user")

pwd.getpwuid = no_entry
from coilbench.cli import main
sys.exit(main(sys.argv[1:]))
"""


def test_without_a_home_folder_the_bin_has_to_be_named(tmp_path: Path) -> None:
    kept = {"PYTHONPATH": os.environ.get("PYTHONPATH", ""), "PATH": os.environ["PATH"]}

    def ran(*command: str) -> subprocess.CompletedProcess[str]:
        program = [sys.executable, "-c", NO_HOME, *command]
        return subprocess.run(program, env=kept, cwd=tmp_path, capture_output=True, text=True, check=False)

    done = ran("bin", "list")
    assert (done.returncode, done.stdout) == (4, "") and done.stderr.count("\n") == 1
    assert "no home folder is known" in done.stderr and "--bin" in done.stderr
    assert ran("bin", "list", "--bin", str(tmp_path / "motors.db")).returncode == 0
    assert ran(*VREF.split()).returncode == 0
    told = ran("diagnosis")
    assert told.returncode == 0 and "no home folder is known" in told.stdout
    assert list(tmp_path.iterdir()) == []


def test_files_without_end_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch) -> None:
    monkeypatch.setenv("COILBENCH_CONFIG", str(tmp_path / "config.toml"))
    (tmp_path / "drivers.csv").symlink_to("/dev/zero")
    os.mkfifo(tmp_path / "config.toml")
    for command, status in ((VREF.split(), 2), (["board", "--replay", "/dev/zero"], 2),
                            (["board", "--port", "replay:///dev/zero"], 4)):  # fmt: skip
        assert main(command) == status
        shown = capsys.readouterr()
        assert shown.out == "" and shown.err.count("\n") == 1
    assert "a pipe" in load_config().problems[0]


def test_a_log_never_replaces_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear Ana")
    for command in (["board"], ["jog", "--find", "start", "--yes"]):
        assert main([*command, "--port", "virtual://bench?clock=free", "--log", str(letter)]) == 2
        assert "is there already" in capsys.readouterr().err and letter.read_text() == "Dear Ana"


def test_a_log_never_takes_the_place_of_what_stands_beside_the_bin(tmp_path: Path, capsys) -> None:
    place = tmp_path / "motors.db-wal"  # sqlite's, as soon as the bin is opened
    for command in (["board"], ["jog", "--find", "start", "--yes"]):
        bin_ = ["--bin", str(tmp_path / "motors.db")]
        assert main([*command, *bin_, "--port", "virtual://bench?clock=free", "--log", str(place)]) == 2
        assert "is the bin itself" in capsys.readouterr().err and not place.exists()


def test_json_holds_what_it_is_given_and_drives_no_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    given = {"port": "\x1b[2J\x9b2J\u202e größer \U000e0001"}
    print_json(given)
    out = capsys.readouterr().out
    assert out[:-1].isprintable() and "größer" in out and json.loads(out) == given


@pytest.mark.parametrize("hostile", ["\x1b]52;c;eA==\x07", "a\u202eb", "x" * 10_000, "\x1b[2J" * 200])
@pytest.mark.parametrize(
    "command",
    [
        ["{}"],
        ["--{}"],
        ["board", "--port", "{}"],
        ["board", "--port", "virtual://{}"],
        ["board", "--nothing{}"],
        ["board", "--replay", "{}"],
        ["jog", "--port", "virtual://bench", "--find", "{}"],
        ["jog", "--port", "virtual://bench", "--moves", "{}"],
        ["bin", "show", "{}"],
        ["bin", "import", "{}"],
        ["bin", "{}"],
        ["vref", "--chip", "{}", "--sense", "R100", "--current", "1 A"],
        ["vref", "--chip", "DRV8825", "--sense", "{}", "--current", "1 A"],
        ["rate", "--label", "{}"],
        ["connect", "--leads", "{}"],
        ["windings", "{}"],
        ["windings", "--ask", "--leads", "{},a,b"],
    ],
    ids=" ".join,
)
def test_what_is_typed_never_drives_the_terminal(
    command: list[str], hostile: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch
) -> None:
    monkeypatch.setenv("COILBENCH_BIN", str(tmp_path / "motors.db"))
    assert main([word.format(hostile) for word in command]) in (2, 3, 4)
    lines = capsys.readouterr().err.splitlines()
    assert lines and all(line.isprintable() and len(line) <= 300 for line in lines)
