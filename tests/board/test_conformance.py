"""One suite for every board: virtual, the compiled sketch in the simulator, and a real one (marked hardware).

Held to sketches/PROTOCOL.md; section numbers are that page's.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

import pytest

from coilbench.board.link.frames import STOP_BYTE, Frame, encode, with_check
from coilbench.board.link.link import Link
from tests.board import corpus
from tests.board.talk import Talk

MOVE = {"steps": 400, "start": 400, "run": 2000, "gain": 20_000}


@pytest.fixture
def board(any_link: Link) -> Any:
    """A greeted board."""
    made = Talk(any_link)
    made.yes("hello", protocol=1)
    return made


@pytest.fixture
def ready(board: Any) -> Any:
    """A greeted board with its outputs on."""
    board.yes("outputs", on=1)
    return board


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


def test_a_move_sent_twice_runs_once(ready: Any) -> None:
    move = encode(ready.frame("move", **MOVE))
    assert ready.say(move) == ready.say(move)
    assert ready.end().fields == {"why": "end", "pos": 400, "left": 0}
    assert ready.yes("beat")["pos"] == 400
    # And an old one runs never.
    assert ready.say(move).word == "order"
    assert ready.yes("beat") == {"state": "idle", "pos": 400, "rate": 0, "out": 1}


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


def test_a_wide_pulse_caps_the_rate(board: Any) -> None:
    wide = board.yes("pulse", high=30_000, low=30_000, setup=50_000)
    assert wide["high"] >= 30_000 and wide["low"] >= 30_000
    assert wide["highest"] <= 1_000_000_000 // 60_000
    board.yes("outputs", on=1)
    word, fields = board.no("move", **{**MOVE, "run": 50_000})
    assert word == "range" and fields["at"] == "run" and fields["high"] == wide["highest"]
    assert board.no("pulse", high=2500, low=2500, setup=5000) == ("on", {})


def test_a_trip_ends_where_it_began(ready: Any) -> None:
    answer = ready.yes("trip", **MOVE, rest=120, back=800)
    states = set()
    took_s = -ready.link.now()
    while not any(event.word == "stop" for event in ready.events):
        ready.wait(0.05)
        states.add(ready.yes("beat")["state"])
    took_s += ready.link.now()
    assert ready.event("stop").fields == {"why": "end", "pos": 0, "left": 0}
    assert states >= {"moving", "resting", "returning"}
    assert took_s == pytest.approx(answer["ms"] / 1000, abs=0.15)


def test_negative_moves_and_positions(ready: Any) -> None:
    ready.yes("move", **{**MOVE, "steps": -250})
    assert ready.end().whole("pos") == -250
    ready.yes("zero")
    assert ready.yes("beat")["pos"] == 0
    ready.yes("move", **{**MOVE, "steps": 1})
    assert ready.end().whole("pos") == 1


def test_busy_while_moving(ready: Any) -> None:
    ready.yes("move", steps=3000, start=1000, run=2000, gain=10_000)
    for verb, fields in [
        ("move", MOVE),
        ("trip", {**MOVE, "rest": 0, "back": 100}),
        ("zero", {}),
        ("outputs", {"on": 1}),
        ("outputs", {"on": 0}),
        ("supply", {}),
        ("read", {"channel": 0, "samples": 64}),
        ("drive", {"by": "driver"}),
        ("pulse", {"high": 2500, "low": 2500, "setup": 5000}),
    ]:
        word, said = ready.no(verb, **fields)
        assert word == "busy" and said["state"] == "moving", verb
    assert ready.yes("index")["level"] in (0, 1)
    stop = ready.end()
    assert stop.fields == {"why": "end", "pos": 3000, "left": 0}


def test_progress_is_told(ready: Any) -> None:
    ready.yes("move", steps=1000, start=1000, run=1000, gain=10_000)
    first = ready.event("progress").fields
    assert first["state"] == "moving" and first["rate"] == pytest.approx(1000, rel=0.02)
    assert first["pos"] + first["left"] == 1000
    assert 60 <= first["pos"] <= 160
    ready.end()


def test_ease_slows_down_and_keeps_the_outputs_on(ready: Any) -> None:
    ready.yes("move", steps=20_000, start=500, run=4000, gain=20_000)
    ready.wait(0.4)
    ready.yes("ease")
    stop = ready.end()
    assert stop.fields["why"] == "eased"
    assert stop.whole("pos") + stop.whole("left") == 20_000
    assert ready.yes("beat") == {"state": "idle", "pos": stop.fields["pos"], "rate": 0, "out": 1}
    ready.yes("ease")  # no effect when idle


@pytest.mark.parametrize("bare", [True, False])
def test_stop_is_at_once_and_switches_off(ready: Any, bare: bool) -> None:
    ready.yes("move", steps=20_000, start=500, run=4000, gain=20_000)
    ready.wait(0.3)
    answer = ready.say(b"stop") if bare else ready.ask("stop")
    stop = ready.event("stop")
    assert stop.fields["why"] == "stopped"
    assert stop.whole("pos") + stop.whole("left") == 20_000
    assert abs(answer.whole("pos") - stop.whole("pos")) <= 1
    ready.wait(0.2)
    assert ready.yes("beat") == {"state": "idle", "pos": stop.fields["pos"], "rate": 0, "out": 0}
    assert ready.no("move", **MOVE) == ("off", {})


def test_one_byte_stops_within_a_line_and_drops_what_was_before_it(ready: Any) -> None:
    ready.yes("move", steps=20_000, start=500, run=4000, gain=20_000)
    ready.wait(0.3)
    answer = ready.say(b"ask 7 be" + STOP_BYTE)
    assert (answer.kind, answer.number, answer.word) == ("yes", 0, "stop")
    assert ready.event("stop").fields["why"] == "stopped"
    assert ready.yes("beat") == {"state": "idle", "pos": answer.fields["pos"], "rate": 0, "out": 0}


@pytest.mark.parametrize("line", [b"STOP", b"stop ", b"  Report"])
def test_a_line_without_a_check_is_understood_as_it_is_typed(ready: Any, line: bytes) -> None:
    assert ready.say(line).word == line.decode().strip().lower()


def test_lost_beats_cut_a_fast_move_and_ease_a_slow_one(ready: Any) -> None:
    ready.yes("move", steps=100_000, start=500, run=20_000, gain=50_000)
    began_s = ready.link.now()
    stop = ready.event("stop", 1.0)
    assert stop.fields["why"] == "beat"
    assert ready.link.now() - began_s <= 0.6
    assert ready.event("off").fields == {"why": "beat"}
    state = ready.yes("beat")
    assert state["state"] == "idle" and state["out"] == 0
    ready.yes("outputs", on=1)
    ready.yes("move", steps=10_000, start=500, run=1000, gain=20_000)
    stop = ready.event("stop", 1.0)
    assert stop.fields["why"] == "beat" and stop.whole("left") > 0
    assert ready.event("off").fields == {"why": "beat"}


def rested(board: Any, on_ms: int = 20_000) -> None:
    """Wait until the coil budget holds what it does after power-up: no reset gives it back."""
    left = board.yes("limits", of="coils")
    board.wait(max(5000 - left["standleft"], 3 * (on_ms - left["onleft"]), 1) / 1000)


@pytest.mark.parametrize("which", ["last", "older"])
def test_an_old_frame_is_no_sign_of_life(ready: Any, which: str) -> None:
    """Something on the way that says one line again and again keeps no motor running."""
    old = [encode(ready.frame("beat")) for _ in range(2)]
    for line in old:
        ready.say(line)
    ready.yes("move", steps=100_000, start=500, run=4000, gain=20_000)
    if which == "last":
        old.append(encode(ready.frame("beat")))
    began_s = ready.link.now()
    while not any(event.word == "stop" for event in ready.events):
        answer = ready.say(old[-1])
        assert answer.word == ("beat" if which == "last" else "order")
        ready.answer(0.1)
        assert ready.link.now() - began_s < 1.0
    assert ready.event("stop").fields["why"] == "beat"


def test_coil_patterns(board: Any) -> None:
    rested(board)
    assert board.no("coil", pattern=1, ms=100) == ("by", {})
    assert board.yes("drive", by="coils", form="half") == {"by": "coils", "form": "half"}
    assert board.no("coil", pattern=5, ms=100) == ("range", {"at": "pattern"})
    board.yes("coil", pattern=3, ms=300)
    state = board.yes("beat")
    assert (state["state"], state["out"]) == ("coil", 1)
    assert board.event("off").fields == {"why": "time"}
    for _ in range(2):
        board.yes("coil", pattern=9, ms=2000)
        board.event("off", 3.0)
    word, fields = board.no("coil", pattern=9, ms=2000)
    assert word == "duty" and 0 < fields["wait"] <= 2000
    assert board.no("drive", by="driver", form="wave") == ("range", {"at": "form"})
    board.yes("drive", by="driver")


def test_a_coil_driven_move(board: Any) -> None:
    rested(board)
    board.yes("drive", by="coils")
    assert board.yes("limits", of="rates")["highest"] <= 60_000
    board.yes("outputs", on=1)
    board.yes("move", steps=30, start=50, run=100, gain=500)
    assert board.end().whole("pos") == 30
    trip = {**MOVE, "back": 100}
    assert board.no("trip", **trip, rest=2001) == ("range", {"at": "rest", "low": 0, "high": 2000})
    assert board.no("move", **{**MOVE, "run": 60_001})[1]["at"] == "run"


def test_the_time_that_coil_lines_are_on_is_limited_whatever_the_motion(board: Any) -> None:
    """A motion is refused unless all of it, or all there can be, is left; what is used up comes back by a third."""
    rested(board)
    board.yes("drive", by="coils", form="half")
    left = board.yes("limits", of="coils")
    assert (left["stand"], left["on"], left["back"]) == (5000, 60_000, 3)
    board.yes("outputs", on=1)
    for steps in (1000, 9_999_999):  # a hundred seconds at the slowest, and for ever: neither is begun
        word, fields = board.no("move", steps=steps, start=10, run=10, gain=1)
        assert word == "duty" and fields["wait"] == pytest.approx(3 * (50_000 - left["onleft"]), abs=300)
    board.yes("trip", steps=500, start=100, run=100, gain=1000, rest=300, back=100)
    assert board.end().fields == {"why": "end", "pos": 0, "left": 0}
    board.yes("outputs", on=0)
    left = board.yes("limits", of="coils")
    assert left["onleft"] <= 9800 and left["standleft"] <= 4700
    board.yes("outputs", on=1)
    again = {"steps": 500, "start": 100, "run": 100, "gain": 1000, "rest": 300, "back": 100}
    word, fields = board.no("trip", **again)
    assert word == "duty" and fields["wait"] >= 1500
    board.yes("outputs", on=0)
    board.wait(fields["wait"] / 1000 + 0.1)
    board.yes("outputs", on=1)
    board.yes("trip", **again)
    board.yes("stop")


def test_a_reset_gives_none_of_the_coil_budget_back(board: Any) -> None:
    rested(board)
    board.yes("drive", by="coils")
    for _ in range(2):
        board.yes("coil", pattern=3, ms=2000)
        board.event("off", 3.0)
    left = board.yes("limits", of="coils")
    board.yes("reset")
    board.number = board.event("hello").whole("next")
    board.yes("hello", protocol=1)
    after = board.yes("limits", of="coils")
    assert left["onleft"] <= after["onleft"] <= left["onleft"] + 100
    board.yes("drive", by="coils")
    assert board.no("coil", pattern=3, ms=2000)[0] == "duty"


def _until_refused(board: Any, ask: Callable[[], Frame]) -> float:
    """Seconds until ``ask`` is refused for want of coil budget."""
    began_s = board.link.now()
    while (answer := ask()).kind == "yes":
        assert board.link.now() - began_s < 10
    assert answer.word == "duty" and 0 < answer.whole("wait") <= 5000, answer
    return float(board.link.now() - began_s)


def test_a_pattern_stands_no_longer_by_another_verb(board: Any) -> None:
    """`outputs on=1` over and over: refused when what may stand is used up, and allowed again after the wait."""

    def again() -> Frame:
        board.wait(0.5)
        answer: Frame = board.ask("outputs", on=1)
        return answer

    rested(board)
    board.yes("drive", by="coils")
    board.yes("outputs", on=1)
    assert 2.9 <= _until_refused(board, again) <= 3.7
    assert board.event("off", 3.0).fields == {"why": "idle"}
    refused = board.ask("outputs", on=1)
    assert refused.word == "duty"
    board.wait(refused.whole("wait") / 1000)
    board.yes("outputs", on=1)


def test_shuttling_by_a_step_is_standing(board: Any) -> None:
    rested(board)
    board.yes("drive", by="coils")
    board.yes("idle", ms=100)
    board.yes("outputs", on=1)
    steps = [1]

    def shuttle() -> Frame:
        steps[0] = -steps[0]
        answer: Frame = board.ask("move", steps=steps[0], start=10, run=10, gain=1)
        if answer.kind == "yes":
            board.event("stop")
        return answer

    assert 3.5 <= _until_refused(board, shuttle) <= 4.8
    board.event("off")


def test_a_budget_that_runs_out_in_a_move_ends_it(board: Any) -> None:
    """Two ways of 8 steps at 10 a second: 1.6 s of standing."""
    rested(board)
    board.yes("drive", by="coils")
    board.yes("idle", ms=100)
    for _ in range(2):
        board.yes("coil", pattern=3, ms=1800)
        board.event("off", 3.0)
    board.yes("outputs", on=1)
    board.yes("trip", steps=8, start=10, run=10, gain=1, rest=0, back=10)
    stop = board.end().fields
    assert stop["why"] == "duty" and 0 < stop["left"] < 8 and stop["pos"] == stop["left"]
    assert board.event("off").fields == {"why": "duty"}
    state = board.yes("beat")
    assert (state["state"], state["out"]) == ("idle", 0)


def test_outputs_go_off_after_the_idle_time(ready: Any) -> None:
    assert ready.yes("idle", ms=150) == {"ms": 150}
    ready.yes("move", **MOVE)
    ready.end()
    assert ready.event("off").fields == {"why": "idle"}
    assert ready.yes("beat")["out"] == 0


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


def test_no_output_is_on_while_the_supply_is_not_watched(ready: Any) -> None:
    assert ready.no("read", channel=0, against="bandgap") == ("on", {})
    assert ready.yes("read", channel=0, samples=64)["supply"] > 4000


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
