"""The line to the compiled sketch: damaged frames move nothing, a noisy line executes each command once at most."""

from __future__ import annotations

import os
import random
from typing import Any

from coilbench.board.frames import Bare, Frame, decode, encode

# Most take the simulator about a millisecond each; the long run takes minutes.
DAMAGED_FRAMES = 100_000 if os.environ.get("COILBENCH_LONG") else 1500


def damaged(rng: random.Random, line: bytes, other: bytes) -> bytes:
    """Up to 3 flipped bits, a burst of up to 16, a cut, a splice with another frame, or plain noise."""
    data = bytearray(line)
    how = rng.randrange(5)
    if how == 0:
        for place in rng.sample(range(len(data) * 8), rng.randint(1, 3)):
            data[place // 8] ^= 1 << place % 8
    elif how == 1:
        first, length = rng.randrange(len(data) * 8 - 16), rng.randint(2, 16)
        for place in {first, first + length - 1, *(first + rng.randrange(length) for _ in range(8))}:
            data[place // 8] ^= 1 << place % 8
    elif how == 2:
        del data[rng.randrange(1, len(data)) :]
    elif how == 3:
        data = data[: rng.randrange(1, len(data))] + other[rng.randrange(1, len(other)) :]
    else:
        data = bytearray(rng.randrange(256) for _ in range(rng.randrange(1, 120)))
    return bytes(data).replace(b"\n", b"?")


def test_damaged_frames_move_nothing(host: Any) -> None:
    rng = random.Random(5)
    host.ask("outputs", on=1)
    host.ask("idle", ms=60_000)
    host.chip.forget_edges()
    sent = 0
    while sent < DAMAGED_FRAMES:
        move = encode(Frame("ask", host.next, "move", {"steps": 2000, "start": 400, "gain": 4000, "run": 8000}))
        line = damaged(rng, move, encode(Frame("ask", host.next, "beat")))
        item = decode(line.removesuffix(b"\r"))
        if isinstance(item, Bare | Frame):
            continue  # a whole frame after all (a splice that left a good one)
        host.port.write(line + b"\n")
        if line.removesuffix(b"\r"):
            answer = host.answer()
            assert (answer.kind, answer.number, answer.word) == ("no", 0, item.flaw), line
        sent += 1
        if sent % 100 == 0:
            host.ask("outputs", on=1)
    assert len(host.chip.edges()) == 0
    assert host.ask("beat").fields == {"state": "idle", "pos": 0, "rate": 0, "out": 1}


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
                out.append(self.rng.randrange(256))
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


def test_1000_commands_over_a_noisy_line(host: Any) -> None:
    """Each one-step move is executed exactly once, or reported failed and then known not to have run."""
    host.ask("outputs", on=1)
    line = NoisyLine(host.port, random.Random(6))
    number, executed, failed = host.next, 0, 0

    def asked(frame: bytes, wanted: int) -> Frame | None:
        for _ in range(8):
            line.say(b"\n" + frame + b"\n")
            for answer in line.answers(0.03):
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
