"""The board command."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from coilbench.cli import main

PORT = "virtual://bench?clock=free"


def test_ports_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["board", "--json"]) == 0
    assert isinstance(json.loads(capsys.readouterr().out)["ports"], list)


def test_ports_in_words(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("serial.tools.list_ports.comports", list)
    assert main(["board"]) == 0
    assert "no serial port" in capsys.readouterr().out


def test_a_board_says_who_it_is(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["board", "--port", PORT, "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["chip"] == "virtual" and said["state"] == "idle" and said["outputs_on"] is False
    assert set(said["pins"]) == {"driver", "coils", "sense", "clips"} and said["pins"]["clips"]["clip 1"] == 8
    assert main(["board", "--port", PORT]) == 0
    assert "sketch 1.3.0" in capsys.readouterr().out


def test_a_visit_kept_and_played_again(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    log = tmp_path / "visit.jsonl"
    assert main(["board", "--port", PORT, "--json", "--log", str(log)]) == 0
    first = json.loads(capsys.readouterr().out)
    assert main(["board", "--port", f"replay://{log}", "--json"]) == 0
    again = json.loads(capsys.readouterr().out)
    assert {**again, "port": PORT} == first


def test_faults_are_one_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    for port in ("/dev/no-such-port", "virtual://warp", f"replay://{tmp_path / 'none'}", "what://ever"):
        assert main(["board", "--port", port]) == 4
        out, err = capsys.readouterr()
        assert out == "" and err.count("\n") == 1
    assert main(["board", "--port", PORT, "--log", str(tmp_path / "no" / "log")]) == 4
    assert "log" in capsys.readouterr().err
