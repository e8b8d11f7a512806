"""The codec, held to the protocol page and to what a CRC of 16 bits promises."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.board.link.frames import (
    MAX_LINE,
    Bare,
    Broken,
    Decoder,
    Frame,
    check_letters,
    crc16,
    decode,
    encode,
)
from tests.board import corpus

# A frame as long as they get: the one where an unseen error would be likeliest.
LONGEST = encode(
    Frame(
        "ask",
        65535,
        "trip",
        {"steps": -9999999, "start": 100000, "gain": 9999999, "run": 100000, "rest": 60000, "back": 99999},
    )
)

words = st.from_regex(r"[a-z][a-z0-9,-]{0,10}", fullmatch=True)
names = st.from_regex(r"[a-z]{1,6}", fullmatch=True)
frames = st.builds(
    Frame,
    st.sampled_from(["ask", "yes", "no", "tell"]),
    st.integers(1, 65535),
    names,
    st.dictionaries(names, st.one_of(st.integers(-999_999_999, 999_999_999), words), max_size=3),
)


def test_crc_check_values() -> None:
    # Published check value of CRC-16/CCITT-FALSE (also named IBM-3740).
    assert crc16(b"123456789") == 0x29B1
    assert check_letters(b"123456789") == b"BIKA"
    assert crc16(b"") == 0xFFFF


@given(frames)
def test_a_frame_comes_back_as_it_went(frame: Frame) -> None:
    assert decode(encode(frame)) == frame


@given(st.lists(frames, max_size=4), st.lists(st.integers(1, 40), min_size=1))
def test_pieces_of_any_size_give_the_same_frames(sent: list[Frame], sizes: list[int]) -> None:
    stream = b"".join(encode(frame) + b"\n" for frame in sent)
    decoder, got, place = Decoder(), [], 0
    for turn in range(len(stream)):
        size = sizes[turn % len(sizes)]
        got += decoder.feed(stream[place : place + size])
        place += size
    assert got == sent


@given(st.binary(max_size=400))
def test_anything_at_all_is_survived_and_the_next_frame_is_read(noise: bytes) -> None:
    decoder = Decoder()
    list(decoder.feed(noise + b"\n"))
    assert list(decoder.feed(LONGEST + b"\n")) == [decode(LONGEST)]


def test_an_over_long_line_is_named_and_holds_no_memory() -> None:
    decoder = Decoder()
    for _ in range(1000):
        assert list(decoder.feed(b"x" * 1000)) == []
    (item,) = decoder.feed(b"\n")
    assert isinstance(item, Broken) and item.flaw == "long" and len(item.line) <= MAX_LINE + 2


def test_bare_lines() -> None:
    assert decode(b"stop") == Bare("stop")
    assert list(Decoder().feed(b"\r\n\nreport\r\nstop\n")) == [Bare("report"), Bare("stop")]


@pytest.mark.parametrize(
    "frame",
    [
        Frame("ask", 0, "beat"),
        Frame("ask", 65536, "beat"),
        Frame("ask", 1, "Beat"),
        Frame("ask", 1, "beat", {"a": "two words"}),
        Frame("ask", 1, "beat", {"a": 1_000_000_000}),
        Frame("ask", 1, "beat", {"a" * 13: 1}),
        Frame("ask", 1, "beat", dict.fromkeys("abcdefgh", "x" * 20)),
    ],
)
def test_what_the_grammar_cannot_hold_is_not_written(frame: Frame) -> None:
    with pytest.raises(ValueError):
        encode(frame)


def test_every_one_and_two_bit_error_is_seen() -> None:
    bits = len(LONGEST) * 8
    for first in range(bits):
        line = _flipped(LONGEST, [first])
        assert isinstance(decode(line), Broken)
    rng = random.Random(1)
    for _ in range(5000):
        assert isinstance(decode(_flipped(LONGEST, rng.sample(range(bits), 2))), Broken)


def test_three_bit_errors_are_seen_where_hexadecimal_digits_would_hide_some() -> None:
    rng = random.Random(2)
    bits = len(LONGEST) * 8
    for _ in range(5000):
        # At least one flip in the check itself, where digits that are no linear code would be weak.
        flips = [*rng.sample(range(bits - 32), 2), rng.randrange(bits - 32, bits)]
        assert isinstance(decode(_flipped(LONGEST, flips)), Broken)


def test_bursts_of_up_to_sixteen_bits_are_seen() -> None:
    rng = random.Random(3)
    bits = len(LONGEST) * 8
    for _ in range(5000):
        start, length = rng.randrange(bits - 16), rng.randint(2, 16)
        inner = [start + k for k in range(1, length - 1) if rng.random() < 0.5]
        assert isinstance(decode(_flipped(LONGEST, [start, *inner, start + length - 1])), Broken)


def test_truncated_frames_are_seen() -> None:
    for length in range(1, len(LONGEST)):
        assert isinstance(decode(LONGEST[:length]), Broken)
        assert isinstance(decode(LONGEST[length:]), Broken)


def test_corpus_is_what_its_maker_makes_and_its_rows_hold() -> None:
    assert corpus.PATH.read_text(encoding="ascii") == corpus.text(), "run python tests/board/corpus.py"
    seen = set()
    for row in corpus.PATH.read_text(encoding="ascii").splitlines()[1:]:
        expect, _, line = row.partition(",")
        assert corpus.expected(corpus.unescaped(line)) == expect, row
        seen.add(expect.split()[0])
    assert seen == {"ok", "bare", "check", "form", "long", "verb", "field", "range"}


def _flipped(line: bytes, places: list[int]) -> bytes:
    changed = bytearray(line)
    for place in places:
        changed[place // 8] ^= 0x80 >> place % 8
    return bytes(changed)
