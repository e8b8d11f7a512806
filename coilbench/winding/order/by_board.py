"""The twitch test made by a helper board's coil lines: which end goes on which line, and what to do and watch.

The board switches one line on after the other, never two ends of one phase together. From an end to its neighbour
in the sequence the shaft goes one full step; from an end to its partner on the same phase it has no side to go to:
it stays, or jumps two steps.
"""

from __future__ import annotations

from dataclasses import dataclass

from coilbench.winding.order.types import Answer, NextTest, OrderQuestion, OrderVerdict


@dataclass(frozen=True, slots=True)
class LineWiring:
    """``ends`` on the lines A, B, A', B'; ``supply`` leads on supply plus; ``joins`` to make first.

    It is the same from the first test to the last: nothing is wired anew between them.
    """

    ends: tuple[str, ...]
    supply: tuple[str, ...]
    joins: tuple[str, ...] = ()

    def line(self, lead: str) -> int:
        """The line (0 to 3) that a lead is on."""
        return self.ends.index(lead)


def line_wiring(question: OrderQuestion, order: OrderVerdict) -> LineWiring | None:
    """How to wire the ends in question; None while eight leads aren't paired."""
    if question.halves:
        if not order.halves_known:
            return None
        (a_one, a_two), (b_one, b_two) = (halves for _, halves in order.phase_halves)
        ends = (a_one[0], b_one[0], a_two[1], b_two[1])
        joined = (f"{a_one[1]} + {a_two[0]}", f"{b_one[1]} + {b_two[0]}")
        return LineWiring(ends, joined)
    supply = tuple(dict.fromkeys(question.supply))
    if question.phases:
        (a, a_other), (b, b_other) = question.phases
        return LineWiring((a, b, a_other, b_other), supply)
    return LineWiring(question.ends, supply)


def board_steps(test: NextTest) -> tuple[str, ...]:
    """What to do at one test, step by step."""
    return (
        "stick a flag of tape on the shaft",
        f"g: the board holds {test.reference}, then lets {test.touched} pull",
        "which way did the flag go then, seen from the shaft's end?",
    )


# Said with the answer "not at all", where the shaft may have jumped two steps.
NO_SIDE = "not at all, or two steps"


def answer_of(turned_steps: float) -> Answer:
    """What a shaft that turned by so many full steps answers: one step has a side, none and two have none."""
    steps = round(turned_steps)
    return "cw" if steps == 1 else "ccw" if steps == -1 else "none"
