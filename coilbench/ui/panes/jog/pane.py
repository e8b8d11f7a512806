"""The jog stage: connect the helper board, turn the motor once, then search how fast it starts and runs.

The board is driven by workers that post messages; the screen only shows, saves answers, and stops the motor.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.widgets import Button, Static

from coilbench.errors import CoilbenchError
from coilbench.ui.actions import bindings_for
from coilbench.ui.panes.jog import flow as jog_flow
from coilbench.ui.panes.jog import setup as jog_setup
from coilbench.ui.panes.jog.bench import JogBench
from coilbench.ui.panes.jog.board import COVERED, BoardPane
from coilbench.ui.panes.jog.connect import SETTLED, ConnectPane
from coilbench.ui.panes.jog.form import JogForm

if TYPE_CHECKING:
    from collections.abc import Collection

    from textual.binding import BindingType
    from textual.timer import Timer

    from coilbench.motion.trials import Outcome
    from coilbench.records.store import Bin

MARK_AGAIN = "Set the flag to its mark again, hands off, then go."
OTHER_SETTING = "Drive or shaft is another now: the search under way was ended, what it found is kept."
STOPPED_MOVE = "That move doesn't count. Make a new mark where the flag stands, hands off, then go."
STOPPED = f"Stopped, outputs off. {STOPPED_MOVE}"


class JogPane(ConnectPane):
    """Port and settings first; then one question at a time, with STOP always in reach."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("jog")
    HELP_TITLE = "jog"
    HELP = (
        "Tape a flag of paper to the shaft and make a mark beside it. Each move goes out at the tested rate and "
        "comes back slowly; a motor that skipped comes back off its mark, by jumps of four full steps. While it "
        "moves space stops it, and so does any other key but an answer's digit, m and g, which may come a moment too "
        "early; so does leaving this stage, a page over it, or pulling the cable."
    )
    WORDS = (
        "Full step: what one change of current moves the shaft, often 1.8 degrees; the driver may cut it into "
        "microsteps. Steps/s: full steps a second. Start: from standstill at once, without a ramp. Run: the speed "
        "after a ramp, which gains speed bit by bit. To skip: the shaft no longer follows, and stays behind by jumps "
        "of four full steps. Resonance: low speeds at which the rotor shakes until it skips. Index sensor: tells the "
        "board each time the flag passes. Working figure: what to set, safely below where it skips. H-bridge, "
        "transistor array: switches between board and coils, without a current limit of their own."
    )
    EARLY_KEYS = frozenset("012345mg")  # the answers, and the key that began the move

    def __init__(self, motor_name: str, bin: Bin) -> None:
        super().__init__(motor_name, bin)
        self._guard: Timer | None = None

    def compose(self) -> ComposeResult:
        yield JogForm(id="jog-setup")
        yield JogBench(id="jog-bench", classes="-away")

    # Coming and going

    def on_mount(self) -> None:
        events = self.bin.events(self.motor_name, "jog")
        begun = jog_flow.search_begun(events)
        if begun is not None:
            self.flow.begun, self.flow.begun_id = begun.value, begun.id
            kept = len(jog_flow.answers_since(events, begun.id))
            moves = f"{kept} move{'s' * (kept != 1)}"
            self.form.say(f"{jog_setup.KIND_TITLES[self.flow.kind]} is under way, {moves} kept: connect to go on")
        try:
            self.check_sound()
        except CoilbenchError as problem:
            self.form.say(str(problem), problem=True)
        self.form.fill(jog_setup.first_form(self.bin.facts(self.motor_name), self.flow.begun))
        self._look_for_ports()
        self.set_interval(1.0, self._look)
        self._guard = self.set_interval(0.1, self._keep_stop_in_reach, pause=True)
        super().on_mount()

    def on_unmount(self) -> None:
        """Leaving the stage or closing the bench stops the motor and lets the port go."""
        self.screen.remove_class("-jogging")
        self._close_session()

    def _keep_stop_in_reach(self) -> None:
        """While it moves, the keyboard stays at STOP; whatever covers the sheet stops the motor."""
        if self.app.screen is not self.screen:
            self.covered()
        elif self.screen.focused is None or self not in self.screen.focused.ancestors:
            self.query_one(JogBench).focus_work(True)

    # What the workers say

    @on(BoardPane.Way)
    async def way(self, event: BoardPane.Way) -> None:
        event.stop()
        if event.token == self._token and self.flow.moving:
            self.flow.way = jog_flow.WAYS.get(event.state, event.state)
            self.query_one("#jog-says", Static).update(jog_flow.scene_of(self.flow, self.bench.demo).says)

    @on(BoardPane.Did)
    async def did(self, event: BoardPane.Did) -> None:
        event.stop()
        if event.token != self._token:
            return
        if event.problem is None and event.result is None:
            return  # a sign of life
        from coilbench.board.session.jog import TrialEnd, TurnEnd
        from coilbench.board.session.session import BoardFound

        self.busy = self.flow.moving = False
        result = event.result
        if event.problem is not None:
            self._trouble(event.problem)
        elif isinstance(result, list):
            self._offer_ports(result)
        elif isinstance(result, BoardFound):
            self._connected(result)
        elif isinstance(result, TurnEnd):
            self._turn_ended(result)
        elif isinstance(result, TrialEnd):
            self._trial_ended(result)
        elif isinstance(result, tuple):
            self._judged(*result)
        await self.show()

    def _trouble(self, problem: CoilbenchError) -> None:
        from coilbench.board.link.faults import LinkFault

        self.flow.asked = None
        self.flow.pause = STOPPED_MOVE
        if isinstance(problem, LinkFault):
            self._close_session()
            self.flow.stand = "board"
            problem = problem if self.bench.demo else with_log(problem)
        elif self.flow.stand == "turning":
            self.flow.stand = "wire"
        self.form.say(problem.happened, problem=True)
        self.bench.show_problem(problem)

    # Showing

    async def show(self) -> None:
        """Show the present state."""
        setup = self.flow.stand in ("board", "wire")
        self.query_one("#jog-setup").set_class(not setup, "-away")
        bench = self.query_one(JogBench)
        bench.set_class(setup, "-away")
        self.screen.set_class(self.flow.stand != "board", "-jogging")
        if self._guard is not None:
            (self._guard.resume if self.flow.moving else self._guard.pause)()
        if setup:
            wired = self.board is not None
            self.form.show(
                connected=wired,
                wiring=self.wiring() if wired else (),
                cautions=self.drive_cautions() if wired else (),
                unset=self.no_current() if wired else "",
            )
        else:
            await bench.show(jog_flow.scene_of(self.flow, self.bench.demo, self._known()))
        self.facts_changed(self._picture() if self.board is not None else None)
        self.refresh_bindings()

    def _known(self) -> dict[str, Any]:
        """What is saved of the motor on the drive at hand."""
        from coilbench.board.session.drive import Drive
        from coilbench.board.session.figures import figures_of

        drive = self.setting.drive if self.setting is not None else Drive()
        return figures_of(self.bin.fact(self.motor_name, "jog"), drive)

    def facts_lines(self) -> list[str]:
        from coilbench.ui.facts import fact

        lines = self.summary_lines(self.bin, self.motor_name)
        if self.board is not None:
            lines.append(fact("board", f"{self.board.chip}, sketch {self.board.sketch}"))
        for name, text in jog_flow.left_words(self.bin.events(self.motor_name, "jog")):
            lines.append(fact(name, text))
        return lines

    @classmethod
    def summary_lines(cls, bin: Bin, motor_name: str) -> list[str]:
        from coilbench.ui.facts import fact

        return [fact(name, text) for name, text in jog_flow.saved_words(bin.fact(motor_name, "jog"))]

    # Search

    def _begin_search(self, kind: str) -> None:
        assert self.setting is not None and self.board is not None
        events = self.bin.events(self.motor_name, "jog")
        left = jog_flow.search_left(events, kind, self.setting)
        facts = self.bin.facts(self.motor_name)
        value = left[0].value if left else jog_flow.begin_event(kind, self.setting, self.board.highest_sps, facts)
        self.flow.forget_search()
        self.flow.begun_id = self.bin.add_event(self.motor_name, "jog", value)
        self.flow.begun = value
        for answer in jog_flow.answers_since(events, left[0].id, left[1].id) if left is not None else ():
            self.bin.add_event(self.motor_name, "jog", answer.value)
        self.flow.pause = "Set the flag to its mark, hands off, then go."
        self._judge()

    def _judge(self) -> None:
        """Work out from the saved answers what is known and what to try next."""
        begun = self.flow.begun
        assert begun is not None
        events = jog_flow.answers_since(self.bin.events(self.motor_name, "jog"), self.flow.begun_id)
        saved = [each.value for each in events]
        self.flow.stand = "search"
        self._start(lambda: jog_flow.judge(begun, saved))

    def _judged(self, state: Any, following: Any, found: Any) -> None:
        self.flow.state, self.flow.next, self.flow.found = state, following, found
        if self.flow.trial is None or self.flow.proving:
            self._save_finding()
        if self.flow.proving and found.proved and found.proved % jog_flow.PROVING_ROUND == 0:
            self.flow.pause = found.said[-1]
        if self.flow.trial is not None and not self.flow.pause:
            self._go()

    def _save_finding(self) -> None:
        fact = jog_flow.finding(self.flow, self.bin.fact(self.motor_name, "jog"))
        if fact is not None and not self.bin.read_only:
            self.bin.put_fact(self.motor_name, "jog", fact)

    def _go(self) -> None:
        session, trial = self.session, self.flow.trial
        if self.busy or session is None or trial is None or self.flow.asked is not None:
            return
        self.flow.pause, self.flow.way, self.flow.moving, self.was_covered = "", "", True, False
        progress = self._progress()
        session.ready()
        self._start(lambda: session.trial(trial, progress))

    def _stopped(self) -> str:
        return f"{COVERED} {STOPPED_MOVE}" if self.was_covered else STOPPED

    def _trial_ended(self, end: Any) -> None:
        if not end.complete:
            self.flow.pause = self._stopped()
            return
        self.flow.asked, self.flow.flag = self.flow.trial, end.flag
        if end.outcome is not None:
            self._answer(end.outcome, by="sensor")

    def _answer(self, outcome: Outcome, *, by: str) -> None:
        from coilbench.motion.search import event

        trial = self.flow.asked
        if trial is None:
            return
        try:
            self.bin.add_event(self.motor_name, "jog", {"kind": "trial", "by": by, **event(trial, outcome)})
        except CoilbenchError as error:
            self.bench.show_problem(error)
            return
        self.flow.asked = None
        touched = outcome.kind != "returned" and by == "eye"
        unsure = outcome.kind == "unclear"
        self.flow.pause = MARK_AGAIN if touched or unsure else ""
        self._judge()

    async def action_jog_go(self) -> None:
        """Make the next move."""
        if self.flow.stand == "search":
            self._go()
            await self.show()

    def _digits(self) -> Collection[int]:
        """The digits that answer what is asked now."""
        if self.flow.stand == "turned":
            return jog_flow.TURNED
        if self.flow.stand == "choose":
            return range(1, len(jog_flow.KINDS) + 1)
        return range(6) if self.flow.stand == "search" and self.flow.asked is not None else ()

    async def answer_digit(self, digit: int) -> None:
        from coilbench.motion.trials import CAME_BACK, CANNOT_TELL, off_by

        if self.busy:
            return
        try:
            if self.flow.stand == "turned" and digit in jog_flow.TURNED:
                self._turn_answered(digit)
            elif self.flow.stand == "choose" and 1 <= digit <= len(jog_flow.KINDS):
                self._begin_search(jog_flow.KINDS[digit - 1])
            elif self.flow.stand == "search" and self.flow.asked is not None:
                outcomes = (CAME_BACK, off_by(1), off_by(2), off_by(3), off_by(), CANNOT_TELL)
                self._answer(outcomes[digit], by="eye")
        except CoilbenchError as error:
            self.bench.show_problem(error)
        await self.show()

    def _turn_answered(self, digit: int) -> None:
        self.bin.add_event(self.motor_name, "jog", {"kind": "turn", "turned": jog_flow.TURNED[digit]})
        remedy = jog_flow.turn_remedy(jog_flow.TURNED[digit])
        if remedy:
            self.flow.stand = "wire"
            self.form.say(remedy, problem=True)
        elif self.flow.begun is None or self.setting is None:
            self.flow.stand, self.flow.pause = "choose", ""
        elif jog_flow.goes_on(self.flow.begun, self.setting):
            self.flow.pause = MARK_AGAIN
            self._judge()
        else:
            self.bin.add_event(self.motor_name, "jog", {"kind": "end"})
            self.flow.forget_search()
            self.flow.stand, self.flow.pause = "choose", OTHER_SETTING

    async def action_jog_meter(self) -> None:
        """The virtual shaft answers."""
        turn = self.flow.turn
        if self.flow.stand == "turned" and turn is not None and turn.turns is not None:
            await self.answer_digit(jog_flow.turn_seen(turn))
        elif self.flow.asked is not None and self.flow.flag is not None and not self.busy:
            self._answer(self.flow.flag, by="eye")
            await self.show()

    async def action_jog_undo(self) -> None:
        """Take the last answer of this search back."""
        answers = jog_flow.answers_since(self.bin.events(self.motor_name, "jog"), self.flow.begun_id)
        if self.busy or self.flow.begun is None or not answers:
            return
        self.bin.remove_event(answers[-1].id)
        self.flow.asked, self.flow.pause = None, "Taken back. " + MARK_AGAIN
        self._judge()
        await self.show()

    async def action_jog_prove(self) -> None:
        """Try the working figure again and again, in longer moves."""
        if not self.busy and self._found():
            self.flow.proving, self.flow.pause = True, MARK_AGAIN
            await self.show()

    def _found(self) -> bool:
        flow = self.flow
        known = flow.found is not None and flow.found.working_sps is not None
        return flow.stand == "search" and known and flow.trial is None

    async def action_jog_choose(self) -> None:
        """End this search with what is known, and choose another."""
        if self.busy or self.flow.stand != "search":
            return
        kept = jog_flow.kept_words(self.flow)
        if jog_flow.is_result(self.flow):
            self._save_finding()
        self.bin.add_event(self.motor_name, "jog", {"kind": "end", **jog_flow.so_far(self.flow)})
        self.flow.forget_search()
        self.flow.stand, self.flow.pause = "choose", kept
        await self.show()

    async def action_jog_answer(self, digit: str) -> None:
        """Give the answer that has this digit; without one, go to where the answers stand."""
        if digit:
            await self.answer_digit(int(digit))
        else:
            self.query("Button.jog-answer").filter(":focusable").first(Button).focus()

    # Stop

    @property
    def moves_now(self) -> bool:
        return self.flow.moving

    def action_jog_stop(self) -> None:
        """Stop the motor, outputs off."""
        self._stop()

    @on(Button.Pressed)
    async def clicked(self, event: Button.Pressed) -> None:
        event.stop()
        name = (event.button.id or "").removeprefix("jog-")
        if name.startswith("answer-"):
            await self.answer_digit(int(name.removeprefix("answer-")))
        elif name == "stop":
            self._stop()
        elif name == "ports":
            if not self.busy:
                self._look_for_ports()
        else:
            await self.run_action(f"jog_{name}")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        flow = self.flow
        if action == "jog_stop":
            return flow.moving
        if action == "jog_connect":
            return flow.stand in ("board", "wire")
        if action == "jog_turn":
            return flow.stand == "wire"
        if action == "jog_settings":
            return flow.stand in SETTLED
        if action in ("jog_go", "jog_choose"):
            ready = flow.stand == "search" and not flow.moving and flow.asked is None
            return ready and (action == "jog_choose" or flow.trial is not None)
        if action == "jog_prove":
            return self._found()
        if action == "jog_undo":
            return flow.stand == "search" and not flow.moving
        if action == "jog_answer":
            return parameters == ("",) or int(str(parameters[0])) in self._digits()
        if action == "jog_meter":
            return self.bench.demo and (flow.stand == "turned" or flow.asked is not None)
        return True


def with_log(problem: CoilbenchError) -> CoilbenchError:
    """The same, with where to look up what was said before it."""
    from coilbench.records.paths import board_log_path

    path = board_log_path()
    if path.exists():
        problem.remedy += f"\nWhat was said to and fro is kept: coilbench board --replay {path}"
    return problem
