"""The trimmer followed on plain lines."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from typing import Any

import pytest

from coilbench.cli import main

VREF = ["vref", "--chip", "A4988", "--sense", "R100", "--current", "0.8 A", "--live"]
BOARD = "virtual://bench?clock=free&bandgap=1.06"


def test_lines_tell_which_way_to_turn_until_it_holds(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert main([*VREF, "--port", BOARD]) == 0
    out, err = capsys.readouterr()
    lines = out.splitlines()
    assert lines[0] == "VREF 0.64 V for 0.8 A peak" and "turn up: slowly, to 0.64 V" in out
    assert lines[-1].startswith("set: VREF 0.6") and "your meter makes it finer" in lines[-1]
    assert out.count("caution: never plug") == 1 and "GND to the driver's logic ground" in out and err == ""
    assert len(lines) < 20, "a line when there is something to do, not ten a second"


def test_as_json_and_what_a_meter_told_the_board(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], answer: Callable[..., dict[str, Any]]
) -> None:
    answer("bench", "add", "board", "--port", f"{BOARD}&kept=1060")
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert main([*VREF, "--json"]) == 0  # the bench's usual board
    found = json.loads(capsys.readouterr().out)
    assert found["done"] and found["bandgap_volt"] == 1.06
    assert found["vref_volt"] == pytest.approx(0.64, rel=0.03) and found["error_percent"] < 1.5


def test_refusals(refusal: Callable[..., str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert "--live without a port" in refusal(*VREF)
    assert "goes with --live" in refusal(*VREF[:-1], "--port", BOARD)
    assert "no analogue input" in refusal(*VREF, "--port", BOARD, "--pin", "D3")
    tmc = ["vref", "--chip", "TMC5160", "--sense", "R075", "--current", "0.8 A", "--live", "--port", BOARD]
    assert "no voltage at a trimmer tells" in refusal(*tmc)
    assert "there is no port" in refusal(*VREF, "--port", "/dev/no-such-board", status=4)


def test_it_gives_up_when_told_to(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert main([*VREF, "--port", BOARD, "--for", "0.5", "--json"]) == 3
    assert json.loads(capsys.readouterr().out)["turn"] == "turn up"
