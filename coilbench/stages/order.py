"""The phase order: in which order the coils turn the shaft and which halves pair, by tests that a person makes, or a
helper board.

What is asked follows from the saved windings; every answer is saved as an event of its own. An order that is saved
without its tests is known, too, until a test that it rests on is taken back, or the windings are sorted otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, ClassVar

from coilbench.errors import InputProblem
from coilbench.records.saved.decode import plain
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.order import HandTest, Order
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Coil as SavedCoil
from coilbench.records.saved.windings import Windings
from coilbench.stages.desk import Desk, scratch_desk
from coilbench.stages.motor import arrangement, half_winding_ohm
from coilbench.stages.picture import Wiring
from coilbench.stages.stage import Known, Stage
from coilbench.winding.engine.verdict import NAMED_FROM, Coil, Fault, Verdict
from coilbench.winding.order.types import Answer, NextTest, OrderQuestion, OrderTest, OrderVerdict, TestKind

if TYPE_CHECKING:
    from coilbench.board.link.link import BeginLog
    from coilbench.board.session.nudge import Nudge, NudgeSession
    from coilbench.board.session.session import BoardFound, Pins, Progress
    from coilbench.winding.order.by_board import LineWiring

WAITING = "waiting for the board; some take three seconds to start"
_LIVE = "never plug or unplug a motor on a live driver"
_PLAIN_TEXT = (
    "Two plain coils: whichever way they are connected, the motor turns. If it turns the wrong way, swap "
    "the two leads of one coil at the driver, with the supply off."
)
# Where there is no room for the cautions under the steps.
_BRIEF = "motor off every driver; small cell, seconds only"
_BRIEF_BOARD = "supply off while you wire, short nudges only"


@dataclass(frozen=True, slots=True)
class AskedTest:
    """The test that is asked now: ``steps`` to do, what ``asks`` for an answer, and the ``answers`` with their words
    in the same order."""

    kind: TestKind
    reference: str
    touched: str
    steps: tuple[str, ...]
    asks: str
    why: str
    cautions: tuple[str, ...]
    brief_caution: str
    answers: tuple[Answer, ...]
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OrderState:
    """The stage as it is drawn: a ``test``, or ``title`` and ``text`` in its place. ``doubts`` are the answers that
    the others contradict."""

    test: AskedTest | None
    title: str
    text: str
    cautions: tuple[str, ...]
    doubts: tuple[str, ...]
    known: tuple[Known, ...]
    wiring: Wiring | None
    done: bool


@dataclass(slots=True)
class AtBoard:
    """A helper board that has answered: its pins, and how far the nudge of the asked test is.

    ``turned_steps`` is what a virtual shaft did.
    """

    pins: Pins
    says: str = "wire it, then supply on"
    nudging: bool = False
    nudged: bool = False  # to its end: there is something to answer
    turned_steps: float | None = None


class OrderStage(Stage):
    """Tests by hand or by a board, one asked after the other, until the order is known.

    ``read_again`` takes up what is saved; then ``state`` says what is asked. What a board does is a job that is
    handed out, for a thread or to be called at once; what comes of it is handed in again.
    """

    id: ClassVar[str] = "order"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.session: NudgeSession | None = None
        self.board: AtBoard | None = None
        self.question: OrderQuestion | None = None
        self.verdict: OrderVerdict | None = None
        self._windings: Windings | None = None
        self.read_again()

    # What is known and asked

    def read_again(self) -> None:
        """Judge what is saved. Writes nothing, but an order that the saved tests tell and that isn't saved yet."""
        self._judge()
        if self.verdict is not None and self.verdict.done and Order.stage not in self.desk.known:
            self.desk.derive(order_of(self.verdict))

    def _judge(self) -> OrderVerdict | None:
        """Take up windings, tests and saved order; return what the tests alone tell."""
        from coilbench.winding.order.judging import judge_order, order_question, takes_part

        known = self.desk.known
        self._windings = windings = known.get(Windings)
        self.question = question = order_question(windings) if windings is not None and _proved(windings) else None
        self.verdict = judged = None
        if question is not None:
            made = [OrderTest(e.kind, e.reference, e.touched, e.answer) for e in self._tests]
            judged = judge_order(question, [test for test in made if takes_part(question, test)])
            saved = known.get(Order)
            kept = saved is not None and not judged.done and _is_of(saved, question)
            self.verdict = verdict_of(saved) if saved is not None and kept else judged
        if self.lines is None:
            self.leave_board()
        return judged

    def _entered(self, rested: bool) -> None:
        """After an entry: keep what the tests tell. ``rested``: the saved order rested on the tests before it."""
        judged = self._judge()
        saved = self.desk.known.get(Order)
        if judged is None:
            return
        if judged.done:
            self.desk.derive(order_of(judged))
        elif saved is not None and (rested or self.question is None or not _is_of(saved, self.question)):
            self.desk.withdraw(self.id)
            self._judge()

    @property
    def _tests(self) -> list[HandTest]:
        return [entry.value for entry in self.desk.entries(HandTest)]

    @property
    def test(self) -> NextTest | None:
        """The test that is asked now."""
        return self.verdict.next if self.verdict is not None else None

    @property
    def state(self) -> OrderState:
        """How things stand."""
        from coilbench.winding.order.words import ANSWER_WORDS

        verdict, windings = self.verdict, self._windings
        title, text, cautions = ("", "", ()) if self.test is not None else self._without_test()
        doubts = () if verdict is None else verdict.repeat
        return OrderState(
            self._asked(),
            title,
            text,
            cautions,
            tuple(f"the rest contradicts {o.reference} then {o.touched}: {ANSWER_WORDS[o.answer]}" for o in doubts),
            tuple(_known_of(verdict) if verdict is not None else self.summary(self.desk.known)),
            None if windings is None else Wiring(self._as_sorted(windings), verdict),
            verdict is not None and verdict.done,
        )

    def _asked(self) -> AskedTest | None:
        from coilbench.winding.order.by_board import NO_SIDE, board_steps
        from coilbench.winding.order.words import ANSWER_WORDS

        test, by_board = self.test, self.board is not None
        if test is None:
            return None
        *steps, asks = board_steps(test) if by_board else test.steps
        words = dict(ANSWER_WORDS)
        if by_board:
            words["none"] = NO_SIDE
        return AskedTest(
            test.kind,
            test.reference,
            test.touched,
            tuple(steps),
            asks,
            test.why,
            self.board_cautions() if by_board else test.cautions,
            _BRIEF_BOARD if by_board else _BRIEF,
            test.answers,
            tuple(words[answer] for answer in test.answers),
        )

    def _without_test(self) -> tuple[str, str, tuple[str, ...]]:
        """Title, text and cautions where nothing is to be tested."""
        from coilbench.winding.report import next_steps

        windings, order = self._windings, self.verdict
        if order is not None:
            return "the order is known", "\n\n".join(self.sentences()), (_LIVE,)
        if windings is None or windings.confidence < NAMED_FROM or not _proved(windings):
            text = "F2 goes back to them; the tests need to know which lead is which."
            return "first sort the windings", text, ()
        what = "\n".join(next_steps(self._as_sorted(windings)))
        if windings.faults:
            leak = any(fault.kind == "frame" for fault in windings.faults)
            return ("don't power this motor, not from a battery either" if leak else "no order to find"), what, ()
        if arrangement(self.desk.known).two_phase == "plain":
            return "nothing to do here", _PLAIN_TEXT, (_LIVE,)
        return "nothing to do here", what, ()

    def _as_sorted(self, windings: Windings) -> Verdict:
        """The saved windings as the drawing and the words take them."""
        return Verdict(
            self.desk.leads,
            windings.arrangement,
            windings.confidence,
            tuple(Coil(c.name, c.ends, c.tap, c.ohms, c.ohms_sd, alive=True) for c in windings.coils),
            windings.common,
            windings.spare,
            windings.cannot_tell,
            tuple(Fault(fault.kind, fault.leads, "") for fault in windings.faults),  # type: ignore[arg-type]
            sure=True,
            readings=max(1, windings.readings),
        )

    def sentences(self) -> tuple[str, ...]:
        """What is known of the order, in sentences."""
        from coilbench.winding.report import drive_sentences

        return () if self.verdict is None else tuple(drive_sentences(self.verdict))

    @classmethod
    def summary(cls, known: Facts) -> list[Known]:
        order = known.get(Order)
        return [Known("sequence", " ".join(order.sequence))] if order is not None and order.sequence else []

    # Entries

    @property
    def can_answer(self) -> bool:
        """By hand at any time; a board must have nudged first."""
        return self.test is not None and (self.board is None or self.board.nudged)

    def answer(self, answer: Answer) -> None:
        """Save what was seen at the asked test. Raises InputProblem where nothing can be answered."""
        test = self.test
        if test is None or not self.can_answer:
            raise InputProblem("nothing is asked" if test is None else "let the board nudge first")
        self.desk.add(HandTest(kind=test.kind, reference=test.reference, touched=test.touched, answer=answer))
        self._next_nudge()
        self._entered(rested=False)

    def answer_text(self, text: str) -> None:
        """The same as people type it. Raises InputProblem naming what was expected."""
        from coilbench.winding.order.words import parse_answer

        if self.test is None:
            raise InputProblem("nothing is asked")
        self.answer(parse_answer(text, self.test.kind))

    def undo(self) -> str | None:
        return self._stepped(super().undo)

    def redo(self) -> str | None:
        return self._stepped(super().redo)

    @property
    def can_undo(self) -> bool:
        return super().can_undo and not (self.board is not None and self.board.nudging)

    def _stepped(self, step: Callable[[], str | None]) -> str | None:
        saved = self.desk.known.get(Order)
        rested = saved is not None and saved.tests == len(self._tests)
        what = step()
        if what is not None:
            self._next_nudge()
            self._entered(rested)
        return what

    # By a helper board

    @property
    def lines(self) -> LineWiring | None:
        """Which lead goes on which line, where a board can make the asked test."""
        from coilbench.winding.order.by_board import line_wiring

        if self.question is None or self.verdict is None or self.test is None or self.test.kind != "twitch":
            return None
        return line_wiring(self.question, self.verdict)

    def connect(self, url: str, log: BeginLog | None = None) -> Callable[[], BoardFound]:
        """The job that opens a board; what it finds is for ``greeted``."""
        from coilbench.board.session.nudge import NudgeSession

        self.leave_board()
        self.session = NudgeSession(url, log)
        return self.session.open

    def greeted(self, found: BoardFound) -> None:
        """The board has answered: from here on it makes the tests."""
        self.board = AtBoard(found.pins)

    def leave_board(self) -> None:
        """Let the board go: the tests are made by hand."""
        if self.session is not None:
            self.session.close()
        self.session, self.board = None, None

    def nudge(self) -> Callable[[Progress], Nudge]:
        """The job by which the board makes the asked test; what comes of it is for ``nudge_ended``.

        Raises InputProblem where it can't be made now.
        """
        board, session, lines, test = self.board, self.session, self.lines, self.test
        if board is None or session is None or lines is None or test is None or board.nudging:
            raise InputProblem("no board to make a test, or none that a board can make")
        first, then = lines.line(test.reference), lines.line(test.touched)
        self.board = AtBoard(board.pins, says="", nudging=True)
        session.ready()
        return lambda progress: session.nudge(first, then, progress)

    def told(self, state: str) -> None:
        """The board says how far the nudge is."""
        if self.board is not None and self.board.nudging and self.test is not None:
            words = {
                "holding": f"holds {self.test.reference} ...",
                "nudging": f"... now {self.test.touched}: which way?",
            }
            self.board.says = words.get(state, "a rest: the coils have been on long")

    def nudge_ended(self, nudge: Nudge, *, covered: bool = False) -> None:
        """The nudge is made, or was stopped; ``covered``: because a page came over the button for that."""
        if self.board is not None:
            stopped = "stopped, a page covered STOP: nudge again" if covered else "stopped: nudge again"
            says = "which way did it go?" if nudge.complete else stopped
            self.board = replace(
                self.board, says=says, nudging=False, nudged=nudge.complete, turned_steps=nudge.turned_steps
            )

    def turned_answer(self) -> Answer | None:
        """What a virtual shaft answers to the last nudge; None where none turned."""
        from coilbench.winding.order.by_board import answer_of

        turned = None if self.board is None else self.board.turned_steps
        return None if turned is None else answer_of(turned)

    def _next_nudge(self) -> None:
        if self.board is not None:
            self.board = AtBoard(self.board.pins, says="")

    def board_wiring(self, *, ascii: bool = False) -> tuple[str, ...]:
        """What to wire where."""
        from coilbench.board.session.wiring import coil_wiring
        from coilbench.rating.coil_lines import CoilLines

        lines = self.lines
        if self.board is None or lines is None:
            return ()
        laid = CoilLines(lines.ends, lines.supply, tuple(f"join {pair}" for pair in lines.joins))
        return tuple(coil_wiring(self.board.pins, "array", laid, ascii=ascii, sensor=False))

    def board_cautions(self) -> tuple[str, ...]:
        """What to mind when a board nudges."""
        from coilbench.rating.coil_lines import coil_cautions

        known = self.desk.known
        ratings = known.get(Ratings) or Ratings()
        ohm = ratings.resistance_ohm or half_winding_ohm(known)
        return (
            "supply off while you wire; motor off every other driver",
            *coil_cautions("array", ratings.current_ampere, ohm)[:3],
            "short nudges only: coils get hot; fingers off the shaft",
        )


def order_of(verdict: OrderVerdict) -> Order:
    """A verdict as it is kept."""
    return Order(
        ends=verdict.ends,
        sequence=verdict.sequence if verdict.done else (),
        reverse=verdict.reverse if verdict.done else (),
        phases=verdict.phases,
        halves=dict(verdict.phase_halves) or None,
        series=verdict.series_joins,
        parallel=verdict.parallel_joins,
        confidence=round(verdict.confidence, 6),
        tests=verdict.tests,
        done=verdict.done,
    )


def verdict_of(order: Order) -> OrderVerdict:
    """A kept order as the drawing and the words take it."""
    return OrderVerdict(
        ends=order.ends,
        sequence=order.sequence,
        reverse=order.reverse,
        phases=order.phases,
        confidence=order.confidence,
        next=None,
        done=order.done,
        tests=order.tests,
        direction_known=order.done,
        halves_known=bool(order.halves),
        phase_halves=tuple((order.halves or {}).items()),
        series_joins=order.series,
        parallel_joins=order.parallel,
    )


def _is_of(order: Order, question: OrderQuestion) -> bool:
    """Whether a kept order tells all of what is asked, of these windings."""
    if not order.done or not order.sequence:
        return False
    if question.halves:
        kept = {frozenset(half) for halves in (order.halves or {}).values() for half in halves}
        return kept == {frozenset(half) for half in question.halves}
    phases = {frozenset(pair) for pair in question.phases}
    return set(order.sequence) == set(question.ends) and (
        not phases or {frozenset(order.sequence[::2]), frozenset(order.sequence[1::2])} == phases
    )


def _proved(windings: Windings) -> bool:
    """Whether nothing is left to measure before the shaft is asked: every coil is proved by then."""
    return windings.next is None or all(coil.ohms is not None for coil in windings.coils)


def _known_of(verdict: OrderVerdict) -> list[Known]:
    from coilbench.winding.drawing.text import percent

    lines = [Known("tests", "none yet")]
    if verdict.tests:
        lines = [Known("tests", str(verdict.tests)), Known("sure", f"{percent(verdict.confidence)} of the order")]
    if verdict.sequence:
        doubt = "" if verdict.direction_known else ", or backwards"
        lines.append(Known("sequence", " ".join(verdict.sequence) + doubt))
    return lines


def five_leads(leads: Sequence[str], common: str) -> Desk:
    """A desk, kept nowhere, for a five-lead motor of which the common lead is known without readings.

    Raises InputProblem for another number of leads or a common that isn't among them.
    """
    if len(leads) != 5 or common not in leads:
        raise InputProblem(f"common {common!r} with {len(leads)} leads, expected one of five leads")
    desk = scratch_desk(leads)
    ends = [lead for lead in leads if lead != common]
    coils = tuple(SavedCoil(name=name, ends=(common, end)) for name, end in zip("ABCD", ends, strict=True))
    desk.derive(Windings(arrangement="unipolar-5", confidence=1.0, coils=coils, common=common))
    return desk


def order_object(stage: OrderStage) -> dict[str, Any]:
    """What the tests tell as the command's JSON object."""
    assert stage.verdict is not None
    found: dict[str, Any] = plain(order_of(stage.verdict))
    return found
