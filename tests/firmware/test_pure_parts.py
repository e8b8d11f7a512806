"""The sketch's frames, ramps and limits on this computer, with sanitizers, from the corpus the Python codec uses."""

from __future__ import annotations

import math
import random
import subprocess
from collections import Counter
from collections.abc import Callable

import pytest

from coilbench.board.link.frames import Broken, Frame, decode, encode, with_check
from tests.board import corpus
from tests.firmware import toolchain

Program = Callable[..., list[str]]
MOVE = Frame("ask", 4321, "move", {"steps": 2000, "start": 400, "gain": 4000, "run": 8000})


@pytest.fixture(scope="module")
def program() -> Program:
    """Runs the host program; its output lines. A sanitizer's complaint fails the test."""
    path = toolchain.host_program()

    def run(*arguments: object, given: bytes = b"") -> list[str]:
        done = subprocess.run([str(path), *map(str, arguments)], input=given, capture_output=True, check=False)
        assert done.returncode == 0, done.stderr.decode(errors="replace")
        return done.stdout.decode("ascii", errors="replace").splitlines()

    return run


def test_the_corpus_gets_the_verdicts_it_names(program: Program) -> None:
    rows = [row.partition(",") for row in corpus.PATH.read_text(encoding="ascii").splitlines()[1:]]
    lines = [corpus.unescaped(text) for _, _, text in rows]
    verdicts = program("lines", given=b"\n".join(lines) + b"\n")
    assert verdicts == [expect for expect, _, _ in rows]


def test_empty_lines_and_a_line_in_pieces(program: Program) -> None:
    assert program("lines", given=b"\n\r\n\n" + encode(MOVE) + b"\r\n\n") == ["ok"]
    assert program("lines", given=b"stop") == []  # not ended yet


def mutated(rng: random.Random, line: bytes) -> bytes:
    """One of: random bytes, flipped bits, a cut, a splice, a repeated piece, dropped characters."""
    how = rng.randrange(6)
    data = bytearray(line)
    if how == 0:
        return bytes(rng.randrange(256) for _ in range(rng.randrange(1, 130)))
    if how == 1:
        for _ in range(rng.randint(1, 3)):
            data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    elif how == 2:
        del data[rng.randrange(len(data)) :]
    elif how == 3:
        other = encode(Frame("ask", rng.randint(1, 65535), "beat"))
        data = data[: rng.randrange(len(data))] + other[rng.randrange(len(other)) :]
    elif how == 4:
        place = rng.randrange(len(data))
        data[place:place] = data[: rng.randrange(len(data))]
    else:
        for _ in range(rng.randint(1, 4)):
            del data[rng.randrange(len(data))]
    return bytes(data)


@pytest.mark.long("sketch")
def test_100_000_mutated_frames(program: Program) -> None:
    """No crash; every line gets the verdict that the Python codec gives it; the next good frame is read."""
    rng = random.Random(3)
    lines = []
    while len(lines) < 100_000:
        line = mutated(rng, encode(MOVE)).replace(b"\n", b"")
        if line.removesuffix(b"\r"):
            lines.append(line)
    good = encode(Frame("ask", 7, "beat"))
    verdicts = program("lines", given=b"".join(line + b"\n" + good + b"\n" for line in lines))
    assert len(verdicts) == 200_000
    assert set(verdicts[1::2]) == {"ok"}
    for line, verdict in zip(lines, verdicts[::2], strict=True):
        item = decode(line.removesuffix(b"\r"))
        if isinstance(item, Broken):
            assert verdict == item.flaw, line
        else:
            assert verdict not in ("check", "form", "long"), line


def test_whole_frames_with_wild_contents(program: Program) -> None:
    """Frames that pass the check, with anything in them: refused or in range, exactly as the bench's tables say."""
    rng = random.Random(8)
    names = ["steps", "start", "run", "gain", "rest", "back", "of", "by", "form", "ms", "on", "pattern", "protocol"]
    names += ["channel", "samples", "against", "high", "low", "setup", "x"]
    values: list[int | str] = ["driver", "coils", "sense", "rates", "wave", "half", "full", "coil", "a-1,b", 0, 1, -1]
    values += ["supply", "bandgap"]
    values += [2, 5, 9, 10, 15, 16, 100, 2500, 30_000, 60_000, 100_000, 100_001, 9_999_999, -9_999_999, 10_000_000]
    verbs = [
        "hello",
        "pins",
        "limits",
        "pulse",
        "drive",
        "idle",
        "outputs",
        "move",
        "trip",
        "coil",
        "read",
        "stop",
        "up",
    ]
    own = {
        "move": ["steps", "start", "run", "gain"],
        "trip": ["steps", "start", "run", "gain", "rest", "back"],
        "pulse": ["high", "low", "setup"],
        "coil": ["pattern", "ms"],
        "drive": ["by", "form"],
    }
    lines = []
    while len(lines) < 30_000:
        verb = rng.choice(verbs)
        fields = rng.sample(own.get(verb, names), rng.randint(0, 1) if verb not in own else len(own[verb]))
        if rng.random() < 0.2:
            fields = rng.sample(names, rng.randint(0, 3))
        body = " ".join(
            ["ask", str(rng.randint(1, 65535)), verb, *(f"{name}={rng.choice(values)}" for name in fields)]
        )
        line = with_check(body)
        if len(line) <= 96:
            lines.append(line)
    verdicts = program("lines", given=b"\n".join(lines) + b"\n")
    assert verdicts == [corpus.expected(line) for line in lines]
    assert verdicts.count("ok") > 300


def test_every_small_error_of_a_frame_is_seen(program: Program) -> None:
    """All single and double flips near each other, bursts up to 16 bits, sampled triples, every cut."""
    rng = random.Random(4)
    whole = encode(MOVE)
    bits = len(whole) * 8
    flips = [{place} for place in range(bits)]
    flips += [{a, b} for a in range(bits) for b in range(a + 1, min(a + 40, bits))]
    flips += [set(rng.sample(range(bits), 3)) for _ in range(20_000)]
    for _ in range(20_000):
        first, length = rng.randrange(bits - 16), rng.randint(2, 16)
        inner = {first + place for place in range(1, length - 1) if rng.random() < 0.5}
        flips.append({first, first + length - 1} | inner)
    lines = [whole[:length] for length in range(1, len(whole))]
    for flip in flips:
        line = bytearray(whole)
        for place in flip:
            line[place // 8] ^= 1 << place % 8
        lines.append(bytes(line))
    lines = [line for line in lines if b"\n" not in line and line.removesuffix(b"\r")]
    verdicts = Counter(program("lines", given=b"\n".join(lines) + b"\n"))
    assert verdicts["ok"] == 0 and set(verdicts) <= {"check", "form"}


def test_frames_written_are_frames_read(program: Program) -> None:
    (line,) = program("write", "yes", 65535, given=b"pos -9999999 left 0 why eased-a,b ms 2147483647")
    body, _, _ = line.rpartition("~")
    assert body == "yes 65535 word pos=-9999999 left=0 why=eased-a,b ms=2147483647 "
    assert line.encode() == with_check(body.rstrip())
    fits = b"a 123456789 " * 6
    (line,) = program("write", "yes", 1, given=fits + b"bcdef 1")
    assert len(line) == 96 and "bcdef=1 ~" in line
    for more in (b"bcdef 11", b"bcdefg 1", b"bcdef 1 g 1", fits, fits * 4):  # said to be too long, in a whole frame
        (line,) = program("write", "yes", 1, given=fits + more)
        assert line == with_check("no 1 overflow").decode()
    (line,) = program("write", "tell", 7, given=b"abcdefgh 123456789 " * 20)
    assert line == with_check("tell 7 overflow").decode()


Plan = list[tuple[int, int, int]]


def planned(program: Program, *numbers: int) -> tuple[int, Plan]:
    """Stated duration, ms, and the slices (steps, cycles, rate)."""
    head, *rest = program("ramp", *numbers)
    return int(head.split()[1]), [(int(a), int(b), int(c)) for a, b, c in map(str.split, rest)]


@pytest.mark.parametrize(
    ("steps", "start", "run", "gain"),
    [
        (1, 10, 100_000, 1),
        (2, 400, 8000, 4000),
        (3, 400, 8000, 4000),
        (100, 500, 20_000, 1000),
        (20_000, 1000, 100_000, 400_000),
        (9_999, 10, 100_000, 9_999_999),
        (40_000, 20_000, 60_000, 200_000),
        (5000, 3000, 3000, 77),
        (300_000, 10, 70_001, 30_000),
    ],
)
def test_ramps(program: Program, steps: int, start: int, run: int, gain: int) -> None:
    """Exact steps; never above the cruise rate nor steeper than the gain; ends as slowly as it began."""
    stated_ms, plan = planned(program, steps, start, run, gain)
    assert sum(made for made, _, _ in plan) == steps
    seconds = [(made, cycles / 16e6) for made, cycles, _ in plan]
    rates = [made / time for made, time in seconds]
    assert max(rates) <= run * 1.0005
    for place in (0, -1):  # over steps from or to the starting rate the mean rate is that of both ends
        top = min(math.sqrt(start**2 + 2 * gain * plan[place][0]), run)
        assert rates[place] == pytest.approx((min(start, run) + top) / 2, rel=1e-3)
    # v^2 rises by no more than 2 a s: constant acceleration (a law of motion).
    gone = 0
    for made, rate in zip((made for made, _, _ in plan), rates, strict=True):
        assert rate**2 <= (min(start, run) ** 2 + 2 * gain * (gone + made)) * 1.001
        gone += made
    if steps > 1000:
        assert sum(time for _, time in seconds) * 1000 == pytest.approx(stated_ms, rel=0.01, abs=2)


def test_the_ramp_follows_the_closed_form(program: Program) -> None:
    """t(n) = (sqrt(v0^2 + 2 a n) - v0) / a for n steps from v0 (constant acceleration)."""
    _, plan = planned(program, 20_000, 1000, 40_000, 100_000)
    gone, time = -1, -plan[0][1] / 16e6  # the first interval waits at the starting rate, outside the ramp
    for made, cycles, rate in plan:
        gone += made
        time += cycles / 16e6
        if rate >= 39_000:
            break
        closed = (math.sqrt(1000**2 + 2 * 100_000 * gone) - 1000) / 100_000
        assert time == pytest.approx(closed, abs=0.0005)


def test_cruise_rate_is_exact_to_a_cycle(program: Program) -> None:
    _, plan = planned(program, 1_000_000, 99_991, 99_991, 1)
    cycles = sum(cycles for _, cycles, _ in plan)
    assert cycles == pytest.approx(1_000_000 * 16e6 / 99_991, abs=1)


def test_ease_ends_within_its_gain(program: Program) -> None:
    _, plan = planned(program, 100_000, 500, 10_000, 50_000, 300)
    made = sum(steps for steps, _, _ in plan)
    eased = made - sum(steps for steps, _, _ in plan[:301])
    assert eased == pytest.approx((10_000**2 - 500**2) / (2 * 50_000), abs=2)
    assert plan[-1][2] == pytest.approx(500, rel=0.13)


def test_highest_rate_by_pulse(program: Program) -> None:
    assert program("rate", 40, 40) == ["100000"]
    for high in (41, 160, 480):
        for low in (40, 160, 480):
            (rate,) = map(int, program("rate", high, low))
            assert 16e6 / rate >= high + low + 60
