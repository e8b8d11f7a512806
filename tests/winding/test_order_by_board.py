"""The twitch test by a board's coil lines: one wiring for all tests of a motor, and what its answers mean."""

from __future__ import annotations

import pytest

from coilbench.winding.order.by_board import answer_of, board_steps, line_wiring
from coilbench.winding.order.judging import judge_order
from coilbench.winding.order.types import OrderQuestion, OrderTest

FIVE = OrderQuestion(ends=("a", "b", "c", "d"), supply=("e",) * 4)
SIX = OrderQuestion(ends=("a", "b", "c", "d"), supply=("x", "x", "y", "y"), phases=(("a", "b"), ("c", "d")))
EIGHT = OrderQuestion(halves=(("a", "A"), ("b", "B"), ("c", "C"), ("d", "D")))


def nudged(places: dict[str, int], reference: str, touched: str) -> float:
    """A sound shaft, full steps: an end to its neighbour one step, to its partner none."""
    return {0: 0.0, 1: 1.0, 2: 0.0, 3: -1.0}[(places[touched] - places[reference]) % 4]


@pytest.mark.parametrize(
    ("question", "places"),
    [
        (FIVE, {"a": 0, "b": 1, "c": 2, "d": 3}),
        (FIVE, {"a": 0, "b": 2, "c": 1, "d": 3}),
        (FIVE, {"a": 3, "b": 2, "c": 0, "d": 1}),
        (SIX, {"a": 0, "b": 2, "c": 1, "d": 3}),
        (SIX, {"a": 0, "b": 2, "c": 3, "d": 1}),
    ],
)
def test_nudges_find_the_sequence_with_one_wiring(question: OrderQuestion, places: dict[str, int]) -> None:
    tests: list[OrderTest] = []
    wired = set()
    for _ in range(12):
        order = judge_order(question, tests)
        if order.next is None:
            break
        lines = line_wiring(question, order)
        assert lines is not None
        wired.add(lines)
        test = order.next
        assert lines.line(test.reference) != lines.line(test.touched)
        answer = answer_of(nudged(places, test.reference, test.touched))
        tests.append(OrderTest("twitch", test.reference, test.touched, answer))
    assert order.done and len(wired) == 1
    ring = [places[end] for end in order.sequence]
    assert [(place - ring[0]) % 4 for place in ring] == [0, 1, 2, 3]


def test_ends_of_one_phase_sit_on_opposite_lines() -> None:
    lines = line_wiring(SIX, judge_order(SIX, []))
    assert lines is not None and lines.ends == ("a", "c", "b", "d") and lines.supply == ("x", "y")


def test_eight_leads_wait_for_their_pairs() -> None:
    assert line_wiring(EIGHT, judge_order(EIGHT, [])) is None
    kicks = {("a", "c"): "plus", ("a", "b"): "none", ("a", "d"): "none", ("b", "d"): "minus"}
    tests = [OrderTest("flick", one, other, answer) for (one, other), answer in kicks.items()] * 4  # type: ignore[arg-type]
    order = judge_order(EIGHT, tests)
    lines = line_wiring(EIGHT, order)
    assert order.halves_known and lines is not None
    (a_one, a_two), (b_one, b_two) = (halves for _, halves in order.phase_halves)
    assert lines.ends == (a_one[0], b_one[0], a_two[1], b_two[1])
    joined = {lead for pair in lines.supply for lead in pair.split(" + ")}
    assert joined | set(lines.ends) == {*"abcd", *"ABCD"}


@pytest.mark.parametrize(
    ("turned", "answer"), [(1.0, "cw"), (0.8, "cw"), (-1.1, "ccw"), (0.0, "none"), (2.0, "none"), (-2.0, "none")]
)
def test_what_a_turned_shaft_answers(turned: float, answer: str) -> None:
    assert answer_of(turned) == answer


def test_the_steps_name_the_leads_and_the_key() -> None:
    test = judge_order(FIVE, []).next
    assert test is not None
    steps = " ".join(board_steps(test))
    assert "g:" in steps and f"holds {test.reference}" in steps and f"lets {test.touched} pull" in steps
