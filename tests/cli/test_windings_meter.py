"""Windings sorted with a bench meter on a port: by Enter, by a program, hands free; and when the meter fails."""

from __future__ import annotations

import io
import json
import threading
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest

from coilbench.cli import main
from coilbench.cli.windings_meter import LinesAndReadings
from coilbench.records.saved.own import OwnMeter
from coilbench.stages.at_bench import words
from coilbench.stages.windings.bench_meter import MeterAtWork, is_port, own_on_port, shown_ohm

METER = "virtual://meter?motor=M-02&clock=free"
ASK = ["windings", "--ask", "--leads", "BK,YE,GN,RD,WH,BU", "--meter", METER]


def said(monkeypatch: pytest.MonkeyPatch, lines: list[str], *words: str) -> int:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    return main([*ASK, *words])


def test_enter_measures(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    assert said(monkeypatch, [""] * 20) == 0
    out, err = capsys.readouterr()
    assert "This is a unipolar motor" in out and "Enter has the meter measure" in out
    assert "VIRTUAL BENCH METER" in err and "good to 0.1% + 0.05 ohm" in err


def test_a_program_has_it_measure(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    assert said(monkeypatch, ["measure"] * 20, "--json", "--four-wire") == 0
    *asked, last = (json.loads(line) for line in capsys.readouterr().out.splitlines())
    assert all("ask" in each for each in asked)
    result = last["result"]
    assert result["arrangement"] == "unipolar-6" and result["coils"][0]["ohms"] == pytest.approx(48.0, rel=0.01)


def test_what_is_typed_counts_beside_a_meter_that_was_unplugged(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["windings", "--ask", "--json", "--leads", "BK,YE,GN,RD,WH,BU", "--meter", f"{METER}&unplug=20"]
    monkeypatch.setattr("sys.stdin", io.StringIO("measure\nOL\n"))
    assert main(words) == 3
    asked, problem, again, *_, last = (json.loads(line) for line in capsys.readouterr().out.splitlines())
    assert "went away" in problem["problem"] and again == asked
    assert last["result"]["readings"] == 1


def test_refusals(refusal: Callable[..., str]) -> None:
    assert "goes with --ask" in refusal("windings", "some.csv", "--meter", "/dev/ttyUSB0")
    assert "--meter twice" in refusal(*ASK, "--meter", "/dev/ttyUSB1")
    assert "goes with --ask" in refusal("windings", "--ask", "--leads", "4", "--by-itself")
    assert "can't be read" in refusal("windings", "some.csv", "--meter", "about right")
    gone = refusal("windings", "--ask", "--leads", "4", "--meter", "/dev/no-such-meter", status=4)
    assert "there is no port" in gone


def test_ports_and_accuracies() -> None:
    ports = ("/dev/ttyUSB0", "COM12", "com3", "socket://bench.local:5025", "virtual://meter", r"\\.\COM10")
    assert all(map(is_port, ports))
    assert not any(map(is_port, ("1% + 0.2 ohm", "0.8% + 5 counts of 0.1 ohm", "company")))
    assert shown_ohm(float("inf")) == "OL" and shown_ohm(24.18) == "24.18 Ω"


def test_hands_free_each_reading_counts_once_and_a_line_goes_before() -> None:
    shows = iter([float("inf"), 24.0, 24.0, 24.0, 24.0, 24.0, float("inf"), 48.0, 48.0, 48.0])
    typed = threading.Event()

    def line() -> str | None:
        typed.wait()
        return None

    meter: Any = SimpleNamespace(ohm=lambda a, b: next(shows))
    both = LinesAndReadings(meter, line)
    ask: Any = SimpleNamespace(a="BK", b="YE")
    assert both.next(ask) == 24.0
    assert both.next(ask) == 48.0
    typed.set()
    meter.ohm = lambda a, b: 48.0  # still on: nothing more of it
    assert both.next(ask) is None


def test_my_bench_remembers_its_port(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], answer: Callable[..., dict[str, Any]]
) -> None:
    from coilbench.records.paths import bin_path
    from coilbench.records.store import Bin
    from coilbench.stages.desk import scratch_desk

    meter = MeterAtWork("/dev/ttyUSB0")
    desk = scratch_desk(("1", "2", "3", "4"))
    with desk.bin:
        assert meter.remember(desk) == "remembered at your bench: 0.1% + 0.05 ohm, on /dev/ttyUSB0"
        assert meter.remember(desk) == ""
        assert (own := own_on_port(desk)) is not None and own.port == "/dev/ttyUSB0"
        assert MeterAtWork("virtual://meter").remember(desk) == ""
    told = answer("bench", "add", "meter", "--meter", "0.02% + 0.01 ohm", "--port", "/dev/ttyUSB3", "--wires", "4")
    assert told["bench"][0]["port"] == "/dev/ttyUSB3"
    with Bin.open(bin_path()) as bin_:
        (own,) = bin_.own()
    assert (
        isinstance(own, OwnMeter) and MeterAtWork.of(own).url == "/dev/ttyUSB3" and words(own).endswith("four wires")
    )
