"""A bench meter on a port: ohms as they are, whatever the line and the meter do on the way."""

from __future__ import annotations

import math
import threading
from collections import deque
from typing import Any

import pytest

from coilbench.board.link.faults import LinkLost, PortMissing
from coilbench.board.meter.line import MeterFault
from coilbench.board.meter.meter import BenchMeter
from coilbench.board.meter.settling import Hand, Settling
from coilbench.board.virtual.instrument import FAULTS

OPEN = math.inf


def meter(options: str = "", *, four_wire: bool = False) -> BenchMeter:
    return BenchMeter.open(f"virtual://meter?motor=M-02&clock=free{options}", four_wire=four_wire)


def test_readings_over_two_wires_and_four() -> None:
    two, four = meter(), meter(four_wire=True)
    assert two.instrument.model == "VIRTUAL BENCH METER"
    for each, probes_ohm in ((two, 0.15), (four, 0.0)):
        each.probes_on("BK", "YE")
        assert each.settled() == pytest.approx(24.0 + probes_ohm, rel=2e-3)
        each.probes_on("BK", "RD")
        assert each.settled() == OPEN
        each.probes_on("probes", "probes")
        assert each.settled() == pytest.approx(probes_ohm, abs=1e-3)
        each.close()


@pytest.mark.parametrize(
    "faults", [*(each for each in FAULTS if each != "two-wire"), "late,half,wrong,errors,chatter"]
)
def test_a_meter_that_misbehaves_never_gives_a_wrong_ohm(faults: str) -> None:
    """Whatever is late, cut short, garbled or left in the error queue: no reading belongs to another pair."""
    taken, failed = 0, 0
    for seed in range(8):
        bad = meter(f"&faults={faults}&seed={seed}")
        for a, b, true_ohm in (("BK", "YE", 24.0), ("BK", "RD", OPEN), ("BK", "GN", 48.0), ("frame", "RD", OPEN)):
            bad.probes_on(a, b)
            try:
                ohm = bad.settled()
            except MeterFault:
                failed += 1
                continue
            taken += 1
            assert ohm == true_ohm or ohm == pytest.approx(true_ohm + 0.15, rel=2e-3), (faults, seed, a, b)
    assert taken + failed == 32 and taken >= (1 if "," in faults else 28), "one kind of fault is got over"


def test_a_cable_out_in_the_middle_of_a_reading() -> None:
    for after in (40, 60, 75):
        pulled = meter(f"&unplug={after}")
        pulled.probes_on("BK", "YE")
        with pytest.raises(LinkLost, match=r"the meter on .* went away"):
            while True:
                pulled.settled()


def test_a_meter_without_four_wires_says_so() -> None:
    with pytest.raises(MeterFault, match="knows no four-wire reading"):
        meter("&faults=two-wire", four_wire=True).ohm()


def test_what_is_no_meter() -> None:
    with pytest.raises(PortMissing, match="plug the meter in"):
        BenchMeter.open("/dev/no-such-meter")
    with pytest.raises(MeterFault, match="helper board, no meter"):
        BenchMeter.open("virtual://bench?clock=free")


class Wrong:
    """A port on which every reading is ``answers``, of a meter that else does all it should."""

    def __init__(self, *answers: str, speed: int = 9600) -> None:
        self._answers, self._speed = answers, speed
        self.baudrate, self.timeout = 0, 0.0
        self._now_s, self._out, self._status = 0.0, deque[int](), ""

    def monotonic(self) -> float:
        return self._now_s

    def write(self, data: bytes) -> None:
        line = data.decode().strip()
        if self.baudrate != self._speed:
            self._out.extend(b"\x80\xff")
        elif line == "*IDN?":
            self._out.extend(b"A,B,0,1\n")
        elif line.startswith("*ESE "):
            self._status = line[5:]
        elif line == "*ESE?":
            self._out.extend(self._status.encode() + b"\n")
        elif line.startswith("MEAS"):
            for answer in self._answers:
                self._out.extend(answer.encode() + b"\r\n")

    @property
    def in_waiting(self) -> int:
        return len(self._out)

    def read(self, size: int) -> bytes:
        self._now_s += 0.0 if self._out else self.timeout
        return bytes(self._out.popleft() for _ in range(min(size, len(self._out))))

    def close(self) -> None:
        pass


def opened(port: Wrong) -> BenchMeter:
    def give(url: str) -> Any:
        return port

    return BenchMeter.open("/dev/ttyUSB7", opener=give)


def test_its_speed_is_found() -> None:
    for speed in (9600, 115200, 38400):
        assert opened(Wrong("+1.5E+00", speed=speed)).ohm() == 1.5
    with pytest.raises(MeterFault, match="no meter that speaks SCPI answers"):
        opened(Wrong(speed=1200))


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        (("-1.2E+01",), "something drives the leads"),
        (("+9.91E+37",), "gives no reading"),
        (("+nan",), "gives no reading"),
        (("1e9999",), "gives no reading"),
        (("+1.0E+00 OHM",), "gives no reading"),
        ((), "gives no reading"),
    ],
)
def test_answers_that_are_no_ohms(answers: tuple[str, ...], said: str) -> None:
    with pytest.raises(MeterFault, match=said):
        opened(Wrong(*answers)).ohm()


def test_a_small_minus_is_a_meters_zero() -> None:
    assert opened(Wrong("-2.0E-03")).ohm() == 0.0


class Spinning(Wrong):
    """Its readings come and go with the shaft."""

    def write(self, data: bytes) -> None:
        if data.startswith(b"MEAS"):
            self._answers = ("+6.0E+00" if self._answers == ("+3.1E+00",) else "+3.1E+00",)
        super().write(data)


def test_a_reading_that_never_rests_is_said_and_can_be_called_off() -> None:
    seen: list[float] = []
    with pytest.raises(MeterFault, match=r"come to rest: it goes from 3.1 to 6 ohm"):
        opened(Spinning()).settled(seen.append)
    assert {3.1, 6.0} == set(seen)
    stop = threading.Event()
    stop.set()
    with pytest.raises(MeterFault, match="called off"):
        meter().settled(stop=stop)


def test_rest() -> None:
    rest = Settling()
    assert [rest.feed(ohm) for ohm in (OPEN, 30.0, 24.3, 24.31, 24.30)] == [None, None, None, None, 24.3]
    rest = Settling()
    assert [rest.feed(OPEN) for _ in range(6)] == [None] * 5 + [OPEN], "the hand may be on its way yet"
    rest = Settling()
    assert [rest.feed(ohm) for ohm in (OPEN, 24.0, OPEN, 24.0, OPEN)] == [None] * 5, "a loose clip"


def test_a_hand_lifts_the_probes_between_two_readings() -> None:
    hand = Hand()
    assert [hand.feed(ohm) for ohm in (OPEN, 24.0, 24.0, 24.0, 24.0, 24.0)] == [None, None, None, 24.0, None, None]
    assert hand.must_lift
    assert [hand.feed(ohm) for ohm in (OPEN, 24.0, 24.0, 24.0)] == [None, None, None, 24.0]
    assert [hand.feed(ohm) for ohm in (48.0, 48.0, 48.0)] == [None] * 3, "it may still be the pair before"
