"""The line to the compiled sketch: each command is run once at most, on a noisy line and in a flood, too."""

from __future__ import annotations

import random
from typing import Any

import pytest

from coilbench.board.link.frames import STOP_BYTE, Frame, decode, encode


def test_a_replayed_frame_runs_once(host: Any) -> None:
    host.ask("outputs", on=1)
    line = host.frame("move", steps=100, start=1000, run=1000, gain=1000)
    for _ in range(5):
        assert host.send(line).kind == "yes"
    host.run_to_stop(beat_ms=40)
    for _ in range(3):
        assert host.send(line).word == "order"
    assert len(host.chip.rises(host.chip.pins["step"])) == 100
    assert host.ask("counts").fields["again"] == 4


def test_a_flood_is_counted_and_survived(host: Any) -> None:
    """More than the board can answer: nothing breaks, what is lost is told."""
    host.ask("outputs", on=1)
    host.port.write(b"report\n" * 400)
    answers = 0
    while True:
        try:
            host.answer(0.3)
        except AssertionError:
            break
        answers += 1
    assert 0 < answers < 400
    assert host.event("fault").fields["what"] == "lost"
    host.port.write(b"\n")  # ends the line that lost its own end
    host.port.sleep(0.1)
    host.chip.line_read()
    assert host.ask("counts").fields["lost"] > 0
    host.ask("move", steps=10, start=100, run=100, gain=100)
    assert host.run_to_stop().fields["pos"] == 10


class NoisyLine:
    """A port on which 1 byte in 100 is changed or dropped, both ways."""

    def __init__(self, port: Any, rng: random.Random) -> None:
        self.port, self.rng = port, rng
        self.chip = port.chip

    def _damage(self, data: bytes) -> bytes:
        out = bytearray()
        for byte in data:
            luck = self.rng.random()
            if luck < 0.005:
                noise = self.rng.randrange(256)
                out.append(noise if noise != STOP_BYTE[0] else 0)  # that one stops, and what follows is refused
            elif luck >= 0.01:
                out.append(byte)
        return bytes(out)

    def say(self, line: bytes) -> None:
        self.port.write(self._damage(line))

    def answers(self, wait_s: float) -> list[Frame]:
        """Whole frames that came within the time and a little line silence."""
        self.port.sleep(wait_s)
        lines = self._damage(self.port.read(self.port.in_waiting)).split(b"\n")
        items = [decode(line) for line in lines]
        return [item for item in items if isinstance(item, Frame) and item.kind != "tell"]


@pytest.mark.long("sketch")
def test_1000_commands_over_a_noisy_line(host: Any) -> None:
    """Each one-step move is executed exactly once, or reported failed and then known not to have run."""
    host.ask("outputs", on=1)
    line = NoisyLine(host.port, random.Random(6))
    number, executed, failed = host.next, 0, 0

    def asked(frame: bytes, wanted: int) -> Frame | None:
        for _ in range(8):
            line.say(b"\n" + frame + b"\n")
            for answer in line.answers(0.015):
                if answer.number == wanted and answer.kind == "yes":
                    return answer
        return None

    for _ in range(1000):
        frame = encode(Frame("ask", number, "move", {"steps": 1, "start": 1000, "run": 1000, "gain": 1000}))
        if asked(frame, number) is not None:
            executed += 1
            number = number % 65535 + 1
            continue
        report = None
        while report is None:
            report = asked(b"report", 0)
        if report.fields["next"] == number:
            failed += 1
        else:
            executed += 1
            number = report.fields["next"]
    line.answers(0.1)
    assert executed + failed == 1000 and executed >= 950
    assert len(host.chip.rises(host.chip.pins["step"])) == executed
