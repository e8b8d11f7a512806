"""The client against a board that is good, a line that is bad, and things that are no board."""

from __future__ import annotations

import errno
import random
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import serial

from coilbench.board.client.client import Helper
from coilbench.board.client.orders import MoveOrder, TripOrder
from coilbench.board.link.faults import (
    BoardRestarted,
    LinkFault,
    LinkLost,
    NoAnswer,
    OffLimits,
    PortBusy,
    PortForbidden,
    PortMissing,
    Refused,
    WrongDevice,
    port_fault,
)
from coilbench.board.link.frames import Frame
from coilbench.board.link.link import Link, open_link

URL = "virtual://bench?clock=free"
MOVE = MoveOrder(400, 200, 600, 4000)


@pytest.fixture
def helper() -> Iterator[Helper]:
    with Helper.open(URL) as opened:
        yield opened


class NoisyPort:
    """A port that loses or changes bytes, both ways, on its way to a good one."""

    def __init__(self, port: Any, share: float, seed: int) -> None:
        self.port, self.share, self.rng = port, share, random.Random(seed)
        self.timeout: float | None = 0.0

    def monotonic(self) -> float:
        return float(self.port.monotonic())

    @property
    def in_waiting(self) -> int:
        return int(self.port.in_waiting)

    def read(self, size: int = 1) -> bytes:
        self.port.timeout = self.timeout
        return self._worn(self.port.read(size))

    def write(self, data: bytes) -> int:
        self.port.write(self._worn(data))
        return len(data)

    def close(self) -> None:
        self.port.close()

    def _worn(self, data: bytes) -> bytes:
        kept = bytearray()
        for byte in data:
            chance = self.rng.random()
            if chance < self.share / 2:
                continue
            kept.append(byte ^ (1 << self.rng.randrange(8)) if chance < self.share else byte)
        return bytes(kept)


class MutePort:
    """A port with something on it that says ``words`` and no more."""

    def __init__(self, words: bytes = b"") -> None:
        self.words, self.clock_s, self.timeout = bytearray(words), 0.0, 0.02

    def monotonic(self) -> float:
        return self.clock_s

    @property
    def in_waiting(self) -> int:
        return len(self.words)

    def read(self, size: int = 1) -> bytes:
        data = bytes(self.words[:size])
        del self.words[:size]
        if not data:
            self.clock_s += self.timeout
        return data

    def write(self, data: bytes) -> int:
        return len(data)

    def close(self) -> None:
        """Nothing to close."""


def test_who_is_there(helper: Helper) -> None:
    assert helper.identity.chip == "virtual" and helper.identity.sketch_version == "1.3.0"
    assert "index" in helper.identity.can
    assert helper.rates.lowest_sps == 10
    assert set(helper.pin_map()) == {"driver", "coils", "sense"}
    assert 4.5 < helper.supply_volt() < 5.5


def test_an_input_against_both_references(helper: Helper) -> None:
    helper.link.port.board.input_mv[3] = 410.0
    by_supply, by_bandgap = helper.read_input(3), helper.read_input(3, against="bandgap")
    assert by_supply.share == pytest.approx(0.410 / by_supply.supply_volt, abs=0.001)
    assert by_bandgap.share == pytest.approx(0.410 / 1.1, abs=0.002)
    assert by_supply.volt == pytest.approx(0.41, abs=0.005) and by_bandgap.volt == pytest.approx(0.41, abs=0.002)
    assert helper.read_input(2, samples=1).share < 0.003


def test_a_move_and_a_trip(helper: Helper) -> None:
    seen: list[str] = []
    helper.switch_outputs(True)
    assert helper.move(MOVE, lambda event: seen.append(event.word)).complete
    assert helper.state().position == 400
    end = helper.trip(TripOrder(-300, 200, 600, 4000, rest_s=0.2, back_sps=150))
    assert end.complete and end.position == 400
    assert "progress" in seen and "edge" in seen


def test_numbers_beyond_the_board_are_not_sent(helper: Helper) -> None:
    helper.switch_outputs(True)
    with pytest.raises(OffLimits, match="10 to 100000 steps/s"):
        helper.move(MoveOrder(400, 200, 200_000, 4000))
    with pytest.raises(OffLimits):
        helper.move(MoveOrder(40_000_000, 200, 2000, 4000))


def test_refusals_say_what_to_do(helper: Helper) -> None:
    with pytest.raises(Refused, match="switch the outputs on first") as caught:
        helper.move(MOVE)
    assert caught.value.word == "off" and caught.value.exit_code == 4
    with pytest.raises(Refused, match="drive coils first"):
        helper.coil_pattern(1, 0.1)


def test_a_stop_from_another_thread(helper: Helper) -> None:
    helper.switch_outputs(True)

    def stop_soon(event: Frame) -> None:
        if event.word == "progress" and event.whole("pos") > 500:
            thread = threading.Thread(target=helper.request_stop)
            thread.start()
            thread.join()

    end = helper.move(MoveOrder(100_000, 200, 2000, 4000), stop_soon)
    assert end.why == "stopped" and end.left > 0
    assert not helper.state().outputs_on


def test_coils(helper: Helper) -> None:
    helper.drive_by_coils("half")
    helper.coil_pattern(0b0011, 0.2)
    assert helper.state().state == "coil"
    helper.stop()
    assert helper.state().state == "idle"
    helper.drive_by_driver()


def test_pulse_widths_cap_the_rates(helper: Helper) -> None:
    helper.ask("pulse", high=30_000, low=30_000, setup=5000)
    helper.drive_by_driver()
    assert helper.rates.highest_sps <= 16_667
    helper.switch_outputs(True)
    with pytest.raises(OffLimits):
        helper.move(MoveOrder(400, 200, 20_000, 4000))


def test_reset_and_on(helper: Helper) -> None:
    helper.switch_outputs(True)
    helper.ask("reset")
    with pytest.raises(BoardRestarted, match="asked"):
        helper.state()
    helper.greet()
    assert not helper.state().outputs_on


def test_a_board_that_restarts_is_told_and_greeted_anew(helper: Helper) -> None:
    helper.switch_outputs(True)
    helper.link.port.board.restart("brownout")
    with pytest.raises(BoardRestarted, match="brownout"):
        helper.state()
    helper.greet()
    assert helper.state().position == 0


def test_a_thousand_commands_over_a_line_that_wears_one_byte_in_a_hundred() -> None:
    """Each is run exactly once or reported as failed: the board's own count of moves tells."""
    clean = open_link(URL)
    helper = Helper(Link(NoisyPort(clean.port, 0.01, 5), "noisy"))
    helper.greet()
    helper.switch_outputs(True)
    helper.set_idle(60)
    done, failed, board = 0, 0, clean.port.board
    for _ in range(330):
        board.run(board.motion.now_s + 0.01)  # the last step's time
        try:
            helper.ask("move", steps=1, start=1000, run=1000, gain=1000)
            done += 1
        except LinkFault:
            failed += 1
        for _ in range(2):
            try:
                helper.state()
            except LinkFault:
                failed += 1
    board.run(board.motion.now_s + 0.1)
    assert done <= board.motion.position <= done + failed
    assert failed <= 10


def test_the_conversation_is_kept_and_can_be_played_again(tmp_path: Path) -> None:
    log = tmp_path / "log.jsonl"

    def visit(helper: Helper) -> list[Any]:
        helper.switch_outputs(True)
        return [helper.identity, helper.state(), helper.index(), helper.supply_volt()]

    with Helper.open(URL, log) as first:
        said = visit(first)
    with Helper.open(f"replay://{log}") as again:
        assert visit(again) == said


def test_a_log_that_is_none(tmp_path: Path) -> None:
    (tmp_path / "no.log").write_text("hello\n", encoding="ascii")
    with pytest.raises(LinkFault, match="no conversation log"):
        Helper.open(f"replay://{tmp_path / 'no.log'}")


def test_an_unplugged_board_is_a_lost_link(helper: Helper) -> None:
    helper.link.port.close()
    with pytest.raises(LinkLost, match="went away"):
        helper.state()
    helper.close()


def test_nothing_on_the_port() -> None:
    with pytest.raises(NoAnswer, match="nothing answers"):
        Helper(Link(MutePort(), "mute")).greet()


@pytest.mark.parametrize("words", [b"GPGGA,1234\r\n" * 4, bytes(range(128, 200)), b"\x1b[31mlogin: \n"])
def test_another_device_on_the_port(words: bytes) -> None:
    with pytest.raises(WrongDevice, match="no helper board") as caught:
        Helper(Link(MutePort(words), "other")).greet()
    assert str(caught.value).isprintable()


def test_a_device_that_never_ends_its_line() -> None:
    class Flood(MutePort):
        def read(self, size: int = 1) -> bytes:
            self.clock_s += 0.001
            return b"U" * size

    with pytest.raises(WrongDevice, match="UUUU"):
        Helper(Link(Flood(), "flood")).greet()


def test_another_protocol() -> None:
    with pytest.raises(WrongDevice, match="protocol 1, this bench speaks 2"):
        Helper(open_link(URL), protocol=2).greet()


@pytest.mark.parametrize(
    ("problem", "kind"),
    [
        (PermissionError(errno.EACCES, "Permission denied"), PortForbidden),
        (OSError(errno.EBUSY, "Device or resource busy"), PortBusy),
        (serial.SerialException("Could not exclusively lock port /dev/ttyX: [Errno 11]"), PortBusy),
        (FileNotFoundError(errno.ENOENT, "No such file or directory"), PortMissing),
        (
            serial.SerialException("returned no data (device disconnected?)"),
            LinkLost,
        ),
        (OSError(errno.EIO, "Input/output error"), LinkLost),
        (serial.SerialException("odd"), LinkFault),
    ],
)
def test_errors_of_the_system_by_what_to_do(problem: Exception, kind: type[LinkFault]) -> None:
    fault = port_fault("/dev/ttyX", problem)
    assert type(fault) is kind
    assert fault.remedy and fault.exit_code == 4 and "\n" not in str(fault)


def test_a_port_that_is_not_there() -> None:
    with pytest.raises(PortMissing):
        Helper.open("/dev/no-such-port")
    for url in ("virtual://warp", "virtual://bench?load=heavy", "nosuch://x"):
        with pytest.raises(LinkFault):
            Helper.open(url)


def test_closing_stops_the_motor(helper: Helper) -> None:
    helper.switch_outputs(True)
    helper.ask("move", steps=10_000, start=200, run=1000, gain=1000)
    board = helper.link.port.board
    helper.close()
    assert not board.motion.moving and not board.motion.outputs_on
