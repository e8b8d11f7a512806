"""A motor a step at a time, on plain lines."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest

from coilbench.cli import main

PACE = ["board", "pace", "--port", "virtual://bench?clock=free"]


def test_each_step_is_said_as_it_is_made(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*PACE, "--steps", "-3", "--each", "0.5 s", "--coils"]) == 0
    out, err = capsys.readouterr()
    assert out.splitlines()[:3] == ["step 1 of 3", "step 2 of 3", "step 3 of 3"] and "the same way" in out
    assert "limits a coil line's current" in err and "hold the motor down" in err


def test_what_cant_be_is_refused(refusal: Callable[..., str]) -> None:
    assert "expected 1 to 9999" in refusal(*PACE, "--steps", "0")
    assert "expected 0.1 s to 10 s" in refusal(*PACE, "--each", "20 s")
    assert "--each" in refusal(*PACE, "--each", "slow")


def test_a_real_motor_waits_for_the_word(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert main([*PACE[:3], "/dev/no-such-board"]) == 3
    assert "nobody said that it may turn" in capsys.readouterr().err
    assert main([*PACE[:3], "/dev/no-such-board", "--yes"]) == 4
