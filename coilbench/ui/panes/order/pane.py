"""The phase order, drawn: one test at a time with its cautions, by hand or by a helper board."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Button, Static

from coilbench.errors import CoilbenchError
from coilbench.stages.head import Head
from coilbench.ui.actions import bindings_for
from coilbench.ui.drawing import picture_of
from coilbench.ui.panes.order.board import NudgePane

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.stages.stage import Known

SEEN = "make the test, then press the number of what you saw"
OFFER, BACK = "by a helper board (b)", "by hand again (b)"


class OrderPane(NudgePane):
    """One test at a time, with its cautions; answers are saved at once."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("order")
    HELP_TITLE = "phase order"
    HELP = (
        "Resistance can't tell in which order the coils turn the shaft. Do the test as written, with a small "
        "battery and a series resistor, or let a helper board switch the coils; then press the number of what you "
        "saw. A wrong answer now and then is found out: the test is asked again. No eye for the flag? w asks by "
        "small AC volts, by a shaft that turns freely, or by a drag; the direction shows in the shaft alone."
    )

    def compose(self) -> ComposeResult:
        with Horizontal(id="order-main"):
            yield Static("", id="order-wiring", markup=False)
            with Vertical(id="order-side"):
                with VerticalScroll(id="order-text"):
                    yield Static("", id="order-steps", markup=False)
                    yield Static("", id="order-first", markup=False)
                yield Static("", id="order-says", markup=False)
                yield Button("nudge (g)", id="order-nudge", variant="primary", compact=True)
                yield Button("■ STOP (space)", id="order-stop", variant="error", compact=True)
                with Horizontal(id="order-answers"):
                    for number in range(1, 5):
                        yield Button("", id=f"answer-{number}", compact=True)
                yield Button("let the shaft answer (m)", id="shaft", variant="primary", compact=True)
                yield Button(OFFER, id="order-board", compact=True)
                yield Button("", id="order-way", compact=True)

    def focus_first(self) -> None:
        self.query_one("#order-text").focus(scroll_visible=False)

    def cancel(self) -> bool:
        """The board, where one is at work: back to the tests by hand."""
        if not self.is_connected or self.waiting:
            return False
        self.let_board_go()
        self.show_state()
        return True

    def enter(self) -> str:
        """With nothing to test, on to the next stage."""
        if self.stage.test is not None:
            return SEEN
        self.post_message(self.Onward())
        return ""

    def typed(self, character: str) -> str:
        return f"{character!r}: {SEEN if self.stage.test is not None else 'nothing is asked here'}"

    def read_again(self) -> None:
        self.stage.read_again()
        self.show_state()

    def changed_elsewhere(self) -> None:
        self.read_again()

    def show_state(self) -> None:
        """Show the test or the result."""
        state = self.stage.state
        test, steps = state.test, "" if state.done else state.text  # what is known stands under why
        if test is not None:
            steps = "\n".join(f"{number}. {step}" for number, step in enumerate(test.steps, 1))
        self.query_one("#order-steps", Static).update(steps)
        # The one that matters at this test; the others stand under why.
        cautions = state.cautions if test is None else test.cautions
        self.query_one("#order-first", Static).update("".join(f"caution: {each}" for each in cautions[:1]))
        for place, button in enumerate(self.query("#order-answers Button").results(Button)):
            button.display = test is not None and place < len(test.answers) and not self.moves_now
            button.disabled = not self.stage.can_answer
            if button.display and test is not None:
                button.label = f"{place + 1} {test.words[place]}"
        self._show_board(state.others)
        self.facts_changed(picture_of(state.wiring, ascii=self.bench.plain_characters))

    def _show_board(self, others: str) -> None:
        """The board's part: its wiring and cautions, or the offer of it."""
        board, virtual = self.stage.board, self.bench.virtual
        by_board, nudging = board.connected, board.nudging
        self.screen.set_class(by_board, "-jogging")
        self.set_class(by_board, "-board")
        wiring = board.wiring(ascii=self.bench.plain_characters)
        self.query_one("#order-wiring", Static).update("\n".join(wiring))
        self.show_says()
        self.query_one("#order-nudge").display = by_board and not nudging
        self.query_one("#order-stop").display = nudging
        offer = self.query_one("#order-board", Button)
        offer.display = board.lines is not None and not nudging
        offer.label = BACK if by_board else OFFER
        way = self.query_one("#order-way", Button)
        way.display = bool(others) and not by_board
        way.label = f"{others} (w)"
        seen = virtual is not None and virtual.has(self.desk.motor)
        turned = not by_board or board.turned_steps is not None
        self.query_one("#shaft").display = self.stage.test is not None and seen and turned
        if by_board:
            # Between nudges on what can be leafed through: it holds the cautions, and Enter does nothing there.
            self.query_one("#order-stop" if nudging else "#order-text").focus(scroll_visible=False)

    def show_says(self) -> None:
        says = self.query_one("#order-says", Static)
        says.update(self.stage.board.says)
        says.display = bool(self.stage.board.says)

    @property
    def head(self) -> Head:
        return self.stage.head

    def known(self) -> list[Known]:
        return list(self.stage.state.known)

    # Answers

    def action_order_answer(self, digit: str) -> None:
        """Give the answer that has this digit; without one, go to where the answers stand."""
        test = self.stage.test
        if not digit:
            self.query_one("#answer-1").focus()
        elif test is not None and int(digit) <= len(test.answers) and self.stage.can_answer:
            self._answer(test.answers[int(digit) - 1])

    def _answer(self, answer: str) -> None:
        if self.waiting:
            return
        try:
            self.stage.answer(answer)
        except CoilbenchError as error:
            self.bench.show_problem(error)
        self.show_state()

    def action_order_meter(self) -> None:
        """The demo's motor answers."""
        test, virtual = self.stage.test, self.bench.virtual
        if test is None or virtual is None:
            return
        board = self.stage.board
        answer = board.turned_answer() if board.connected else virtual.twitch(self.desk.motor, test)
        if answer is not None:
            self._answer(answer)

    def action_order_way(self) -> None:
        """Another way to find it, or to confirm it."""
        if not self.waiting and not self.moves_now:
            self.bench.tell(f"now {self.stage.choose_next()}")
            self.show_state()

    @on(Button.Pressed)
    async def clicked(self, event: Button.Pressed) -> None:
        event.stop()
        name = event.button.id or ""
        if self.is_quiet and name != "order-stop":
            return
        if name.startswith("answer-"):
            self.action_order_answer(name.removeprefix("answer-"))
        elif name == "shaft":
            self.action_order_meter()
        else:
            await self.run_action(name.replace("-", "_"))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if not self.is_mounted:
            return True
        buttons = {"order_meter": "#shaft", "order_nudge": "#order-nudge", "order_board": "#order-board"}
        buttons |= {"order_stop": "#order-stop", "order_way": "#order-way"}
        if action in buttons:
            return any(button.display for button in self.query(buttons[action]))
        if action == "order_answer":
            return self.stage.can_answer
        return True
