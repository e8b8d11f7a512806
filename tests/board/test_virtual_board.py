"""The virtual board beyond what all boards have in common."""

from __future__ import annotations

import random

from coilbench.board.link.frames import Decoder, Frame, Value, encode
from coilbench.board.link.link import open_port
from coilbench.board.link.wire import BYTE_S, Wire
from coilbench.board.virtual.board import VirtualBoard
from coilbench.board.virtual.crate import port_motor

MOVE: dict[str, Value] = {"steps": 5000, "start": 400, "run": 9000, "gain": 20_000}


def heard(board: VirtualBoard, *lines: bytes) -> bytes:
    """Send lines, wait until all of them and the answers are through; the answers."""
    for line in lines:
        board.receive(line)
    board.drain()
    board.run(board.motion.now_s + 0.05)
    return board.take()


def board_ready() -> tuple[VirtualBoard, int]:
    """A greeted board with outputs on, and the number it expects."""
    board = VirtualBoard(port_motor("bench").running())
    (hello,) = Decoder().feed(heard(board))
    assert isinstance(hello, Frame)
    number = hello.whole("next")
    for verb, fields in (("hello", {"protocol": 1}), ("outputs", {"on": 1})):
        heard(board, encode(Frame("ask", number, verb, dict(fields))) + b"\n")
        number = number % 65535 + 1
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
    for _ in range(20):
        move = encode(Frame("ask", number, "move", {**MOVE}))
        for _ in range(1000):
            line = mutated(rng, move)
            if line == move:
                continue
            board.receive(line + b"\n")
            board.drain()
            assert not board.motion.moving
        heard(board)
        (answer,) = Decoder().feed(heard(board, b"\n" + encode(Frame("ask", number, "outputs", {"on": 1})) + b"\n"))
        assert isinstance(answer, Frame) and (answer.kind, answer.word) == ("yes", "outputs")
        number = number % 65535 + 1
    (answer,) = Decoder().feed(heard(board, encode(Frame("ask", number, "move", {**MOVE})) + b"\n"))
    assert isinstance(answer, Frame) and (answer.kind, answer.word) == ("yes", "move") and board.motion.moving


def test_random_bytes_move_nothing() -> None:
    rng = random.Random(12)
    board, number = board_ready()
    for _ in range(3000):
        board.receive(rng.randbytes(rng.randrange(200)))
    assert not board.motion.moving
    said = heard(board, b"\n" + encode(Frame("ask", number, "beat")) + b"\n")
    assert any(isinstance(item, Frame) and item.word == "beat" for item in Decoder().feed(said))


def test_same_bytes_give_the_same_board() -> None:
    def conversation() -> bytes:
        board, number = board_ready()
        board.receive(encode(Frame("ask", number, "move", {"steps": 90, "start": 90, "run": 90, "gain": 90})) + b"\n")
        board.run(0.7)
        return board.take()

    assert conversation() == conversation()


def test_a_line_takes_its_time() -> None:
    wire = Wire()
    wire.put(b"abc\n", 1.0)
    wire.put(b"de", 1.0)
    assert wire.take(1.0) == b"" and wire.next_line_s == 1.0 + 4 * BYTE_S
    assert wire.take(1.0 + 2 * BYTE_S) == b"ab"
    assert wire.take(1.0 + 2 * BYTE_S) == b""
    assert wire.take(1.0 + 4 * BYTE_S) == b"c\n" and wire.next_line_s > 2.0
    assert wire.take(wire.empty_s) == b"de" and wire.take(9.0) == b""
    wire.put(b"f", 9.0)
    assert wire.take(9.0 + BYTE_S) == b"f"


def test_an_answer_comes_no_sooner_than_the_line_carries_it() -> None:
    """115200 baud, 10 bits a byte: the question's bytes, then the answer's."""
    board, number = board_ready()
    asked = encode(Frame("ask", number, "beat")) + b"\n"
    began_s = board.motion.now_s
    board.receive(asked)
    said = b""
    while b"\n" not in said:
        board.run(board.motion.now_s + 1e-5)
        said += board.take()
    took_s = board.motion.now_s - began_s
    assert (len(asked) + len(said)) * BYTE_S * 0.98 <= took_s <= (len(asked) + len(said)) * BYTE_S + 3e-5


def test_positions_stay_within_nine_digits() -> None:
    board, number = board_ready()
    board.motion._position = 999_999_990
    for steps, kind in ((10, "no"), (9, "yes")):
        line = encode(Frame("ask", number, "move", {**MOVE, "steps": steps})) + b"\n"
        (answer, *_) = (item for item in Decoder().feed(heard(board, line)) if isinstance(item, Frame))
        assert answer.kind == kind
        if kind == "no":
            assert answer.fields == {"at": "steps", "low": -9_999_999, "high": 9}
        number = number % 65535 + 1
    board.run(board.motion.now_s + 1.0)
    assert board.motion.position == 999_999_999


def test_a_supply_that_sags_switches_off() -> None:
    board, number = board_ready()
    heard(board, encode(Frame("ask", number, "move", {**MOVE})) + b"\n")
    board.motion.supply_mv = 4400
    said = [item for item in Decoder().feed(heard(board)) if isinstance(item, Frame)]
    ends = [(each.word, each.fields["why"]) for each in said if each.word in ("stop", "off")]
    assert ends == [("stop", "supply"), ("off", "supply")]
    asked = encode(Frame("ask", number % 65535 + 1, "outputs", {"on": 1})) + b"\n"
    (answer,) = (item for item in Decoder().feed(heard(board, asked)) if isinstance(item, Frame))
    assert (answer.word, answer.fields) == ("supply", {"mv": 4400})


def test_a_host_may_look_at_the_clock_of_a_port_that_was_closed_under_it() -> None:
    """One thread closes while another waits for an end: it hears of that by reading, not by looking at the time."""
    port = open_port("virtual://bench?clock=free")
    port.close()
    assert port.monotonic() >= 0
