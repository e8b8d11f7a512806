"""What every board does with a motor's coils, and for how long it may."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from coilbench.board.link.frames import Frame
from tests.board.talk import MOVE


def rested(board: Any, on_ms: int = 20_000) -> None:
    """Wait until the coil budget holds what it does after power-up: no reset gives it back."""
    left = board.yes("limits", of="coils")
    board.wait(max(5000 - left["standleft"], 3 * (on_ms - left["onleft"]), 1) / 1000)


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


def test_a_pace_leaves_the_coils_off_most_of_the_time(board: Any) -> None:
    """For a quarter of it they are on, so that it could go on for ever."""
    rested(board)
    board.yes("drive", by="coils", form="wave")
    board.yes("outputs", on=1)
    before = board.yes("limits", of="coils")
    assert board.yes("pace", steps=-4, each=600) == {"ms": 2400}
    seen = []
    while not any(event.word == "stop" for event in board.events):
        board.wait(0.05)
        seen.append(board.yes("beat"))
    assert board.event("stop").fields == {"why": "end", "pos": -4, "left": 0}
    assert {state["state"] for state in seen[:-1]} <= {"resting", "moving"}
    on = sum(state["out"] for state in seen[:-1])
    assert len(seen) / 8 < on < len(seen) / 2.5, seen
    left = board.yes("limits", of="coils")
    assert left["standleft"] > 4000 and left["onleft"] > before["onleft"] - 500
    board.yes("outputs", on=0)


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
