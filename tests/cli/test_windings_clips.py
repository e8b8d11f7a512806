"""``coilbench windings --clips``: one command names a motor, by hand only what the clips can't tell."""

from __future__ import annotations

import io
import json
from typing import Any

import pytest

from coilbench import cli
from coilbench.board.virtual.crate import crate_motor

BOARD = "virtual://bench?clock=free&wound="


def run(*options: str) -> int:
    return cli.main(["windings", "--clips", *options])


def test_a_motor_in_one_go(capsys: Any) -> None:
    assert run("--port", f"{BOARD}M-02&clips=402513", "--leads", "RD BU WH BK GN YE", "--json") == 0
    out, err = capsys.readouterr()
    result = json.loads(out)
    assert result["arrangement"] == "unipolar-6" and result["confidence"] > 0.99 and result["readings"] == 15
    assert {coil["tap"] for coil in result["coils"]} == {"RD", "GN"}
    assert all(0.10 < coil["henry"] < 0.13 and 0 < coil["henry_sd"] < 0.1 * coil["henry"] for coil in result["coils"])
    assert "no driver, no supply" in err


def test_the_clips_are_told_and_a_silent_lead_is_asked_about(capsys: Any) -> None:
    options = ["--port", f"{BOARD}M-09", "--leads", "RD,GY,YE,BK,GN"]
    assert run(*options) == 4
    out, err = capsys.readouterr()
    assert not out and 'bare copper, measure again; where it sits well: --silent "GN"' in err
    assert "clip 5: GN (pin 12, A4)" in err
    assert run(*options, "--silent", "GN") == 0
    out = capsys.readouterr().out
    assert "spare" in out and "by its current's rise" in out and "a meter's own figure" in out
    assert run(*options, "--silent", "VT") == 2
    assert "'VT': no such lead" in capsys.readouterr().err


def test_what_is_left_is_asked_by_hand(capsys: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    answers = ["1.1", "0.2", "1.1", *["OL"] * 4]
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(answers)))
    assert run("--ask", "--port", f"{BOARD}M-04", "--leads", "8", "--json") == 0
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert {"ask": ["1", "2"]} in lines and {"ask": "probes-together"} in lines
    assert lines[-1]["result"]["arrangement"] == "split-8"
    assert lines[-1]["result"]["coils"][0]["ohms_sd"] < 0.1
    order = [int(lead) - 1 for lead in lines[-1]["result"]["order"]]  # the kicks told it, nobody was asked
    inside = crate_motor("M-04").windings
    places = [inside.places[inside.leads[lead]] for lead in order]
    assert sorted(places) == [0, 1, 2, 3] and (places[0] - places[2]) % 4 == 2


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--leads", "4"], "no helper board is told"),
        (["--port", "virtual://bench"], "--clips without --leads"),
        (["--port", "virtual://bench", "--leads", "4", "readings.csv"], "together"),
    ],
)
def test_what_is_missing_is_said(capsys: Any, options: list[str], said: str) -> None:
    assert run(*options) == 2
    assert said in capsys.readouterr().err
    assert cli.main(["windings", "--port", "virtual://bench", "--ask", "--leads", "4"]) == 2
