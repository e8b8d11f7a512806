"""A board as a voltmeter: after one point against a meter within 1 % from 0.1 to 2.5 V, ten times a second."""

from __future__ import annotations

import pytest

from coilbench.board.client.client import Helper
from coilbench.board.link.faults import LinkFault, Refused
from coilbench.board.link.link import Link
from coilbench.board.session.voltmeter import TrimmerSession, Voltmeter, channel_of
from coilbench.errors import InputProblem
from tests.firmware import rig

VOLTS = (0.1, 0.12, 0.15, 0.2, 0.3, 0.4, 0.55, 0.7, 0.85, 0.95, 1.05, 1.2, 1.5, 1.8, 2.1, 2.5)


def at(session: TrimmerSession, volt: float, readings: int = 1) -> float:
    session.turn_virtual(lambda before: volt)
    session.read()  # which finds the range
    return sum(session.read().volt for _ in range(readings)) / readings


@pytest.mark.parametrize("bandgap", [1.0, 1.06, 1.2])
def test_within_one_percent_after_one_point(bandgap: float) -> None:
    """Noise, non-linearity and a gain that differs from chip to chip; the point itself at 0.6 V."""
    for seed in (1, 2):
        session = TrimmerSession(f"virtual://bench?clock=free&bandgap={bandgap}&seed={seed}")
        session.open()
        began_s, readings = session.now(), 0
        scale = 0.6 / at(session, 0.6, 10)
        assert abs(scale - bandgap / 1.1) < 0.01
        for volt in VOLTS:
            for _ in range(2):
                assert scale * at(session, volt) == pytest.approx(volt, rel=0.01), (bandgap, seed, volt)
                readings += 2
        assert readings / (session.now() - began_s) > 8
        session.close()


def test_the_pin_at_the_supply_or_above() -> None:
    session = TrimmerSession("virtual://bench?clock=free")
    session.open()
    for volt in (4.98, 12.0):
        session.turn_virtual(lambda before, volt=volt: volt)
        session.read()
        assert session.read().at_top
    session.close()


def test_a_cable_pulled_and_an_older_sketch() -> None:
    session = TrimmerSession("virtual://bench")
    session.open()
    assert session._helper is not None
    session._helper.link.port.close()
    with pytest.raises(LinkFault, match="went away"):
        session.read()
    session.close()
    assert "coilbench board flash" in Refused("read", "field", {"at": "samples"}).remedy


def test_channels() -> None:
    assert [channel_of(each) for each in ("A0", "a7", " 3 ", "A15")] == [0, 7, 3, 15]
    for name in ("A16", "B0", "", "A-1"):
        with pytest.raises(InputProblem, match="no analogue input"):
            channel_of(name)
    session = TrimmerSession("virtual://bench?clock=free", "A12")
    with pytest.raises(InputProblem, match="has no A12"):
        session.open()
    session.close()


def test_ten_times_a_second_on_the_sketch_itself() -> None:
    """The compiled sketch, in simulated time: ten readings of 64 samples below 1.1 V, where it takes longest."""
    rig.need_toolchain()
    with rig.open_simulated_board("atmega328p") as port:
        helper = Helper(Link(port, "simulated"))
        helper.greet()
        helper.stop()
        port.chip.analog(0, 640)
        meter = Voltmeter(helper, 0)
        meter.read()
        began_s = port.monotonic()
        readings = [meter.read() for _ in range(5)]
        took_s = port.monotonic() - began_s
    assert took_s < 0.5, took_s
    assert all(each.volt == pytest.approx(0.64, rel=0.01) for each in readings), readings
    assert all(each.step_volt == pytest.approx(1.1 / 1024) for each in readings)
