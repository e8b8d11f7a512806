"""The jog stage: connect the helper board, turn the motor once, then search how fast it starts and runs."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Button, Static

from coilbench.errors import CoilbenchError
from coilbench.stages.head import Head
from coilbench.stages.jog.driving import Setup
from coilbench.stages.jog.session import Job, Session, open_board
from coilbench.stages.jog.stage import SETTLED, JogStage
from coilbench.stages.stage import Known
from coilbench.stages.virtual_port import virtual_ports
from coilbench.ui.actions import bindings_for
from coilbench.ui.panes.board import BoardPane
from coilbench.ui.panes.jog.bench import JogBench
from coilbench.ui.panes.jog.form import JogForm
from coilbench.ui.widgets.field import Field
from coilbench.ui.widgets.stage_area import Picture

if TYPE_CHECKING:
    from textual.binding import BindingType
    from textual.timer import Timer

    from coilbench.board.link.ports import PortChoice


class JogPane(BoardPane[JogStage]):
    """Port and settings first; then one question at a time, with STOP always in reach."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("jog")
    HELP_TITLE = "jog"
    HELP = (
        "Tape a flag of paper to the shaft and make a mark beside it. Each move goes out at the tested rate and "
        "comes back slowly; one that lost steps comes back off its mark, by slips of 4 full steps. The way back "
        "is proved first, alone, by whole turns. Figures of a bare shaft are none of a machine's: say what is on it. "
        "While it moves space stops it, and so does any other key but an answer's digit, m and g, which may come a "
        "moment too early; so does leaving this stage, a page over it, or pulling the cable."
    )
    EARLY_KEYS = frozenset("012345mg")  # the answers, and the key that began the move

    _guard: Timer | None = None
    _looking = _hasty = False  # for ports; asked to connect meanwhile
    _setup = Setup()

    def compose(self) -> ComposeResult:
        yield JogForm(id="jog-setup")
        yield JogBench(id="jog-bench", classes="-away")

    @property
    def form(self) -> JogForm:
        return self.query_one(JogForm)

    @property
    def session(self) -> Session | None:
        return self.stage.session

    @property
    def is_connected(self) -> bool:
        return self.stage.board is not None

    @property
    def moves_now(self) -> bool:
        return self.stage.moving

    # Coming and going

    def begin(self) -> None:
        if not self.bench.demo:  # the demo's conversations must not push out those of a real board
            from coilbench.board.link.conversation import kept_log
            from coilbench.records.paths import board_log_path

            self.stage.opener = partial(open_board, log=partial(kept_log, board_log_path()))
        self._guard = self.set_interval(0.1, self._keep_stop_in_reach, pause=True)
        super().begin()
        self._look_for_ports()

    def read_again(self) -> None:
        if self.stage.stand == "board":
            self.form.fill(self.stage.texts())
        self._go_on(self.stage.judge_again())

    def on_unmount(self) -> None:
        """Leaving the stage or closing the bench stops the motor and lets the port go."""
        self.screen.remove_class("-jogging")
        self.stage.close()

    def was_covered(self) -> None:
        self.stage.covered = True

    def _keep_stop_in_reach(self) -> None:
        """While it moves, the keyboard stays at STOP; whatever covers the sheet stops the motor."""
        if self.app.screen is not self.screen:
            self.covered()
        elif self.screen.focused is None or self not in self.screen.focused.ancestors:
            self.query_one(JogBench).focus_work(True)

    def cancel(self) -> bool:
        """An edit of a field, then a search at which nothing moves; its moves are kept."""
        if super().cancel():
            return True
        if not self.check_action("jog_choose", ()):
            return False
        self.action_jog_choose()
        return True

    def enter(self) -> str:
        return "Enter moves nothing here: the buttons and their keys do"

    # Ports

    def _look_for_ports(self) -> None:
        self._looking = True
        self.work_out(self.bench.ports)

    def _offer_ports(self, found: list[PortChoice]) -> None:
        if self.bench.demo:
            found = [*virtual_ports(self.desk.known, self.bench.virtual_options), *found]
        own = self.stage.own_board
        self.form.offer(found, take_first=self.bench.demo, usual="" if own is None else own.port)
        self._looking = False
        if self._hasty:
            self._hasty = False
            self.call_after_refresh(self.action_jog_connect)

    # Jobs, and what became of them

    def _go_on(self, job: Job | None) -> None:
        """Do the next job, if there is one, and show where it stands."""
        if job is not None:
            self.run_job(job)
        self.draw()

    def show_worked_out(self, result: Any) -> None:
        if self._looking:
            self._offer_ports(result)
            self.draw()
        else:
            self._go_on(self.stage.done(result))
            if self.stage.corrected:
                self.form.fill(self.stage.texts())
                said = f"{self.stage.says}. It is in the form now: look at it, then connect again."
                self.form.put_said(said, problem=True)
                self.form.query_one("#jog-said").scroll_visible(animate=False)

    def show_not_worked_out(self, problem: CoilbenchError) -> None:
        from coilbench.board.link.faults import LinkFault

        self._looking = False
        self.stage.failed(problem)
        self.draw()
        self.bench.show_problem(
            with_log(problem) if isinstance(problem, LinkFault) and not self.bench.demo else problem
        )

    def show_way(self, state: str) -> None:
        self.stage.heard(state)
        self.query_one("#jog-says", Static).update(self.stage.scene.says)

    # Showing

    def draw(self) -> None:
        """Show where the stage stands."""
        stage, bench = self.stage, self.query_one(JogBench)
        at_setup = stage.stand in ("board", "wire")
        self.query_one("#jog-setup").set_class(not at_setup, "-away")
        bench.set_class(at_setup, "-away")
        self.screen.set_class(stage.stand != "board", "-jogging")
        if self._guard is not None:
            (self._guard.resume if stage.moving else self._guard.pause)()
        self._setup = stage.setup(ascii=self.bench.plain_characters)
        if at_setup:
            self.form.draw(self._setup)
            again = " F6 turns it again." if stage.stand == "wire" and stage.stopped else ""
            stopped = stage.head.kind == "stop"  # then the head says why
            self.form.put_said("" if stopped else f"{stage.says}{again}", problem=stage.is_problem)
        else:
            bench.draw(stage.scene)
        self.facts_changed(self._picture())
        self.refresh_bindings()

    def _picture(self) -> Picture | None:
        lines = self._setup.wiring
        return (lambda width, height: Content("\n".join(line[:width] for line in lines))) if lines else None

    @property
    def head(self) -> Head:
        head = self.stage.head
        # One line: the wiring below it needs the room.
        more = self.stage.stand == "wire" and self.form.max_scroll_y
        return replace(head, says=f"{head.says}   PgDn: more", act="") if more else head

    @on(JogForm.Grown)
    def form_grown(self, event: JogForm.Grown) -> None:
        event.stop()
        self.post_message(self.HeadChanged())

    def known(self) -> list[Known]:
        return self.stage.known_now

    # What the person does

    @on(Field.Submitted)
    def action_jog_connect(self) -> None:
        """Open the chosen port and greet the board."""
        self._hasty = self._looking
        if self._looking:
            return
        try:
            job = self.stage.connect(self.form.texts)
        except CoilbenchError as problem:
            self.form.put_said(str(problem), problem=True)
            return
        if job is not None:
            self.form.put_said(self.stage.says)
            self.run_job(job)

    def action_jog_settings(self) -> None:
        """Let the board go, and back to the settings."""
        self.stage.settings()
        self.draw()

    def action_jog_turn(self) -> None:
        """One slow turn, to see that coils, current and direction are sane."""
        if self.stage.stand == "wire":
            self.when_seen_to(self.stage.to_see_to, "turn it", lambda: self._go_on(self.stage.turn()))

    def was_seen_to(self) -> None:
        self.stage.seen_to = True

    def action_jog_go(self) -> None:
        """Make the next move."""
        self._go_on(self.stage.go())

    def action_jog_answer(self, digit: str) -> None:
        """Give the answer that has this digit on the screen; without one, go to where the answers stand."""
        if digit:
            self._go_on(self.stage.answer_digit(int(digit)))
        else:
            self.query("Button.jog-answer").filter(":focusable").first(Button).focus()

    def action_jog_meter(self) -> None:
        """The virtual shaft answers."""
        self._go_on(self.stage.shaft_answer())

    def action_jog_prove(self) -> None:
        """Try the working figure again and again, in longer moves."""
        self.stage.prove()
        self.draw()

    def action_jog_choose(self) -> None:
        """End this search with what is known, and choose another."""
        self.stage.leave()
        self.draw()

    def action_jog_stop(self) -> None:
        """Stop the motor, outputs off."""
        self.stop_motor()

    @on(Button.Pressed)
    async def clicked(self, event: Button.Pressed) -> None:
        event.stop()
        name = (event.button.id or "").removeprefix("jog-")
        if self.is_quiet and name != "stop":
            return
        if name.startswith("answer-"):
            self.action_jog_answer(name.removeprefix("answer-"))
        elif name == "stop":
            self.stop_motor()
        elif name == "ports":
            if not self.waiting:
                self._look_for_ports()
        else:
            await self.run_action(f"jog_{name}")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        stage = self.stage
        if action == "jog_stop":
            return stage.moving
        if action == "jog_connect":
            return stage.stand in ("board", "wire")
        if action == "jog_turn":
            return stage.stand == "wire"
        if action == "jog_settings":
            return stage.stand in SETTLED
        if action in ("jog_go", "jog_choose"):
            ready = stage.stand == "search" and not stage.moving and stage.search.asked is None
            return ready and (action == "jog_choose" or stage.search.trial is not None)
        if action == "jog_prove":
            return stage.stand == "search" and stage.scene.prove
        if action == "jog_answer":
            at_setup = stage.stand in ("board", "wire")
            return not at_setup and (parameters == ("",) or int(str(parameters[0])) in dict(stage.scene.answers))
        if action == "jog_meter":
            return stage.shaft_answers
        return True


def with_log(problem: CoilbenchError) -> CoilbenchError:
    """The same, with where to look up what was said before it."""
    from coilbench.records.paths import board_log_path

    path = board_log_path()
    if path.exists():
        problem.remedy += f"\nWhat was said to and fro is kept: coilbench board --replay {path}"
    return problem
