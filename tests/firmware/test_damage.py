"""Damaged frames to the compiled sketch: no crash, every answer right, not one step too many.

By default 20,000 to one chip, in a long run 100,000 to each. To get through them the simulated line runs faster than
the sketch sets it, by as much as the receive interrupt can follow, with step interrupts or without; with
COILBENCH_LONG set it runs at its own 115,200 baud, which takes several times as long.
"""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from typing import Any

import pytest

from coilbench.board.link.frames import STOP_BYTE, Broken, Frame, decode, encode

# Cycles a byte, at rest and in motion; 0: as the sketch sets it.
LINE_SPEEDS = (0, 0) if os.environ.get("COILBENCH_LONG") else (160, 320)
PARTS = range(5)
FRAMES_A_PART = 20_000
FRAMES_A_ROUND = 400
WHOLE_EVERY = 10  # a beat after so many damaged frames: the next good frame is answered

MOVE = {"steps": 2000, "start": 400, "gain": 4000, "run": 8000}
TRIP = {"steps": -9_999_999, "start": 100_000, "gain": 9_999_999, "run": 100_000, "rest": 60_000, "back": 99_999}


def flipped(rng: random.Random, line: bytes, places: set[int]) -> bytes:
    """The line with these bits changed."""
    data = bytearray(line)
    for place in places:
        data[place // 8] ^= 0x80 >> place % 8
    return bytes(data)


def damaged(rng: random.Random, line: bytes, other: bytes) -> bytes:
    """One of: 1 to 3 flipped bits, a burst of up to 16, a cut, a splice, a repeated piece, lost bytes, noise."""
    bits = len(line) * 8
    how = rng.randrange(9)
    if how < 2:
        return flipped(rng, line, set(rng.sample(range(bits), rng.randint(1, 3))))
    if how < 4:
        length = rng.randint(2, 16)
        first = rng.randrange(bits - length + 1)
        inner = {first + place for place in range(1, length - 1) if rng.random() < 0.5}
        return flipped(rng, line, {first, first + length - 1} | inner)
    if how == 4:
        cut = rng.randrange(1, len(line))
        return line[:cut] if rng.random() < 0.5 else line[cut:]
    if how == 5:
        return line[: rng.randrange(1, len(line))] + other[rng.randrange(1, len(other)) :]
    if how == 6:
        place, length = rng.randrange(len(line)), rng.randint(1, 60)
        return line[:place] + line[max(place - length, 0) :]
    if how == 7:
        lost = set(rng.sample(range(len(line)), rng.randint(1, 4)))
        return bytes(byte for place, byte in enumerate(line) if place not in lost)
    return rng.randbytes(rng.randint(1, 130))


def damaged_lines(rng: random.Random, number: int, count: int) -> Iterator[tuple[bytes, str]]:
    """Lines that the board must refuse, and the word it does that with."""
    move, trip = encode(Frame("ask", number, "move", dict(MOVE))), encode(Frame("ask", number, "trip", dict(TRIP)))
    beat = encode(Frame("ask", number, "beat"))
    while count:
        line = damaged(rng, *rng.choice([(move, beat), (trip, move), (move, trip), (beat, move)]))
        line = line.replace(b"\n", b"?").replace(STOP_BYTE, b"?")  # damage may stop, but is no refused line then
        if line in (move, trip, beat) or not line.removesuffix(b"\r"):
            continue  # whole after all, or nothing
        item = decode(line.removesuffix(b"\r"))
        assert isinstance(item, Broken), line
        yield line, item.flaw
        count -= 1


def round_of_lines(host: Any, rng: random.Random, count: int) -> tuple[bytes, list[tuple[str, int, str]]]:
    """``count`` damaged lines with beats between them; what is to be answered, as kind, number, word."""
    lines, wanted = bytearray(), []
    for place in range(0, count, WHOLE_EVERY):
        for line, flaw in damaged_lines(rng, host.next, min(WHOLE_EVERY, count - place)):
            lines += line + b"\n"
            wanted.append(("no", 0, flaw))
        wanted.append(("yes", host.next, "beat"))
        lines += host.frame("beat")
    return bytes(lines), wanted


@pytest.mark.long("sketch")
@pytest.mark.parametrize("part", PARTS)
def test_damaged_frames_do_nothing(host: Any, part: int) -> None:
    """Every fourth round while a move runs, which goes on undisturbed."""
    rng = random.Random(100 + part)
    chip = host.chip
    host.ask("idle", ms=60_000)
    host.ask("outputs", on=1)
    chip.forget_edges()
    asked_for = position = 0
    for turn in range(FRAMES_A_PART // FRAMES_A_ROUND):
        moving = turn % 4 == 3
        chip.line_speed(LINE_SPEEDS[moving])
        if moving:
            steps = rng.choice([-1, 1]) * rng.randint(2000, 4000)
            host.ask("move", **{**MOVE, "steps": steps})
            asked_for, position = asked_for + abs(steps), position + steps
        lines, wanted = round_of_lines(host, rng, FRAMES_A_ROUND)
        answers = host.exchange(lines)
        assert [(answer.kind, answer.number, answer.word) for answer in answers] == wanted
        beats = [answer.fields for answer in answers if answer.word == "beat"]
        assert all(beat["out"] == 1 for beat in beats)
        assert (beats[0]["state"] == "moving") == moving
        if moving:
            assert host.run_to_stop().fields == {"why": "end", "pos": position, "left": 0}
        assert all(event.word == "progress" for event in host.events)
        host.events.clear()
    assert len(chip.rises(chip.pins["step"])) == asked_for
    assert {int(edge["watch"]) for edge in chip.edges()} <= {chip.watched[chip.pins[pin]] for pin in ("step", "dir")}
    counts = host.ask("counts").fields
    assert counts["bad"] + counts["long"] == FRAMES_A_PART and counts["lost"] == 0
    assert chip.watchdog_resets == 0
