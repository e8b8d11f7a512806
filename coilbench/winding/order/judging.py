"""Phase order and half pairing by hand tests: what the answers tell, and which test to make next.

Resistance can't tell which ends of a five-lead motor share a phase, which halves of an eight-lead motor do and in
which sense, nor which way any motor turns. A twitch test holds one end energised and touches a second: the shaft
steps towards the second if it is a neighbour in the switching sequence and stays if it is the partner on the same
phase (its pull has no side). A flick test connects a small cell to one half: a half of the same phase answers with
a kick whose sign is its sense, the others hardly at all. ``ways`` has the tests that need no such eye. All of them
are weighed together, whichever way was chosen for the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from coilbench.errors import InputProblem
from coilbench.winding.engine.catalogue import CATALOGUE, Catalogue
from coilbench.winding.engine.verdict import NAMED_FROM
from coilbench.winding.order.belief import Belief, believe, contradicted, most_telling_test
from coilbench.winding.order.pairing import Halves, Pairing
from coilbench.winding.order.ring import Ends, Ring
from coilbench.winding.order.types import OrderQuestion, OrderTest, OrderVerdict, Sorted, Way
from coilbench.winding.order.ways import ANSWERS
from coilbench.winding.order.words import next_test

SURE = 0.98


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


def judge_order(
    question: OrderQuestion, tests: Sequence[OrderTest], way: Way = "usual", *, confirm: bool = False
) -> OrderVerdict:
    """What the tests tell and which to make next, of the chosen way; with ``confirm`` one is asked of what is sure.

    Raises InputProblem for a test of leads that are not in question. Tests of a kind that doesn't fit yet (a twitch
    while the halves aren't paired) are counted but tell nothing.
    """
    _check(question, tests)
    if question.halves:
        return _judge_eight(question, tests, way, confirm)
    return _judge_ends(question, tests, way, confirm)


def drive_tables(sequence: Sequence[str]) -> dict[str, tuple[tuple[str, ...], ...]]:
    """The leads that are on, step by step, for the three drives of a unipolar motor.

    The states are those of the eight-row table of stepper controllers (ST: GSD200 data sheet, p. 8): its odd
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
    if test.answer not in ANSWERS[test.kind]:
        return f"answer {test.answer!r} to a {test.kind} test, expected one of {', '.join(ANSWERS[test.kind])}"
    return ""


def _judge_ends(
    question: OrderQuestion, tests: Sequence[OrderTest], way: Way, confirm: bool, already: float = 1.0
) -> OrderVerdict:
    """``already`` is the probability that what is taken for granted (the pairing) is right."""
    model = Ends(question)
    belief = believe(model, tests)
    best, probability = belief.best
    paired = _paired_alike(belief, best)
    direction_known = probability >= SURE
    # A way without an eye for the flag ends with the pairing: the direction is left open.
    done = direction_known or (way != "usual" and paired >= SURE)
    known = done or bool(question.phases)
    probe = None
    if not done or confirm:
        probe = most_telling_test(belief, _by_hand(way), [test for test in tests if model.possible(test.probe)])
    return OrderVerdict(
        ends=question.ends,
        sequence=best if known else (),
        reverse=(best[0], *reversed(best[1:])) if known else (),
        phases=((best[0], best[2]), (best[1], best[3])) if known else (),
        confidence=(paired if done and not direction_known else probability) * already,
        next=None if probe is None else next_test(question, probe),
        done=done,
        tests=len(tests),
        direction_known=direction_known,
        repeat=contradicted(belief, tests),
    )


def _by_hand(way: Way) -> Way:
    """The way of the next test where a board's kicks didn't do."""
    return "usual" if way == "clips" else way


def _paired_alike(belief: Belief[Ring], order: Ring) -> float:
    """The probability of all orders with the same phases as this one."""
    phase = frozenset(order[::2])
    alike = zip(belief.model.hypotheses, belief.probabilities, strict=True)
    return sum(share for each, share in alike if phase in (frozenset(each[::2]), frozenset(each[1::2])))


def _judge_eight(question: OrderQuestion, tests: Sequence[OrderTest], way: Way, confirm: bool) -> OrderVerdict:
    model = Halves(question)
    start_of = {lead: half[0] for half in question.halves for lead in half}
    tests = [replace(t, touched=start_of[t.touched]) if t.kind == "induced" else t for t in tests]
    belief = believe(model, tests)
    pairing, probability = belief.best
    repeat = contradicted(belief, tests)
    pairs = [test for test in tests if model.possible(test.probe)]
    if probability < SURE:
        probe = most_telling_test(belief, _by_hand(way), pairs)
        return OrderVerdict(
            ends=(),
            sequence=(),
            reverse=(),
            phases=(),
            confidence=probability,
            next=None if probe is None else next_test(question, probe),
            done=False,
            tests=len(tests),
            repeat=repeat,
        )
    turned = _paired_eight(pairing, probability, tests, way, confirm)
    probe = most_telling_test(belief, way, pairs) if confirm and way != "usual" else None
    return replace(
        turned,
        repeat=(*repeat, *turned.repeat),
        next=turned.next if probe is None else next_test(question, probe),
    )


def _paired_eight(
    pairing: Pairing, probability: float, tests: Sequence[OrderTest], way: Way, confirm: bool
) -> OrderVerdict:
    """From here on the motor is a six-lead one: each phase's halves in series, the join being its centre tap."""
    joins = tuple((first[1], second[0]) for first, second in pairing)
    phases = tuple((first[0], second[1]) for first, second in pairing)
    as_six = OrderQuestion(
        ends=tuple(end for phase in phases for end in phase),
        supply=tuple(f"{a} + {b}" for a, b in joins for _ in range(2)),
        phases=phases,
    )
    turned = _judge_ends(as_six, tests, way, confirm, already=probability)
    parallel = tuple(pair for first, second in pairing for pair in zip(first, second, strict=True))
    return replace(
        turned,
        halves_known=True,
        phase_halves=tuple(zip("AB", pairing, strict=True)),
        series_joins=joins,
        parallel_joins=parallel,
    )
