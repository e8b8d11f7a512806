"""Makes corpus.csv, the lines that both the Python codec and the sketch's parser are held to.

Run ``python tests/board/corpus.py`` to write it anew; a test holds the file to what this makes.
"""

from __future__ import annotations

import random
from pathlib import Path

from coilbench.board.link.frames import (
    MAX_LINE,
    STOP_BYTE,
    Bare,
    Broken,
    Frame,
    check_letters,
    decode,
    encode,
    with_check,
)
from coilbench.board.link.messages import VERBS, Whole, range_refusal, shape_refusal

PATH = Path(__file__).with_name("corpus.csv")

# What the board says was written down by hand for these; for the rest it comes from the tables.
_BY_HAND: list[tuple[str, bytes]] = [
    ("bare", b"stop"),
    ("bare", b"report"),
    ("bare", b"Stop"),
    ("bare", b"stop "),
    ("bare", b" stop"),
    ("bare", b"STOP"),
    ("bare", b"  rePort  "),
    ("check", b"st op"),
    ("check", b"stop\t"),
    ("check", b" "),
    ("check", b"stops"),
    ("check", b"sto"),
    ("check", b"reset"),
    ("check", b"stopstop"),
    ("check", b"~"),
    ("check", b"~@@@@"),
    ("form", b"~OOOO"),  # the CRC of nothing is 0xFFFF: the check fits, nothing is in it
    ("check", b"ask 1 beat"),
    ("check", b"ask 1 beat ~"),
    ("check", b"ask 1 beat ~29B1"),
    ("check", with_check("ask 1 beat").lower()),
    ("check", with_check("ask 1 beat") + b" "),
    ("check", b" " + with_check("ask 1 beat")),
    ("check", with_check("ask 1 beat")[:-1]),
    ("check", with_check("ask 1 beat") + with_check("ask 1 beat")),
    ("ok", with_check("ask 1 beat")),
    ("ok", with_check("ask 65535 beat")),
    ("form", with_check("ask 0 beat")),
    ("form", with_check("ask 65536 beat")),
    ("form", with_check("ask 99999 beat")),
    ("form", with_check("ask 100000 beat")),
    ("form", with_check("ask 01 beat")),
    ("form", with_check("ask -1 beat")),
    ("form", with_check("ask +1 beat")),
    ("form", with_check("ask  1 beat")),
    ("form", with_check("ask 1  beat")),
    ("form", with_check("ask 1 beat ")),
    ("form", with_check(" ask 1 beat")),
    ("form", with_check("ask 1")),
    ("form", with_check("ask beat")),
    ("form", with_check("ask")),
    ("form", with_check("")),
    ("form", with_check("ASK 1 beat")),
    ("form", with_check("ask 1 Beat")),
    ("form", with_check("ask 1 beat\t")),
    ("form", with_check("ask 1 be~t")),
    ("form", with_check("yes 1 beat")),
    ("form", with_check("no 1 verb")),
    ("form", with_check("tell 1 stop why=end pos=0 left=0")),
    ("form", b"ask 1 beat~" + check_letters(b"ask 1 beat")),
    ("form", b"ask 1 beat\x00 ~" + check_letters(b"ask 1 beat\x00 ")),
    ("form", b"ask 1 be\xe9t ~" + check_letters(b"ask 1 be\xe9t ")),
    ("form", with_check("ask 1 idle ms=")),
    ("form", with_check("ask 1 idle =100")),
    ("form", with_check("ask 1 idle ms")),
    ("form", with_check("ask 1 idle ms==100")),
    ("form", with_check("ask 1 idle ms=100=")),
    ("form", with_check("ask 1 idle ms=0100")),
    ("form", with_check("ask 1 idle ms=+100")),
    ("form", with_check("ask 1 idle ms=-0")),
    ("form", with_check("ask 1 idle ms=1e3")),
    ("form", with_check("ask 1 idle ms=100.0")),
    ("form", with_check("ask 1 idle ms=0x64")),
    ("form", with_check("ask 1 idle ms=-")),
    ("form", with_check("ask 1 idle ms=1000000000")),
    ("form", with_check("ask 1 idle ms=4294967396")),
    ("form", with_check("ask 1 idle ms=100 ms=100")),
    ("form", with_check("ask 1 idle m2=100")),
    ("form", with_check("ask 1 idle mmmmmmmmmmmmm=100")),
    ("form", with_check("ask 1 beat a=1 b=1 c=1 d=1 e=1 f=1 g=1 h=1 i=1")),
    ("form", with_check("ask 1 abcdefghijklm")),
    ("form", with_check("ask 1 pins of=Driver")),
    ("form", with_check("ask 1 pins of=-driver")),
    ("form", with_check("ask 1 pins of=" + "a" * 41)),
    ("field at=a", with_check("ask 1 beat a=1 b=1 c=1 d=1 e=1 f=1 g=1 h=1")),
    ("verb", with_check("ask 1 abcdefghijkl")),
    ("verb", with_check("ask 1 jump steps=1")),
    ("verb", with_check("ask 1 mov")),
    ("verb", with_check("ask 1 moves")),
    ("ok", with_check("ask 1 idle ms=100")),
    ("ok", with_check("ask 1 idle ms=100") + b"\r"),
    ("check", with_check("ask 1 idle ms=100") + b"\r\r"),
    ("range at=ms", with_check("ask 1 idle ms=-999999999")),
    ("range at=ms", with_check("ask 1 idle ms=999999999")),
    ("range at=of", with_check("ask 1 pins of=" + "a" * 40)),
    ("field at=of", with_check("ask 1 pins of=1")),
    ("field at=of", with_check("ask 1 pins")),
    ("field at=on", with_check("ask 1 outputs on=yes")),
    ("field at=extra", with_check("ask 1 outputs extra=1")),
    ("range at=steps", with_check("ask 1 move steps=0 start=100 gain=1000 run=100")),
    ("ok", with_check("ask 1 move gain=1000 run=100 start=100 steps=-1")),
    ("field at=steps", with_check("ask 1 move run=100")),
    ("range at=run", with_check("ask 1 move steps=1 start=100 gain=1000 run=200000")),
    ("range at=start", with_check("ask 1 move steps=1 start=9 gain=1000 run=9")),
    ("range at=protocol", with_check("ask 1 hello protocol=2")),
    ("range at=protocol", with_check("ask 1 hello protocol=0")),
    ("long", b"x" * (MAX_LINE + 1)),
    ("long", b"x" * 300),
    ("long", with_check("ask 1 beat " + "a" * 80)),
    ("check", b"stop\x00"),
    ("check", b"report\x00\x00"),
    ("check", b"x" * MAX_LINE),
    ("form", with_check("a" * (MAX_LINE - 6))),
]

# Frames that ask for another state than "idle, outputs on" are left to the conformance suite.
_STATELESS = [verb for verb in VERBS if verb not in ("pulse", "drive", "coil", "pair", "rise", "reset", "stop")]


def expected(line: bytes) -> str:
    """What a greeted board says to ``line``, its number being the right one."""
    item = decode(line.removesuffix(b"\r"))
    if isinstance(item, Bare):
        return "bare"
    if isinstance(item, Broken):
        return item.flaw
    if item.kind != "ask":
        return "form"
    if item.word not in VERBS:
        return "verb"
    refused = shape_refusal(item) or range_refusal(item)
    if refused is None:
        return "ok"
    word, fields = refused
    return f"{word} at={fields['at']}"


def _from_tables(rng: random.Random) -> list[bytes]:
    lines = []
    for verb in _STATELESS:
        for _ in range(6):
            fields: dict[str, int | str] = {}
            for rule in VERBS[verb]:
                if rule.name == "against":
                    fields[rule.name] = "supply"  # the other one is refused while outputs are on
                elif not isinstance(rule, Whole):
                    fields[rule.name] = rng.choice(rule.words)
                elif verb == "hello":
                    fields[rule.name] = 1
                elif rule.name == "channel":
                    fields[rule.name] = 0
                else:
                    span = [rule.low, rule.high, rng.randint(rule.low, rule.high)]
                    fields[rule.name] = rng.choice(span + [rule.low - 1, rule.high + 1] * (rng.random() < 0.2))
            names = list(fields)
            rng.shuffle(names)
            frame = Frame("ask", rng.randint(1, 65535), verb, {name: fields[name] for name in names})
            lines.append(encode(frame))
    return lines


def _damaged(rng: random.Random, lines: list[bytes]) -> list[bytes]:
    damaged = []
    for _ in range(300):
        line = bytearray(rng.choice(lines))
        how = rng.randrange(4)
        if how == 0:
            for _ in range(rng.randint(1, 3)):
                line[rng.randrange(len(line))] ^= 1 << rng.randrange(8)
        elif how == 1:
            del line[rng.randrange(len(line))]
        elif how == 2:
            line = line[: rng.randrange(len(line))]
        else:
            line.insert(rng.randrange(len(line)), rng.randrange(256))
        # A line end inside makes two lines of it, a stop byte none; that is the stream's business.
        if line and b"\n" not in line and STOP_BYTE not in line and not line.startswith(b"\r"):
            damaged.append(bytes(line))
    return damaged


def rows() -> list[tuple[str, bytes]]:
    """Every row of the corpus: what is expected, the line without its LF."""
    rng = random.Random(20240)
    lines = _from_tables(rng)
    return _BY_HAND + [(expected(line), line) for line in lines + _damaged(rng, lines)]


def escaped(line: bytes) -> str:
    """The line in printable characters."""
    return "".join(
        "\\\\" if byte == 0x5C else chr(byte) if 0x20 <= byte <= 0x7E else f"\\x{byte:02X}" for byte in line
    )


def unescaped(text: str) -> bytes:
    """The other way round."""
    return text.encode("ascii").decode("unicode_escape").encode("latin-1")


def text() -> str:
    """The whole file."""
    return "expect,line\n" + "".join(f"{expect},{escaped(line)}\n" for expect, line in rows())


if __name__ == "__main__":
    PATH.write_text(text(), encoding="ascii")
