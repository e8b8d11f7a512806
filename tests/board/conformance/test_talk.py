"""What every board says of itself, reads, counts and refuses."""

from __future__ import annotations

import random
from typing import Any

import pytest

from coilbench.board.link.frames import Frame, encode, with_check
from coilbench.board.link.link import Link
from tests.board import corpus
from tests.board.talk import MOVE, Talk


def test_first_words(any_link: Link) -> None:
    board = Talk(any_link)
    assert board.hello.whole("protocol") == 1 and board.hello.number == 1
    assert board.no("beat") == ("greet", {})
    assert board.no("move", **MOVE) == ("greet", {})
    refused = board.no("hello", protocol=7)
    assert refused == ("range", {"at": "protocol", "low": 1, "high": 1})
    assert board.no("beat")[0] == "greet"
    hello = board.yes("hello", protocol=1)
    assert set(hello) == {"protocol", "sketch", "chip", "can"}
    assert board.yes("beat") == {"state": "idle", "pos": 0, "rate": 0, "out": 0}


def test_a_person_at_a_terminal_can_look_and_stop(board: Any) -> None:
    report = board.say(b"report")
    assert (report.kind, report.number, report.word) == ("yes", 0, "report")
    assert report.whole("next") == board.number
    stop = board.say(b"stop\r")
    assert (stop.kind, stop.number, stop.word, stop.fields) == ("yes", 0, "stop", {"pos": 0})
    assert board.yes("report") == {**report.fields, "next": board.number}


def test_numbers(ready: Any) -> None:
    first = ready.frame("beat")
    answer = ready.say(encode(first))
    assert ready.say(encode(first)) == answer
    assert ready.say(encode(Frame("ask", first.number, "report"))) == Frame("no", first.number, "reused")
    for wrong in (ready.number % 65535 + 1, (ready.number + 40_000) % 65535 + 1):
        refused = ready.say(encode(Frame("ask", wrong, "beat")))
        assert refused == Frame("no", wrong, "order", {"next": ready.number})
    # A refused frame is taken: its number is used up.
    used = ready.number
    assert ready.no("jump") == ("verb", {})
    assert ready.say(b"report").whole("next") == used % 65535 + 1


def test_the_list_of_lines(ready: Any) -> None:
    """Every line of corpus.csv that asks for no motion, answered as the list says."""
    ready.link.send_line(b"")
    rows = corpus.PATH.read_text(encoding="ascii").splitlines()[1:]
    for row in rows:
        expect, _, text = row.partition(",")
        line = corpus.unescaped(text)
        if expect == "ok":
            continue  # depends on the state; the other tests have these
        if expect.split()[0] in ("verb", "field", "range"):
            body = line.removesuffix(b"\r")[:-6].split(b" ", 2)[2].decode("ascii")
            line = with_check(f"ask {ready.number} {body}")
            if len(line) > 96:
                continue  # grew by its number
            ready.number = ready.number % 65535 + 1
        answer = ready.say(line)
        if expect == "bare":
            assert (answer.kind, answer.number) == ("yes", 0), row
            continue
        got = answer.word + (f" at={answer.fields['at']}" if "at" in answer.fields else "")
        assert got == expect, row
    counts = ready.yes("counts")
    assert counts["bad"] > 0 and counts["long"] > 0 and counts["lost"] == 0


def test_pins_and_limits(board: Any) -> None:
    assert set(board.yes("pins", of="driver")) == {"step", "dir", "enable", "active"}
    assert set(board.yes("pins", of="coils")) == {"a", "b", "c", "d", "active"}
    assert set(board.yes("pins", of="sense")) == {"index", "first", "channels"}
    rates = board.yes("limits", of="rates")
    assert rates["lowest"] == 10 and rates["highest"] >= 60_000
    times = board.yes("limits", of="times")
    assert times["beat"] == 500 and times["ease"] == 100 and times["line"] == 96
    assert board.yes("limits", of="coils")["pattern"] == 2000


@pytest.mark.parametrize("line", [b"STOP", b"stop ", b"  Report"])
def test_a_line_without_a_check_is_understood_as_it_is_typed(ready: Any, line: bytes) -> None:
    assert ready.say(line).word == line.decode().strip().lower()


def test_readings(board: Any) -> None:
    supply = board.yes("supply")["mv"]
    assert 4000 < supply < 6000
    reading = board.yes("read", channel=0)
    assert 0 <= reading["raw"] <= 1023 and 0 <= reading["mv"] <= supply
    assert reading["supply"] == pytest.approx(supply, rel=0.01)
    many = board.yes("read", channel=0, samples=64, against="supply")
    assert 0 <= many["raw"] <= 64 * 1023 and many["mv"] == many["raw"] * many["supply"] // 1024 // 64
    assert board.yes("read", channel=0, samples=64, against="bandgap")["mv"] <= 1320
    assert board.no("read", channel=0, samples=65) == ("range", {"at": "samples", "low": 1, "high": 64})
    assert board.no("read", channel=0, against="usb") == ("range", {"at": "against"})
    channels = board.yes("pins", of="sense")["channels"]
    if channels < 16:
        word, fields = board.no("read", channel=channels)
        assert word == "range" and fields == {"at": "channel", "low": 0, "high": channels - 1}


def test_what_a_meter_told_of_the_reference_is_kept(board: Any) -> None:
    """Over a reset, in all that goes by it; nonsense isn't. What the board had stands there again at the end."""
    before = board.yes("scale")
    assert board.no("scale", bandgap=979) == ("range", {"at": "bandgap", "low": 980, "high": 1220})
    assert board.no("scale", bandgap=1221)[0] == "range" and board.yes("scale") == before
    told = board.yes("supply")["mv"]
    assert board.yes("scale", bandgap=1000) == {"bandgap": 1000, "kept": 1}
    assert board.yes("supply")["mv"] == pytest.approx(told * 1000 / before["bandgap"], rel=0.01)
    read = board.yes("read", channel=0, samples=64, against="bandgap")
    assert read["mv"] == read["raw"] * 1000 // 1024 // 64
    board.yes("reset")
    board.number = board.event("hello").whole("next")
    board.yes("hello", protocol=1)
    assert board.yes("scale") == {"bandgap": 1000, "kept": 1}
    board.yes("scale", bandgap=before["bandgap"])
    board.yes("outputs", on=1)
    board.yes("move", **MOVE)
    assert board.no("scale")[0] == "busy"


def test_clips_are_a_wiring_of_their_own(board: Any) -> None:
    names = list(board.yes("pins", of="clips"))
    assert names == list("abcdefgh")[: len(names)] and len(names) >= 2
    assert board.no("pair", high=1, low=2) == ("by", {})
    assert board.no("drive", by="clips", form="full") == ("range", {"at": "form"})
    assert board.yes("drive", by="clips")["by"] == "clips"
    assert board.no("outputs", on=1) == ("by", {}) and board.no("coil", pattern=1, ms=10) == ("by", {})
    word, fields = board.no("pair", high=9, low=1)
    assert word == "range" and fields["at"] == "high" and fields["low"] == 1
    assert board.no("pair", high=2, low=2) == ("range", {"at": "low"})
    assert board.no("rise", high=2, low=2, see=1, at=16) == ("range", {"at": "low"})
    assert board.no("rise", high=1, low=2, see=1, at=15) == ("range", {"at": "at", "low": 16, "high": 16_000})
    assert board.no("rise", high=1, low=2, at=100) == ("field", {"at": "see"})
    assert board.no("rise", high=1, low=2, see=2, at=100, hold=9)[0] == "range"
    board.yes("drive", by="driver")
    board.yes("outputs", on=1)
    assert board.no("drive", by="clips") == ("on", {})


def test_reset_is_as_after_power_up(ready: Any) -> None:
    ready.yes("move", steps=20_000, start=500, run=4000, gain=20_000)
    ready.wait(0.2)
    ready.yes("reset")
    hello = ready.event("hello")
    assert hello.fields["why"] == "asked"
    ready.number = hello.whole("next")
    assert ready.no("beat") == ("greet", {})
    ready.yes("hello", protocol=1)
    assert ready.yes("beat") == {"state": "idle", "pos": 0, "rate": 0, "out": 0}


def test_events_are_counted_without_a_gap(ready: Any) -> None:
    ready.yes("move", steps=2000, start=1000, run=2000, gain=10_000)
    numbers = [ready.end().number, *(event.number for event in ready.events)]
    assert sorted(numbers) == list(range(2, 2 + len(numbers)))


def test_damaged_frames_move_nothing(ready: Any) -> None:
    rng = random.Random(7)
    whole = encode(Frame("ask", ready.number, "move", dict(MOVE)))
    for _ in range(300):
        line = bytearray(whole)
        for place in rng.sample(range(len(line) * 8), rng.randint(1, 3)):
            line[place // 8] ^= 1 << place % 8
        ready.link.send_line(bytes(line))
        ready.answer(0.02)
    ready.link.send_line(b"")
    while ready.answer(0.3) is not None:
        pass  # a flip may have made two lines of one
    assert ready.say(b"report").whole("next") == ready.number
    assert ready.yes("beat")["pos"] == 0
