"""The jog as a state machine: what is typed, seen and answered goes in, jobs for the board and a scene come out.

Nothing here waits: what the board must do, or what takes a moment, is a ``Job``. Whoever drives the stage calls it,
in a thread or at once, and hands back what it returned (``done``) or raised (``failed``), until no job is left:

    job = stage.connect(texts)
    while job is not None:
        job = stage.done(job(progress))

Each answer is saved by itself, so that a search that was broken off is gone on with from wherever it is next opened.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from coilbench.board.link.faults import LinkFault
from coilbench.board.link.ports import VIRTUAL
from coilbench.board.session.drive import Drive
from coilbench.board.session.wiring import also
from coilbench.errors import CoilbenchError
from coilbench.motion.trials import Outcome
from coilbench.records.saved.base import Event
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.jog import Figures, Jog, SearchBegun, SlowTurn
from coilbench.records.saved.own import OwnBoard, OwnWatch
from coilbench.stages.at_bench import note
from coilbench.stages.desk import Desk
from coilbench.stages.fitness import check_usable
from coilbench.stages.form import Texts
from coilbench.stages.head import Head
from coilbench.stages.jog.driving import Setup, confirmed, setup_of
from coilbench.stages.jog.expected import run_expected
from coilbench.stages.jog.figures import figures_known, figures_of
from coilbench.stages.jog.flag_answers import outcome_of_digit, outcome_of_text
from coilbench.stages.jog.found_with import fitting
from coilbench.stages.jog.head import at_work, before_moving
from coilbench.stages.jog.scene import WAYS, Scene, Stand, scene_of
from coilbench.stages.jog.search_at_work import SearchAtWork
from coilbench.stages.jog.searches import KIND_TITLES, KINDS, Judged, Limits, left_known
from coilbench.stages.jog.session import Job, Opener, Session, open_board
from coilbench.stages.jog.setting import Setting, first_texts, port_of, usable_setting
from coilbench.stages.jog.slow_turn import FARTHEST_STEPS, TURN_SEEN, corrected_texts, remedy, seen_by_virtual_flag
from coilbench.stages.stage import Known, Stage

if TYPE_CHECKING:
    from coilbench.board.session.jog import TrialEnd, TurnEnd
    from coilbench.board.session.session import BoardFound

SETTLED = ("wire", "turned", "choose")  # connected, nothing moves, and no search is at work

WIRED = "Then supply on, flag taped to the shaft, hands off, and let it turn once."
MARK = "Set the flag to its mark, hands off, then go."
FEEL = "Hands off the shaft, then go."
MARK_AGAIN = "Set the flag to its mark again, hands off, then go."
OTHER_SETTING = "Drive or shaft is another now: the search under way was ended, what it found is kept."
STOPPED_MOVE = "That move doesn't count. Make a new mark where the flag is, hands off, then go."
SKIPPED_PROOF = "It lost steps: the working figure is lower now. Go on to prove that."
STOPPED = "Stopped, outputs off."
COVERED = "The motor was stopped: a page covered STOP."


class JogStage(Stage):
    """One motor's jog. ``opener`` makes the session with a board on a port."""

    id = "jog"

    def __init__(self, desk: Desk, opener: Opener = open_board) -> None:
        super().__init__(desk)
        self.opener = opener
        self.stand: Stand = "board"
        self.says, self.is_problem = "", False  # beside port, settings and wiring
        self.session: Session | None = None
        self.board: BoardFound | None = None
        self.setting: Setting | None = None
        self.corrected: dict[str, str] = {}  # texts that the sensor's count has changed
        self.turn_end: TurnEnd | None = None
        self.moving = False
        self.way = ""  # what the board does now
        self.pause = ""  # why the next move waits for a word
        self.stopped = ""  # why the last motion ended early
        self.covered = False  # something was laid over STOP, and stopped the motor
        self.seen_to = False  # what is to be seen to before anything moves, on this connection
        self.search = SearchAtWork(desk)
        self.results: dict[str, Judged] = {}  # of the searches since the stage was opened
        self._texts: dict[str, str] | None = None
        self._port = ""
        self._then: Callable[[Any], Job | None] | None = None
        if kind := self.search.kind:
            kept = len(self.search.saved)
            self._say(f"{KIND_TITLES[kind]} is under way, {kept} move{'s' * (kept != 1)} kept: connect to go on")
        try:
            check_usable(self.desk.known)
        except CoilbenchError as problem:
            self._say(str(problem), problem=True)

    # What is known

    @property
    def busy(self) -> bool:
        """A job was given out, and hasn't come back."""
        return self._then is not None

    @property
    def shaft_answers(self) -> bool:
        """A virtual shaft can answer what is asked now."""
        if self.stand == "turned":
            return self.turn_end is not None and self.turn_end.turns is not None
        return self.search.asked is not None and self.search.flag is not None

    @property
    def figures(self) -> Figures:
        """What is saved of the motor on the drive at hand."""
        if self.setting is None:
            return figures_of(self.desk.known.get(Jog), Drive())
        return fitting(figures_of(self.desk.known.get(Jog), self.setting.drive), self.setting.found_with)

    @property
    def scene(self) -> Scene:
        """What is to be seen, once a board is connected and wired."""
        return scene_of(self)

    @property
    def head(self) -> Head:
        """What stands first, and why."""
        if self.stand in ("board", "wire"):
            return before_moving(self.desk.known, self.known_now, self.setup().mind, wired=self.stand == "wire")
        return at_work(self.scene, self.known_now)

    @property
    def to_see_to(self) -> tuple[str, ...]:
        """What is to be confirmed before the first motion on this connection; nothing of a virtual motor."""
        if self.seen_to or self.setting is None or self._port.startswith(VIRTUAL):
            return ()
        return confirmed(self.setting.drive, self.setting.shaft)

    def setup(self, *, ascii: bool = False, sensor: bool = True) -> Setup:
        """What to wire where, and what to mind; empty while no board is connected."""
        if self.board is None or self.setting is None:
            return Setup()
        return setup_of(self.board, self.setting.drive.kind, self.desk.known, ascii=ascii, sensor=sensor)

    @classmethod
    def summary(cls, known: Facts) -> list[Known]:
        return figures_known(known.get(Jog), known.get(Driver))

    @property
    def known_now(self) -> list[Known]:
        """What is saved, the board that is connected, and what searches say that were left."""
        board = [] if self.board is None else [Known("board", f"{self.board.chip}, sketch {self.board.sketch}")]
        return [*self.summary(self.desk.known), *board, *left_known(self.desk.entries(Event))]

    def texts(self) -> dict[str, str]:
        """The texts as last typed, else those of the last search, else by what is known of the motor."""
        if self._texts is not None:
            return {**self._texts, **self.corrected}
        return first_texts(self.desk.known, [each.value for each in self.desk.entries(SearchBegun)], self.own_watch)

    @property
    def own_board(self) -> OwnBoard | None:
        """The helper board that is usual at the bench; None for none."""
        return self.desk.own.usual(OwnBoard)

    @property
    def own_watch(self) -> OwnWatch | None:
        """What usually watches a shaft at the bench; None for nothing told."""
        return self.desk.own.usual(OwnWatch)

    # Jobs

    def _job(self, work: Job, then: Callable[[Any], Job | None]) -> Job:
        self._then = then
        return work

    def done(self, result: object) -> Job | None:
        """A job has returned this: on to the next, if one follows by itself."""
        then, self._then = self._then, None
        self.moving = False
        return then(result) if then is not None else None

    def failed(self, problem: CoilbenchError) -> None:
        """A job, or a look at the board between jobs, has raised this."""
        self._then, self.moving, self.search.asked, self.pause = None, False, None, STOPPED_MOVE
        if isinstance(problem, LinkFault):
            self.close()
        elif self.stand == "turning":
            self.stand = "wire"
        elif self.stand == "search" and self.search.judged is None:
            self.stand, self.pause = "choose", problem.happened
        self._say(problem.happened, problem=True)

    def heard(self, state: str) -> None:
        """The board says what it does now."""
        self.way = WAYS.get(state, state)

    def _say(self, text: str, *, problem: bool = False) -> None:
        self.says, self.is_problem = text, problem

    # The board

    def connect(self, texts: Texts) -> Job | None:
        """Open the port and greet the board. Raises what ``usable_setting`` does."""
        if self.busy or self.stand not in ("board", "wire"):
            return None
        setting = usable_setting(texts, self.desk.known)
        setting = replace(setting, run_expected=run_expected(self.desk, setting))
        self.close()
        self.setting, self.corrected = setting, {}
        self._texts = {name: text for name, text in texts.items() if name != "port"}
        self._port = port_of(texts)
        session = self.session = self.opener(setting.url, setting.drive, setting.shaft)
        self._say("waiting for the board; some take three seconds to start")
        return self._job(lambda progress: session.open(), self._connected)

    def _connected(self, board: BoardFound) -> None:
        assert self.setting is not None
        self.board, self.stand, self.seen_to = board, "wire", False
        if not self._port.startswith(VIRTUAL):
            note(self.desk, OwnBoard(name="", port=self._port))
        self._say(f"Wire it as drawn. {also(self.setting.drive.kind)} {WIRED}")

    def settings(self) -> None:
        """Let the board go, and back to the settings."""
        if not self.busy and self.stand in SETTLED:
            self.close()
            self.pause = ""
            self._say("")

    def close(self) -> None:
        """Stop the motor, and let the port go."""
        if self.session is not None:
            self.session.close()
        self.session, self.board, self.stand = None, None, "board"

    # One slow turn

    def turn(self, *, only_count: bool = False) -> Job | None:
        """One slow turn, to see that coils, current and direction are sane; with ``only_count`` a count of its steps
        is all that is wanted, whatever was typed."""
        session = self.session
        if self.busy or session is None or self.stand != "wire":
            return None
        self.stand, self.moving, self.way, self.stopped, self.covered = "turning", True, "", "", False
        session.ready()
        farthest = FARTHEST_STEPS if only_count else None
        return self._job(lambda progress: session.turn(progress, farthest), partial(self._turn_ended, only_count))

    def _turn_ended(self, only_count: bool, turn: TurnEnd) -> None:
        assert self.setting is not None
        shaft, self.turn_end, self.stand = self.setting.shaft, turn, "wire"
        if not turn.complete:
            self.stopped = turn.why
            self._say(COVERED if self.covered else STOPPED)
        elif shaft.sensor and not turn.edges:
            self._say("the index sensor saw no edge in two turns: look after flag, sensor, wiring", problem=True)
        elif not only_count and (wrong := turn.miscounted(shaft)):
            self.corrected = corrected_texts(turn, shaft)
            self.close()
            self._say(wrong, problem=True)
        else:
            self.stand = "turned"

    def turned(self, seen: str) -> Job | None:
        """How the slow turn looked, in the words of ``slow_turn``: on to the search begun, or to choose one."""
        if self.busy or self.stand != "turned" or self.setting is None:
            return None
        self.desk.add(SlowTurn(turned=seen))
        if wrong := remedy(seen):
            self.stand = "wire"
            self._say(wrong, problem=True)
            return None
        if self.search.goes_on(self.setting):
            self.pause = MARK_AGAIN
            return self._judge()
        self.stand, self.pause = "choose", OTHER_SETTING if self.search.begun is not None else ""
        self.search.end()
        return None

    # Searches

    def choose(self, kind: str, limits: Limits | None = None) -> Job | None:
        """Begin a search, or go on with one of this kind that was left without a result; one of another kind that is
        under way is left. Raises InputProblem, NotEnoughKnown for one that can't be."""
        limits = limits or Limits()
        if self.busy or self.stand not in ("choose", "search") or self.setting is None or self.board is None:
            return None
        if self.search.is_within(kind, limits):
            return None
        self.leave()
        self.search.begin(kind, self.setting, limits, self.board.highest_sps)
        self.pause = FEEL if self.search.is_felt else MARK
        return self._judge()

    def _judge(self) -> Job:
        """Work out from the saved answers what is known and what to try next."""
        self.stand = "search"
        return self._job(self.search.judging(), self._judged)

    def _judged(self, judged: Judged) -> Job | None:
        search = self.search
        self.results[search.kind] = judged
        search.take(judged)
        if search.proving and judged.proved >= search.goal:
            search.proving = False  # enough for what was said
        elif search.proving and search.proof_skipped:
            self.pause = self.pause or SKIPPED_PROOF
        return self.go() if search.trial is not None and not self.pause else None

    def go(self) -> Job | None:
        """Make the next move."""
        session, trial = self.session, self.search.trial
        if self.busy or session is None or self.stand != "search" or trial is None or self.search.asked is not None:
            return None
        self.pause, self.way, self.stopped, self.moving, self.covered = "", "", "", True, False
        session.ready()
        return self._job(lambda progress: session.trial(trial, progress), self._trial_ended)

    def _trial_ended(self, end: TrialEnd) -> Job | None:
        if not end.complete:
            self.stopped = end.why
            self.pause = f"{COVERED if self.covered else STOPPED} {STOPPED_MOVE}"
            return None
        self.search.asked, self.search.flag = self.search.trial, end.flag
        return None if end.outcome is None else self._answered(end.outcome, by="sensor")

    def answer(self, text: str) -> Job | None:
        """What the flag shows after a move, or on which way it shook worse, as typed. Raises InputProblem."""
        return self._answered(outcome_of_text(text, felt=self.search.is_felt), by="eye")

    def answer_digit(self, digit: int) -> Job | None:
        """The answer that has this digit in the scene."""
        if self.busy or digit not in dict(self.scene.answers):
            return None
        if self.stand == "turned":
            return self.turned(TURN_SEEN[digit - 1])
        if self.stand == "choose":
            return self.choose(KINDS[digit - 1])
        return self._answered(outcome_of_digit(digit, felt=self.search.is_felt), by="eye")

    def shaft_answer(self) -> Job | None:
        """The virtual shaft answers what is asked now."""
        if self.busy or not self.shaft_answers:
            return None
        if self.stand == "turned" and self.turn_end is not None:
            return self.turned(seen_by_virtual_flag(self.turn_end))
        assert self.search.flag is not None
        return self._answered(self.search.flag, by="eye")

    def _answered(self, outcome: Outcome, *, by: str) -> Job | None:
        if self.search.asked is None or self.busy:
            return None
        self.search.answer(outcome, by=by)
        # Whoever looked at a flag off its mark has it to set again.
        self.pause = "" if outcome.kind == "returned" or by != "eye" or self.search.is_felt else MARK_AGAIN
        return self._judge()

    def prove(self, moves: int | None = None) -> None:
        """Try the working figure again and again, in longer moves: until so many in a row were clean, else as many as
        the next claim wants that was offered; it rests at a skip."""
        if not self.busy and self.stand == "search" and self.scene.prove and self.search.judged is not None:
            goal = self.search.judged.proving_goal if moves is None else moves
            self.search.proving, self.search.goal, self.pause = True, goal, MARK_AGAIN

    def leave(self) -> None:
        """End this search with what is known."""
        if not self.busy and self.stand == "search":
            self.stand, self.pause = "choose", self.search.leave()

    # Undo: the last answer of this search, with what was made of it

    @property
    def can_undo(self) -> bool:
        return self._at_rest and bool(self.search.answers)

    @property
    def can_redo(self) -> bool:
        return self._at_rest and super().can_redo

    @property
    def _at_rest(self) -> bool:
        return self.stand == "search" and not self.busy and not self.desk.read_only

    def undo(self) -> str | None:
        return self._step(super().undo, "Taken back. ") if self.can_undo else None

    def redo(self) -> str | None:
        return self._step(super().redo, "") if self.can_redo else None

    def _step(self, step: Callable[[], str | None], says: str) -> str | None:
        words = self.search.step(step)
        self.pause = f"{says}{MARK_AGAIN}"
        return words

    def judge_again(self) -> Job | None:
        """Work out anew what the saved answers of the search at work tell."""
        return self._judge() if self.stand == "search" and not self.busy else None
