"""Phase order and half pairing by hand tests: what the answers tell, and which test to make next.

Resistance can't tell which ends of a five-lead motor share a phase, which halves of an eight-lead motor do and in
which sense, nor which way any motor turns. A twitch test holds one end energised and touches a second: the shaft
steps towards the second if it is a neighbour in the switching sequence and stays if it is the partner on the same
phase (its pull has no side). A flick test connects a small cell to one half: a half of the same phase answers with
a kick whose sign is its sense, the others hardly at all. Answers are taken to be wrong one time in ten.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations

from coilbench.errors import InputProblem
from coilbench.winding.engine.catalogue import CATALOGUE, Catalogue
from coilbench.winding.engine.verdict import NAMED_FROM
from coilbench.winding.order.belief import believe, contradicted, most_telling_test
from coilbench.winding.order.types import Answer, OrderQuestion, OrderTest, OrderVerdict, Sorted
from coilbench.winding.order.words import FLICK_ANSWERS, TWITCH_ANSWERS, next_flick, next_twitch

SURE = 0.98

Pair = tuple[str, str]
Pairing = tuple[tuple[Pair, Pair], tuple[Pair, Pair]]  # phase A, phase B: each two halves from start to finish


def order_question(found: Sorted, catalogue: Catalogue = CATALOGUE) -> OrderQuestion | None:
    """What is left to find by hand for a sorted motor; None when nothing is, when it isn't sorted yet, or when it is
    faulty (a motor that leaks to its frame must not be powered, not even from a battery)."""
    two_phase = catalogue.find(found.arrangement).two_phase
    if found.confidence < NAMED_FROM or found.faults:
        return None
    if two_phase == "common" and found.common is not None:
        common = found.common
        ends = tuple(first if second == common else second for first, second in (c.ends for c in found.coils))
        return OrderQuestion(ends=ends, supply=(common,) * len(ends))
    if two_phase == "tapped":
        taps = [coil.tap for coil in found.coils for _ in coil.ends if coil.tap is not None]
        ends = tuple(end for coil in found.coils for end in coil.ends)
        return OrderQuestion(ends=ends, supply=tuple(taps), phases=tuple(coil.ends for coil in found.coils))
    if two_phase == "halves":
        return OrderQuestion(halves=tuple(coil.ends for coil in found.coils))
    return None


def judge_order(question: OrderQuestion, tests: Sequence[OrderTest]) -> OrderVerdict:
    """What the tests tell and which to make next.

    Raises InputProblem for a test of leads that are not in question. Tests of a kind that doesn't fit yet (a twitch
    while the halves aren't paired) are counted but tell nothing.
    """
    _check(question, tests)
    if question.halves:
        return _judge_eight(question, tests)
    return _judge_ends(question, tests, already=1.0)


def drive_tables(sequence: Sequence[str]) -> dict[str, tuple[tuple[str, ...], ...]]:
    """The leads that are on, step by step, for the three drives of a unipolar motor.

    The states are those of the eight-row table printed in stepper controller data sheets (ST GSD200, p. 8): its odd
    rows are the full step with two phases on, its even rows the wave drive, all of them the half step.
    """
    count = len(sequence)
    wave = tuple((lead,) for lead in sequence)
    two = tuple((sequence[k], sequence[(k + 1) % count]) for k in range(count))
    half = tuple(state for pair in zip(wave, two, strict=True) for state in pair)
    return {"wave": wave, "two phases on": two, "half step": half}


def takes_part(question: OrderQuestion, test: OrderTest) -> bool:
    """Whether a test is one of this question's: the windings may have been sorted anew since it was made."""
    return not _wrong_with(question, test)


def _check(question: OrderQuestion, tests: Sequence[OrderTest]) -> None:
    for test in tests:
        if wrong := _wrong_with(question, test):
            raise InputProblem(wrong)


def _wrong_with(question: OrderQuestion, test: OrderTest) -> str:
    known = {*question.ends, *(lead for half in question.halves for lead in half)}
    for lead in (test.reference, test.touched):
        if lead not in known:
            return f"lead {lead!r} takes no part in this test, expected one of {', '.join(sorted(known))}"
    if test.reference == test.touched:
        return f"lead {test.reference!r} can't be tested against itself"
    allowed = FLICK_ANSWERS if test.kind == "flick" else TWITCH_ANSWERS
    if test.answer not in allowed:
        return f"answer {test.answer!r} to a {test.kind} test, expected one of {', '.join(allowed)}"
    return ""


# Five and six leads, and eight once they are paired: four ends in a ring, in one of two directions.


_BY_STEPS: tuple[Answer, ...] = ("none", "cw", "none", "ccw")


def _twitch(order: tuple[str, ...], reference: str, touched: str) -> Answer:
    steps = (order.index(touched) - order.index(reference)) % 4
    return _BY_STEPS[steps]


def _orders(question: OrderQuestion) -> list[tuple[str, ...]]:
    """The 24 orders of four ends, told apart as far as a motor can (a rotation is the same motor)."""
    first, *rest = question.ends
    orders = [(first, *others) for others in permutations(rest)]
    phases = {frozenset(pair) for pair in question.phases}
    return [order for order in orders if not phases or frozenset((order[0], order[2])) in phases]


def _judge_ends(question: OrderQuestion, tests: Sequence[OrderTest], already: float) -> OrderVerdict:
    """``already`` is the probability that what is taken for granted (the pairing) is right."""
    twitches = [test for test in tests if test.kind == "twitch" and test.reference in question.ends]
    twitches = [test for test in twitches if test.touched in question.ends]
    belief = believe(_orders(question), _twitch, twitches)
    best, probability = belief.best
    direction_known = probability >= SURE
    paired = direction_known or bool(question.phases)
    pairs = [(reference, touched) for reference in question.ends for touched in question.ends if reference != touched]
    upcoming = None
    if not direction_known:
        reference, touched = most_telling_test(belief, pairs, twitches)
        upcoming = next_twitch(question, reference, touched)
    return OrderVerdict(
        ends=question.ends,
        sequence=best if paired else (),
        reverse=(best[0], *reversed(best[1:])) if paired else (),
        phases=((best[0], best[2]), (best[1], best[3])) if paired else (),
        confidence=probability * already,
        next=upcoming,
        done=direction_known,
        tests=len(tests),
        direction_known=direction_known,
        repeat=contradicted(twitches, best, probability, _twitch),
    )


# Eight leads: which halves share a phase, and in which sense.


def _pairings(halves: Sequence[Pair]) -> list[Pairing]:
    first = halves[0]
    found: list[Pairing] = []
    for partner in (1, 2, 3):
        third, fourth = (halves[k] for k in (1, 2, 3) if k != partner)
        for second in (halves[partner], halves[partner][::-1]):
            found += [((first, second), (third, last)) for last in (fourth, fourth[::-1])]
    return found


def _flick(pairing: Pairing, reference: str, touched: str) -> Answer:
    """Plus when both plus probes sit on starts, or both on finishes, of one phase (dot convention)."""
    for phase in pairing:
        where = {lead: (number, end) for number, half in enumerate(phase) for end, lead in enumerate(half)}
        if reference in where and touched in where and where[reference][0] != where[touched][0]:
            return "plus" if where[reference][1] == where[touched][1] else "minus"
    return "none"


def _judge_eight(question: OrderQuestion, tests: Sequence[OrderTest]) -> OrderVerdict:
    flicks = [test for test in tests if test.kind == "flick"]
    belief = believe(_pairings(question.halves), _flick, flicks)
    pairing, probability = belief.best
    repeat = contradicted(flicks, pairing, probability, _flick)
    if probability < SURE:
        starts = [half[0] for half in question.halves]
        pairs = [(reference, touched) for reference in starts for touched in starts if reference != touched]
        reference, touched = most_telling_test(belief, pairs, flicks)
        return OrderVerdict(
            ends=(),
            sequence=(),
            reverse=(),
            phases=(),
            confidence=probability,
            next=next_flick(question, reference, touched),
            done=False,
            tests=len(tests),
            repeat=repeat,
        )
    return _paired_eight(pairing, probability, tests, repeat)


def _paired_eight(
    pairing: Pairing, probability: float, tests: Sequence[OrderTest], repeat: tuple[OrderTest, ...]
) -> OrderVerdict:
    """From here on the motor is a six-lead one: each phase's halves in series, the join being its centre tap."""
    joins = tuple((first[1], second[0]) for first, second in pairing)
    phases = tuple((first[0], second[1]) for first, second in pairing)
    as_six = OrderQuestion(
        ends=tuple(end for phase in phases for end in phase),
        supply=tuple(f"{a} + {b}" for a, b in joins for _ in range(2)),
        phases=phases,
    )
    turned = _judge_ends(as_six, tests, already=probability)
    parallel = tuple(pair for first, second in pairing for pair in zip(first, second, strict=True))
    return replace(
        turned,
        halves_known=True,
        phase_halves=tuple(zip("AB", pairing, strict=True)),
        series_joins=joins,
        parallel_joins=parallel,
        repeat=(*repeat, *turned.repeat),
    )
