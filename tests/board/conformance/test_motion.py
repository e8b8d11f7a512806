"""What every board does while it moves a motor, and how it stops."""

from __future__ import annotations

from typing import Any

import pytest

from coilbench.board.link.frames import STOP_BYTE, encode
from tests.board.talk import MOVE


def test_a_move_sent_twice_runs_once(ready: Any) -> None:
    move = encode(ready.frame("move", **MOVE))
    assert ready.say(move) == ready.say(move)
    assert ready.end().fields == {"why": "end", "pos": 400, "left": 0}
    assert ready.yes("beat")["pos"] == 400
    # And an old one runs never.
    assert ready.say(move).word == "order"
    assert ready.yes("beat") == {"state": "idle", "pos": 400, "rate": 0, "out": 1}


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


def test_a_pace_is_a_step_at_a_time(ready: Any) -> None:
    assert ready.no("pace", steps=1, each=99) == ("range", {"at": "each", "low": 100, "high": 10_000})
    assert ready.no("pace", steps=10_000, each=100)[1]["at"] == "steps"
    assert ready.yes("pace", steps=3, each=200) == {"ms": 600}
    began_s, places = ready.link.now(), []
    while not any(event.word == "stop" for event in ready.events):
        ready.wait(0.02)
        places.append(ready.yes("beat")["pos"])
    assert ready.link.now() - began_s == pytest.approx(0.6, abs=0.07)
    assert [places.count(place) > 3 for place in (0, 1, 2)] == [True] * 3
    assert ready.event("stop").fields == {"why": "end", "pos": 3, "left": 0}
    ready.yes("pace", steps=-5, each=150)
    ready.wait(0.37)
    assert ready.yes("beat") == {"state": "resting", "pos": 1, "rate": 0, "out": 1}
    ready.yes("ease")
    assert ready.end().fields == {"why": "eased", "pos": 1, "left": 3}
    ready.yes("pace", steps=2, each=10_000)
    ready.wait(0.1)
    ready.say(STOP_BYTE + b"\n")
    assert ready.event("stop").fields == {"why": "stopped", "pos": 1, "left": 2}


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


def test_outputs_go_off_after_the_idle_time(ready: Any) -> None:
    assert ready.yes("idle", ms=150) == {"ms": 150}
    ready.yes("move", **MOVE)
    ready.end()
    assert ready.event("off").fields == {"why": "idle"}
    assert ready.yes("beat")["out"] == 0


def test_no_output_is_on_while_the_supply_is_not_watched(ready: Any) -> None:
    assert ready.no("read", channel=0, against="bandgap") == ("on", {})
    assert ready.yes("read", channel=0, samples=64)["supply"] > 4000
