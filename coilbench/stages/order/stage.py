"""The order stage: tests asked until the order is known, their answers kept and taken back.

What is asked follows from the saved windings; every answer is saved as an event of its own. An order that is saved
without its tests is known, too, until a test that it rests on is taken back, or the windings are sorted otherwise.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar, get_args

from coilbench.errors import InputProblem
from coilbench.records.saved.decode import plain
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.order import HandTest, Order
from coilbench.records.saved.windings import Windings
from coilbench.stages.desk import Desk
from coilbench.stages.head import Head
from coilbench.stages.order.board import HelperBoard
from coilbench.stages.order.head import head_of
from coilbench.stages.order.saved import all_proved, answers, order_of, verdict_of
from coilbench.stages.order.scene import OrderState, kept_sequence, state_of
from coilbench.stages.stage import Known, Stage
from coilbench.winding.order.types import NextTest, OrderQuestion, OrderTest, OrderVerdict, Way

WAYS: tuple[Way, ...] = tuple(way for way in get_args(Way) if way != "clips")


class OrderStage(Stage):
    """Tests by hand or by a ``board``, one asked after the other, until the order is known.

    ``read_again`` takes up what is saved; then ``state`` says what is asked.
    """

    id: ClassVar[str] = "order"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.board = HelperBoard()
        self.question: OrderQuestion | None = None
        self.verdict: OrderVerdict | None = None
        self._windings: Windings | None = None
        self._chosen: Way | None = None
        self._confirms = False  # one test more, though all is known
        self._made: list[OrderTest] = []
        self._told: OrderVerdict | None = None  # by the tests alone
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
        self.question = question = order_question(windings) if windings is not None and all_proved(windings) else None
        self.verdict = self._told = judged = None
        self._made = []
        if question is not None:
            made = [OrderTest(e.kind, e.reference, e.touched, e.answer) for e in self._tests]
            self._made = [test for test in made if takes_part(question, test)]
            judged = judge_order(question, self._made, self.way, confirm=self._confirms)
            saved = known.get(Order)
            kept = saved is not None and not judged.done and answers(saved, question)
            kept = kept and saved is not None and (saved.direction_known or self._chosen is None)
            self.verdict = verdict_of(saved) if saved is not None and kept else judged
            self._told = judged
        self.board.take_up(question, self.verdict)
        return judged

    # Ways

    @property
    def way(self) -> Way:
        """The way of the asked test: as chosen, or as the last test was made; ``clips`` where a board's kicks are all
        that was seen."""
        from coilbench.winding.order.ways import way_of, ways_for

        by_hand = [test for test in self._made if test.kind != "kick"]
        if self._made and not by_hand and self._chosen is None:
            return "clips"
        way = self._chosen or (way_of(by_hand[-1].kind) if by_hand else "usual")
        return way if self.question is not None and way in ways_for(self.question) else "usual"

    @property
    def ways(self) -> tuple[Way, ...]:
        """The ways to choose from, for what is left to find or to confirm what the tests told."""
        from coilbench.winding.order.ways import ways_for

        question, verdict, told = self.question, self.verdict, self._told
        if question is None or verdict is None or told is None:
            return ()
        ways = ways_for(question)
        if verdict.next is not None:
            return ways if len(ways) > 1 else ()
        return ways if told.done or not verdict.direction_known else ()

    def _others(self) -> str:
        """What choosing another way is good for now; empty where there is none."""
        verdict = self.verdict
        if verdict is None or not self.ways:
            return ""
        if verdict.next is not None:
            return "another way"
        return "confirm by a test" if verdict.direction_known else "find the direction"

    def choose(self, way: str) -> None:
        """Go on by another way; where the order is known, one more test by it confirms that.

        Raises InputProblem for a way that tells nothing here.
        """
        chosen = next((each for each in self.ways if each == way), None)
        if chosen is None:
            raise InputProblem("no other way tells anything of this motor")
        self._chosen = chosen
        self._confirms = self.verdict is not None and self.verdict.done
        self._judge()

    def choose_next(self) -> str:
        """Go on by the next way, or by the one that tells the direction where that alone is left: its words.

        Raises InputProblem where there is none.
        """
        from coilbench.winding.order.words import WAY_WORDS

        ways, verdict = self.ways, self.verdict
        if not ways or verdict is None:
            raise InputProblem("no other way tells anything of this motor")
        left_open = verdict.done and not verdict.direction_known
        now = ways.index(self.way) if self.way in ways else 0
        way = ways[0] if left_open else ways[(now + 1) % len(ways)]
        self.choose(way)
        return WAY_WORDS[way]

    def _entered(self, rested: bool) -> None:
        """After an entry: keep what the tests tell. ``rested``: the saved order rested on the tests before it."""
        self.board.await_nudge()
        self._confirms = False
        judged = self._judge()
        saved = self.desk.known.get(Order)
        if judged is None:
            return
        if judged.done:
            self.desk.derive(order_of(judged))
        elif saved is not None and (rested or self.question is None or not answers(saved, self.question)):
            self.desk.withdraw(self.id)
            self._judge()

    @property
    def rests_on_tests(self) -> bool:
        """Whether the saved order is what all saved tests tell."""
        saved = self.desk.known.get(Order)
        return saved is not None and saved.tests == len(self._tests)

    def follow(self, rested: bool) -> None:
        """Tests came or went at another stage. ``rested``: the saved order rested on those before."""
        self._entered(rested)

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
        return state_of(self.desk, self._windings, self.verdict, by_board=self.board.connected, others=self._others())

    @property
    def head(self) -> Head:
        """What stands first, and why."""
        return head_of(self.state, self.desk.known)

    def sentences(self) -> tuple[str, ...]:
        """What is known of the order, in sentences."""
        from coilbench.winding.report import drive_sentences

        return () if self.verdict is None else tuple(drive_sentences(self.verdict))

    def result(self) -> dict[str, Any]:
        """What the tests tell as the command's JSON object."""
        assert self.verdict is not None
        found: dict[str, Any] = plain(order_of(self.verdict))
        return found

    @classmethod
    def summary(cls, known: Facts) -> list[Known]:
        return kept_sequence(known)

    # Entries

    @property
    def can_answer(self) -> bool:
        """By hand at any time; a board must have nudged first."""
        return self.test is not None and (not self.board.connected or self.board.nudged)

    def answer(self, text: str) -> None:
        """Save what was seen at the asked test, as people type it or by its number.

        Raises InputProblem where nothing can be answered, naming what was expected.
        """
        from coilbench.winding.order.words import answered

        test = self.test
        if test is None or not self.can_answer:
            raise InputProblem("nothing is asked" if test is None else "let the board nudge first")
        seen = answered(test, text)
        self.desk.add(HandTest(kind=seen.kind, reference=seen.reference, touched=seen.touched, answer=seen.answer))
        self._entered(rested=False)

    def undo(self) -> str | None:
        return self._stepped(super().undo)

    def redo(self) -> str | None:
        return self._stepped(super().redo)

    @property
    def can_undo(self) -> bool:
        return super().can_undo and not self.board.nudging

    def _stepped(self, step: Callable[[], str | None]) -> str | None:
        rested = self.rests_on_tests
        what = step()
        if what is not None:
            self._entered(rested)
        return what
