"""The virtual board beyond what all boards have in common."""

from __future__ import annotations

import random

from coilbench.board.frames import Decoder, Frame, encode
from coilbench.board.virtual_board import VirtualBoard
from coilbench.board.virtual_crate import virtual_motor


def board_ready() -> tuple[VirtualBoard, int]:
    """A greeted board with outputs on, and the number it expects."""
    board = VirtualBoard(virtual_motor("bench"))
    (hello,) = Decoder().feed(board.take())
    assert isinstance(hello, Frame)
    number = hello.whole("next")
    for verb, fields in (("hello", {"protocol": 1}), ("outputs", {"on": 1})):
        board.receive(encode(Frame("ask", number, verb, dict(fields))) + b"\n")
        number = number % 65535 + 1
    board.take()
    return board, number


def mutated(rng: random.Random, line: bytes) -> bytes:
    """The line with up to 3 flipped bits, a burst of up to 16, cut short, or spliced with itself."""
    changed, how = bytearray(line), rng.randrange(4)
    bits = len(line) * 8
    if how == 0:
        places = rng.sample(range(bits), rng.randint(1, 3))
    elif how == 1:
        start = rng.randrange(bits - 16)
        places = [start, *(start + k for k in range(1, 16) if rng.random() < 0.5)]
    elif how == 2:
        return bytes(changed[: rng.randrange(len(line))])
    else:
        cut = rng.randrange(1, len(line))
        return bytes(changed[:cut] + changed[rng.randrange(cut - 1) if cut > 1 else 0 :])[:200]
    for place in places:
        changed[place // 8] ^= 0x80 >> place % 8
    return bytes(changed)


def test_twenty_thousand_mutated_moves_move_nothing_and_the_next_frame_is_answered() -> None:
    rng = random.Random(11)
    board, number = board_ready()
    move = encode(Frame("ask", number, "move", {"steps": 5000, "start": 400, "run": 9000, "gain": 20_000}))
    for _ in range(20_000):
        line = mutated(rng, move)
        if line == move:
            continue
        board.receive(line + b"\n")
        assert not board.motion.moving
    board.take()
    board.receive(b"\n" + move + b"\n")
    (answer,) = Decoder().feed(board.take())
    assert isinstance(answer, Frame) and (answer.kind, answer.word) == ("yes", "move")


def test_random_bytes_move_nothing() -> None:
    rng = random.Random(12)
    board, number = board_ready()
    for _ in range(3000):
        board.receive(rng.randbytes(rng.randrange(200)))
    assert not board.motion.moving
    board.take()
    board.receive(b"\n" + encode(Frame("ask", number, "beat")) + b"\n")
    assert any(isinstance(item, Frame) and item.word == "beat" for item in Decoder().feed(board.take()))


def test_same_bytes_give_the_same_board() -> None:
    def conversation() -> bytes:
        board, number = board_ready()
        board.receive(encode(Frame("ask", number, "move", {"steps": 90, "start": 90, "run": 90, "gain": 90})) + b"\n")
        board.run(0.7)
        return board.take()

    assert conversation() == conversation()
