"""A board as a voltmeter: after one point against a meter within 1 % from 0.1 to 2.5 V, ten times a second."""

from __future__ import annotations

from typing import Any

import pytest

from coilbench.board.client.client import Helper
from coilbench.board.client.orders import Bandgap
from coilbench.board.link.faults import LinkFault, Refused
from coilbench.board.link.frames import Frame, Value
from coilbench.board.link.link import Link
from coilbench.board.session.voltmeter import TrimmerSession, channel_of
from coilbench.errors import InputProblem
from tests.firmware import rig

VOLTS = (0.1, 0.12, 0.15, 0.2, 0.3, 0.4, 0.55, 0.7, 0.85, 0.95, 1.05, 1.2, 1.5, 1.8, 2.1, 2.5)


KEPT_CELLS = (64, 65)  # of the EEPROM


def greeted(port: Any) -> Helper:
    """A helper on a simulated board's port."""
    helper = Helper(Link(port, "simulated"))
    helper.greet()
    return helper


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
        assert session.bandgap_volt is None
        assert session.rescale(0.6 / at(session, 0.6, 10))
        assert session.bandgap_volt == pytest.approx(bandgap, rel=0.01)
        for volt in VOLTS:
            for _ in range(2):
                assert at(session, volt) == pytest.approx(volt, rel=0.01), (bandgap, seed, volt)
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


def test_an_older_sketch_goes_by_the_meter_as_long_as_it_lasts() -> None:
    """It has no `scale`, as one of 1.2.0: the host reckons with it, and says that nothing is kept."""
    session = TrimmerSession("virtual://bench?clock=free&bandgap=1.06", opener=OlderHelper.open)
    session.open()
    assert session.bandgap_volt is None and not session.rescale(0.6 / at(session, 0.6, 10))
    for volt in (0.2, 0.85, 1.5):
        assert at(session, volt) == pytest.approx(volt, rel=0.01)
    session.close()


class OlderHelper(Helper):
    def ask(self, verb: str, **fields: Value) -> dict[str, Value]:
        return super().ask("gauge" if verb == "scale" else verb, **fields)


def test_on_the_sketch_itself_after_one_point() -> None:
    """The compiled sketch, in simulated time, told of a meter at 0.6 V, and reset: within 1 % from 0.1 to 2.5 V, ten
    updates a second."""
    rig.need_toolchain()
    with rig.open_simulated_board("atmega328p") as port:
        session = TrimmerSession("simulated", opener=lambda url, log: greeted(port))
        session.open()
        port.chip.analog(0, 600)
        for _ in range(3):
            before = session.read()
        assert session.rescale(0.96 * 0.6 / before.volt)
        cells = [port.chip.eeprom(place) for place in KEPT_CELLS]
        assert sum(cells) == 255 and session.bandgap_volt == pytest.approx(0.96 * 1.1, abs=0.005)
        port.chip.reset()
        session.open()
        assert session.bandgap_volt == pytest.approx(0.96 * 1.1, abs=0.005)
        session.read()
        began_s, volts = port.monotonic(), (0.1, 0.25, 0.6, 0.95, 1.2, 2.5)
        for volt in volts:
            port.chip.analog(0, round(1000 * volt))
            session.read()  # which finds the range
            assert session.read().volt == pytest.approx(0.96 * volt, rel=0.01)
        assert 2 * len(volts) / (port.monotonic() - began_s) > 9


def test_what_is_kept_is_believed_only_whole() -> None:
    """A reset between the writes of its two cells leaves a board that nobody told."""
    rig.need_toolchain()
    with rig.open_simulated_board("atmega328p") as port:
        helper = greeted(port)
        assert helper.keep_bandgap(1.063) == helper.bandgap() == Bandgap(1.063, kept=True)
        before = [port.chip.eeprom(cell) for cell in KEPT_CELLS]
        helper.link.send(Frame("ask", helper._next, "scale", {"bandgap": 1042}))
        while port.chip.eeprom(KEPT_CELLS[0]) == before[0]:
            port.chip.run(10)
        assert port.chip.eeprom(KEPT_CELLS[1]) == before[1]
        port.chip.reset()
        assert greeted(port).bandgap() == Bandgap(1.1, kept=False)
