"""The phase order stage: tests by hand that say in which order the coils turn the shaft, and which halves pair."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Button, Static

from coilbench.errors import CoilbenchError
from coilbench.ui.actions import bindings_for
from coilbench.ui.panes.base import Caution
from coilbench.ui.panes.order.board import BACK, OFFER, NudgePane
from coilbench.winding.engine.verdict import Verdict
from coilbench.winding.order.types import Answer, OrderQuestion, OrderTest, OrderVerdict

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.records.store import Bin


# Where the screen is too short for the cautions under the steps.
BRIEF_CAUTION = "motor off every driver; small cell, seconds only; PgDn: more"
BRIEF_BOARD_CAUTION = "supply off while you wire, short nudges only; PgDn: more"


class OrderPane(NudgePane):
    """One test at a time, with its cautions; answers are saved at once."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("order")
    HELP_TITLE = "phase order"
    HELP = (
        "Resistance can't tell in which order the coils turn the shaft. Do the test as written, with a small "
        "battery and a series resistor, or let a helper board switch the coils; then press the number of what you "
        "saw. A wrong answer now and then is found out: the test is asked again."
    )

    WORDS = (
        "Phase: coils that carry current together; a motor has two. Half: from a centre tap to one end, or one of "
        "eight leads' four coils. Energised: current flows. Series resistor: in the plus wire, so that it limits the "
        "current. Kick: the meter's short swing when the current in a neighbouring coil begins. Sequence: the ends "
        "in the order in which they are switched to turn the shaft. Nudge: the board does it, for a moment."
    )

    def __init__(self, motor_name: str, bin: Bin) -> None:
        super().__init__(motor_name, bin)
        self.verdict: Verdict | None = None
        self.order: OrderVerdict | None = None

    def compose(self) -> ComposeResult:
        with Horizontal(id="order-main"):
            yield Static("", id="order-wiring", markup=False)
            with Vertical(id="order-side"):
                with VerticalScroll(id="order-text"):
                    yield Static("", id="order-title", markup=False)
                    yield Static("", id="order-steps", markup=False)
                    yield Static("", id="order-cautions", markup=False)
                    yield Static("", id="order-why", markup=False)
                yield Static("", id="order-asks", markup=False)
                yield Caution(BRIEF_CAUTION, id="order-brief")
                yield Static("", id="order-says", markup=False)
                yield Button("nudge (g)", id="order-nudge", variant="primary", compact=True)
                yield Button("■ STOP (space)", id="order-stop", variant="error", compact=True)
                with Horizontal(id="order-answers"):
                    for number in range(1, 5):
                        yield Button("", id=f"answer-{number}", compact=True)
                yield Button("let the shaft answer (m)", id="shaft", variant="primary", compact=True)
                yield Button(OFFER, id="order-board", compact=True)
        yield Static("", id="order-board-cautions", markup=False)

    def focus_first(self) -> None:
        self.query_one("#order-text").focus(scroll_visible=False)

    def refresh_from_bin(self) -> None:
        tests = [OrderTest(**event.value) for event in self.bin.events(self.motor_name, "order")]
        readings = [saved.reading for saved in self.bin.readings(self.motor_name) if saved.kind == "ohms"]
        leads = self.bin.motor(self.motor_name).leads

        def worked_out() -> tuple[Verdict, OrderQuestion | None, OrderVerdict | None]:
            from coilbench.winding.engine.sorting import judge
            from coilbench.winding.order.judging import judge_order, order_question

            verdict = judge(leads, readings)
            question = order_question(verdict)
            return verdict, question, judge_order(question, tests) if question is not None else None

        self.judge(worked_out)

    def show_judged(self, result: tuple[Verdict, OrderQuestion | None, OrderVerdict | None]) -> None:
        self.verdict, self.question, self.order = result
        if self.lines is None:
            self.leave_board()
        self._save()
        self.show()

    def _save(self) -> None:
        from coilbench.winding.engine.report import order_fact

        order = self.order
        if self.bin.read_only:
            return
        saved = self.bin.fact(self.motor_name, "order")
        value = order_fact(order) if order is not None and order.done else None
        if saved != value:
            self.bin.put_fact(self.motor_name, "order", value)

    def show(self) -> None:
        """Show the test or the result."""
        from coilbench.ui.picture import picture_of
        from coilbench.winding.order.by_board import NO_SIDE, board_steps
        from coilbench.winding.order.words import ANSWER_WORDS

        test, by_board = self.test, self.by_board
        title, steps, cautions = order_texts(self.verdict, self.order)
        asks = self.query_one("#order-asks", Static)
        asks.display = test is not None
        if test is not None:
            # What is asked stays in sight, however little room the steps before it have.
            *before, asked = (
                f"{number}. {step}" for number, step in enumerate(board_steps(test) if by_board else test.steps, 1)
            )
            steps = "\n".join(before)
            asks.update(asked)
        self.query_one("#order-title", Static).update(title)
        self.query_one("#order-title").set_class(test is not None, "-why")
        self.query_one("#order-steps", Static).update(steps)
        self.query_one("#order-why", Static).update(f"This {title}." if test is not None else "")
        if by_board:
            cautions = "\n".join(f"caution: {text}" for text in self.board_cautions())
        self.query_one("#order-cautions", Static).update(cautions)
        self.query_one("#order-board-cautions", Static).update(cautions)
        brief = self.query_one("#order-brief", Static)
        brief.update(f"caution: {BRIEF_BOARD_CAUTION if by_board else BRIEF_CAUTION}")
        brief.set_class(test is None, "-off")
        for number in range(1, 5):
            button = self.query_one(f"#answer-{number}", Button)
            button.display = test is not None and number <= len(test.answers) and not self.nudging
            button.disabled = not self.can_answer
            if button.display and test is not None:
                answer = test.answers[number - 1]
                button.label = f"{number} {NO_SIDE if by_board and answer == 'none' else ANSWER_WORDS[answer]}"
        self._show_board()
        self.facts_changed(
            picture_of(self.verdict, self.order, ascii=self.bench.plain_characters)
            if self.verdict is not None
            else None
        )

    def _show_board(self) -> None:
        """The board's part: its wiring and cautions, or the offer of it."""
        by_board, virtual = self.by_board, self.bench.virtual
        self.screen.set_class(by_board, "-jogging")
        self.set_class(by_board, "-board")
        if by_board:
            self.query_one("#order-wiring", Static).update("\n".join(self.board_wiring()))
        says = self.query_one("#order-says", Static)
        says.update(self.says)
        says.display = bool(self.says)
        self.query_one("#order-nudge").display = by_board and not self.nudging
        self.query_one("#order-stop").display = self.nudging
        offer = self.query_one("#order-board", Button)
        offer.display = self.lines is not None and not self.nudging
        offer.label = BACK if by_board else OFFER
        seen = virtual is not None and virtual.has(self.motor_name)
        self.query_one("#shaft").display = (
            self.test is not None and seen and (not by_board or self.turned_steps is not None)
        )
        if by_board:
            waits_for = "#order-stop" if self.nudging else "#answer-1" if self.nudged else "#order-nudge"
            if self.screen.has_class("-short") and not self.nudging:
                waits_for = "#order-text"  # to be leafed through: it holds the cautions
            self.query_one(waits_for).focus(scroll_visible=False)

    def changed_elsewhere(self) -> None:
        self.refresh_from_bin()

    def facts_lines(self) -> list[str]:
        from coilbench.ui.facts import fact, percent

        if self.order is None:
            return []
        lines = [fact("tests", "none yet")]
        if self.order.tests:
            sure = f"{percent(self.order.confidence)} of the order"
            lines = [fact("tests", str(self.order.tests)), fact("sure", sure)]
        if self.order.sequence:
            doubt = "" if self.order.direction_known else ", or backwards"
            lines.append(fact("sequence", " ".join(self.order.sequence) + doubt))
        return lines

    @classmethod
    def summary_lines(cls, bin: Bin, motor_name: str) -> list[str]:
        from coilbench.ui.facts import fact

        saved = bin.fact(motor_name, "order")
        return [fact("sequence", " ".join(saved["sequence"]))] if saved else []

    def _answer(self, answer: Answer) -> None:
        test = self.test
        if test is None or self.waiting or self.nudging:
            return
        self.turned_steps, self.nudged, self.says = None, False, ""
        value = {"kind": test.kind, "reference": test.reference, "touched": test.touched, "answer": answer}
        try:
            self.bin.add_event(self.motor_name, "order", value)
        except CoilbenchError as error:
            self.bench.show_problem(error)
            return
        self.refresh_from_bin()

    @property
    def can_answer(self) -> bool:
        """By hand at any time; a board must have nudged first."""
        return not self.by_board or self.nudged

    def _answer_number(self, number: int) -> None:
        if self.test is not None and number <= len(self.test.answers) and self.can_answer:
            self._answer(self.test.answers[number - 1])

    def action_order_answer_1(self) -> None:
        self._answer_number(1)

    def action_order_answer_2(self) -> None:
        self._answer_number(2)

    def action_order_answer_3(self) -> None:
        self._answer_number(3)

    def action_order_answer_4(self) -> None:
        self._answer_number(4)

    @on(Button.Pressed)
    def clicked(self, event: Button.Pressed) -> None:
        event.stop()
        name = event.button.id or ""
        if name == "shaft":
            self.action_order_meter()
        elif name.startswith("answer-"):
            self._answer_number(int(name.removeprefix("answer-")))
        elif name == "order-board":
            self.action_order_board()
        elif name == "order-nudge":
            self.action_order_nudge()
        elif name == "order-stop":
            self.action_order_stop()

    def action_order_meter(self) -> None:
        from coilbench.winding.order.by_board import answer_of

        if self.test is None or self.waiting or self.bench.virtual is None:
            return
        if not self.by_board:
            self._answer(self.bench.virtual.twitch(self.motor_name, self.test))
        elif self.turned_steps is not None:
            self._answer(answer_of(self.turned_steps))

    def action_order_undo(self) -> None:
        if self.bin.undo(self.motor_name, "order") is not None:
            self.refresh_from_bin()

    def action_order_redo(self) -> None:
        if self.bin.redo(self.motor_name, "order") is not None:
            self.refresh_from_bin()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if not self.is_mounted:
            return True
        buttons = {"order_meter": "#shaft", "order_nudge": "#order-nudge", "order_board": "#order-board"}
        buttons["order_stop"] = "#order-stop"
        if action in buttons:
            return any(button.display for button in self.query(buttons[action]))
        if action == "order_undo":
            return self.order is not None and self.order.tests > 0
        if action == "order_redo":
            return self.bin.can_redo(self.motor_name, "order")
        if action.startswith("order_answer"):
            return self.test is not None and self.can_answer
        return True


def order_texts(verdict: Verdict | None, order: OrderVerdict | None) -> tuple[str, str, str]:
    """Title, result, and cautions; while there is a test, why it is made, and what to mind."""
    if verdict is None or not verdict.sure:
        return "first sort the windings", "F2 goes back to them; the tests need to know which lead is which.", ""
    if verdict.faults:
        from coilbench.winding.engine.report import next_steps

        leak = any(fault.kind == "frame" for fault in verdict.faults)
        title = "don't power this motor, not from a battery either" if leak else "no order to find"
        return title, "\n".join(next_steps(verdict)), ""
    if order is None and verdict.arrangement != "bipolar-4":
        from coilbench.winding.engine.report import next_steps

        return "nothing to do here", "\n".join(next_steps(verdict)), ""
    if order is None:
        return (
            "nothing to do here",
            "Two plain coils: whichever way they are connected, the motor turns. If it turns the wrong way, swap "
            "the two leads of one coil at the driver, with the supply off.",
            "caution: never plug or unplug a motor on a live driver",
        )
    if order.next is not None:
        cautions = "\n".join(f"caution: {caution}" for caution in order.next.cautions)
        return order.next.why, "", cautions
    from coilbench.winding.engine.report import drive_sentences

    return (
        "the order is known",
        "\n\n".join(drive_sentences(order)),
        "caution: never plug or unplug a motor on a live driver",
    )
