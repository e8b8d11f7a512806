"""Bytes to frames and back, as sketches/PROTOCOL.md sections 1 and 2 lay them down. Pure: no port, no clock."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

MAX_LINE = 96
CHECK_LENGTH = 5  # "~" and four letters
STOP_BYTE = b"\x1b"  # stops whatever moves as it comes in, within a line and without a line's end

Kind = Literal["ask", "yes", "no", "tell"]
Value = int | str
Flaw = Literal["long", "check", "form"]

_FRAME = re.compile(r"(ask|yes|no|tell) (0|[1-9][0-9]{0,4}) ([a-z]{1,12})((?: [a-z]{1,12}=[^ =~]+)*) ")
_INTEGER = re.compile(r"0|-?[1-9][0-9]{0,8}")
_WORDS = re.compile(r"[a-z][a-z0-9,-]{0,39}")
_MAX_FIELDS = 8
LARGEST_NUMBER = 65535


@dataclass(frozen=True)
class Frame:
    """One line of meaning: ``kind number word name=value ...``."""

    kind: Kind
    number: int
    word: str
    fields: dict[str, Value] = field(default_factory=dict)

    def whole(self, name: str) -> int:
        """Return the integer field ``name``; KeyError when it is absent or holds words."""
        value = self.fields[name]
        if not isinstance(value, int):
            raise KeyError(name)
        return value


@dataclass(frozen=True)
class Bare:
    """One of the two lines that need no check, ``stop`` and ``report``, or the stop byte."""

    word: Literal["stop", "report"]


@dataclass(frozen=True)
class Broken:
    """A line that is no frame, and the word it is refused with."""

    flaw: Flaw
    line: bytes


Item = Frame | Bare | Broken


def _crc_table() -> tuple[int, ...]:
    table = []
    for byte in range(256):
        register = byte << 8
        for _ in range(8):
            register = (register << 1) ^ 0x1021 if register & 0x8000 else register << 1
        table.append(register & 0xFFFF)
    return tuple(table)


_TABLE = _crc_table()


def crc16(data: bytes) -> int:
    """CRC-16/CCITT-FALSE: polynomial 0x1021, start 0xFFFF, not reflected, no final xor."""
    register = 0xFFFF
    for byte in data:
        register = ((register << 8) & 0xFFFF) ^ _TABLE[(register >> 8) ^ byte]
    return register


def check_letters(data: bytes) -> bytes:
    """The four letters that write the CRC of ``data``, most significant four bits first."""
    value = crc16(data)
    return bytes(0x40 | (value >> shift & 0xF) for shift in (12, 8, 4, 0))


def with_check(text: str) -> bytes:
    """A line (without its end) made of ``text``, a space and the check."""
    body = text.encode("ascii") + b" "
    return body + b"~" + check_letters(body)


def encode(frame: Frame) -> bytes:
    """Write ``frame`` as a line without its end.

    Raises ValueError when the frame can't be written by the grammar or within the longest line.
    """
    parts = [frame.kind, str(frame.number), frame.word]
    parts += [f"{name}={value}" for name, value in frame.fields.items()]
    line = with_check(" ".join(parts))
    if decode(line) != frame:
        raise ValueError(f"not a frame by the grammar: {frame}")
    return line


def encode_fitting(frame: Frame) -> bytes:
    """Write an answer or event as a board does: of one that doesn't fit the line it says ``overflow``."""
    try:
        return encode(frame)
    except ValueError:
        return encode(Frame("tell" if frame.kind == "tell" else "no", frame.number, "overflow"))


def decode(line: bytes) -> Item:
    """Read one line, its LF (and a CR before it) already taken off. Never raises."""
    if len(line) > MAX_LINE:
        return Broken("long", line)
    plain = line.strip(b" ").lower()
    if plain == b"stop":
        return Bare("stop")
    if plain == b"report":
        return Bare("report")
    body, tail = line[:-CHECK_LENGTH], line[-CHECK_LENGTH:]
    if len(tail) < CHECK_LENGTH or tail != b"~" + check_letters(body):
        return Broken("check", line)
    return _parse(body) or Broken("form", line)


def _parse(body: bytes) -> Frame | None:
    try:
        text = body.decode("ascii")
    except UnicodeDecodeError:
        return None
    match = _FRAME.fullmatch(text)
    if match is None:
        return None
    kind, number, word, rest = match.groups()
    if int(number) > LARGEST_NUMBER or (kind == "ask" and int(number) == 0):
        return None
    fields: dict[str, Value] = {}
    for part in rest.split():
        name, _, written = part.partition("=")
        if name in fields or len(fields) == _MAX_FIELDS:
            return None
        if _INTEGER.fullmatch(written):
            fields[name] = int(written)
        elif _WORDS.fullmatch(written):
            fields[name] = written
        else:
            return None
    return Frame(kind, int(number), word, fields)  # type: ignore[arg-type]


class Decoder:
    """Turns a stream of bytes, in pieces of any size, into items; holds at most one line's worth."""

    def __init__(self) -> None:
        self._line = bytearray()

    def feed(self, data: bytes) -> Iterator[Item]:
        """Yield what each line ended within ``data`` says; empty lines are passed over.

        A stop byte is a ``stop``, and what came of a line before it is no more.
        """
        *before, data = data.split(STOP_BYTE)
        for part in before:
            yield from self._lines(part)
            self._line.clear()
            yield Bare("stop")
        yield from self._lines(data)

    def _lines(self, data: bytes) -> Iterator[Item]:
        pieces = data.split(b"\n")
        for piece in pieces[:-1]:
            self._keep(piece)
            line = bytes(self._line)
            self._line.clear()
            line = line.removesuffix(b"\r")
            if line:
                yield decode(line)
        self._keep(pieces[-1])

    def _keep(self, piece: bytes) -> None:
        # One more than the longest line and its CR is enough to know that a line is too long.
        room = MAX_LINE + 2 - len(self._line)
        self._line += piece[:room]
