"""What is to be seen of the order at one moment: plain data, for a screen to draw or for lines."""

from __future__ import annotations

from dataclasses import dataclass, replace

from coilbench.cautions import LIVE_DRIVER
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.order import Order
from coilbench.records.saved.windings import Windings
from coilbench.stages.desk import Desk
from coilbench.stages.motor import arrangement
from coilbench.stages.order.board import board_cautions
from coilbench.stages.order.saved import all_proved, windings_verdict
from coilbench.stages.picture import Wiring
from coilbench.stages.stage import Known
from coilbench.winding.engine.verdict import NAMED_FROM
from coilbench.winding.order.types import NextTest, OrderTest, OrderVerdict

_PLAIN_TEXT = (
    "Two plain coils: whichever way they are connected, the motor turns. If it turns the wrong way, swap "
    "the two leads of one coil at the driver, with the supply off."
)


@dataclass(frozen=True, slots=True)
class AskedTest(NextTest):
    """The test that is asked now: ``steps`` to do, what ``asks`` for an answer, and the ``answers`` with their words
    in the same order; ``way`` is how it finds out, in words. The first of the ``cautions`` is the one that stands
    alone where there is no room for more."""

    asks: str
    words: tuple[str, ...]
    way: str


@dataclass(frozen=True, slots=True)
class OrderState:
    """The stage as it is drawn: a ``test``, or ``title`` and ``text`` in its place. ``doubts`` are the answers that
    the others contradict, ``others`` says what choosing another way is good for, where there is one."""

    test: AskedTest | None
    title: str
    text: str
    cautions: tuple[str, ...]
    doubts: tuple[str, ...]
    known: tuple[Known, ...]
    wiring: Wiring | None
    done: bool
    others: str


def state_of(
    desk: Desk, windings: Windings | None, verdict: OrderVerdict | None, *, by_board: bool, others: str
) -> OrderState:
    """How things stand with these saved windings and what the tests tell; ``by_board``: a board makes them."""
    known = desk.known
    wiring = None if windings is None else Wiring(windings_verdict(windings, desk.leads), verdict)
    test = None
    if verdict is not None and verdict.next is not None:
        if wiring is not None and not by_board:
            wiring = replace(wiring, touches=verdict.next.touches)
        test = _asked(verdict.next, known, by_board=by_board, confirms=verdict.done)
    title, text, cautions = ("", "", ()) if test is not None else _without_test(known, windings, wiring)
    doubts = () if verdict is None else verdict.repeat
    return OrderState(
        test,
        title,
        text,
        cautions,
        tuple(f"the rest contradicts {doubt_words(each)}" for each in doubts),
        tuple(kept_sequence(known) if verdict is None else _known_of(verdict)),
        wiring,
        verdict is not None and verdict.done,
        others,
    )


def doubt_words(test: OrderTest) -> str:
    """A test that was made, with what was seen."""
    from coilbench.winding.order.words import ANSWER_WORDS

    if test.kind == "induced":
        return f"{test.reference}: most on {test.touched}"
    then = "then" if test.kind in ("twitch", "flick", "kick") else "with"
    return f"{test.reference} {then} {test.touched}: {ANSWER_WORDS[test.answer]}"


def _asked(test: NextTest, known: Facts, *, by_board: bool, confirms: bool) -> AskedTest:
    from coilbench.winding.order.by_board import NO_SIDE, board_steps
    from coilbench.winding.order.ways import way_of
    from coilbench.winding.order.words import ANSWER_WORDS, WAY_WORDS

    *steps, asks = board_steps(test) if by_board else test.steps
    words = ANSWER_WORDS | {"none": NO_SIDE} if by_board else ANSWER_WORDS
    return AskedTest(
        test.kind,
        test.reference,
        test.touched,
        tuple(steps),
        board_cautions(known) if by_board else test.cautions,
        test.answers,
        f"confirms what the tests told: it {test.why}" if confirms else test.why,
        test.touches,
        asks,
        tuple(words.get(answer, f"most {answer}") for answer in test.answers),
        WAY_WORDS[way_of(test.kind)],
    )


def _without_test(known: Facts, windings: Windings | None, wiring: Wiring | None) -> tuple[str, str, tuple[str, ...]]:
    """Title, text and cautions where nothing is to be tested."""
    from coilbench.winding.report import drive_sentences, next_steps

    if wiring is not None and wiring.order is not None:
        title = "the order is known" if wiring.order.direction_known else "the order is known, but for the direction"
        return title, "\n\n".join(drive_sentences(wiring.order)), (LIVE_DRIVER,)
    if windings is None or wiring is None or windings.confidence < NAMED_FROM or not all_proved(windings):
        text = "F2 goes back to them; the tests need to know which lead is which."
        return "first sort the windings", text, ()
    what = "\n".join(next_steps(wiring.verdict))
    if windings.faults:
        leak = any(fault.kind == "frame" for fault in windings.faults)
        return ("don't power this motor, not from a battery either" if leak else "no order to find"), what, ()
    if arrangement(known).two_phase == "plain":
        return "nothing to do here", _PLAIN_TEXT, (LIVE_DRIVER,)
    return "nothing to do here", what, ()


def kept_sequence(known: Facts) -> list[Known]:
    """What is saved of the order, for the other stages."""
    order = known.get(Order)
    return [Known("sequence", " ".join(order.sequence))] if order is not None and order.sequence else []


def _known_of(verdict: OrderVerdict) -> list[Known]:
    from coilbench.winding.drawing.figures import percent

    lines = [Known("tests", "none yet")]
    if verdict.tests:
        lines = [Known("tests", str(verdict.tests)), Known("sure", f"{percent(verdict.confidence)} of the order")]
    if verdict.sequence:
        doubt = "" if verdict.direction_known else ", or backwards"
        lines.append(Known("sequence", " ".join(verdict.sequence) + doubt))
    return lines
