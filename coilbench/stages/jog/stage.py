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
from typing import TYPE_CHECKING, Any

from coilbench.board.link.faults import LinkFault
from coilbench.board.link.ports import VIRTUAL
from coilbench.board.session.drive import Drive
from coilbench.board.session.wiring import also
from coilbench.errors import CoilbenchError, InputProblem
from coilbench.motion.trials import CAME_BACK, CANNOT_TELL, Outcome, Trial, off_by
from coilbench.records.rows import Entry
from coilbench.records.saved.base import Event
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.jog import Figures, Jog, SearchBegun, SearchEnded, SlowTurn, TrialMade
from coilbench.records.saved.ratings import Ratings
from coilbench.stages.desk import Desk
from coilbench.stages.fitness import check_usable
from coilbench.stages.form import Texts
from coilbench.stages.jog import searches
from coilbench.stages.jog.driving import check_drivable, drive_cautions, no_current_words, wiring
from coilbench.stages.jog.figures import figures_known, figures_of, with_figures
from coilbench.stages.jog.saved import drive_of, saved_drive, saved_outcome, saved_plan, saved_trial
from coilbench.stages.jog.scene import PROVING_ROUND, WAYS, Scene, Setup, Stand, scene_of
from coilbench.stages.jog.searches import KIND_TITLES, KINDS, Judged, Limits
from coilbench.stages.jog.session import Job, Opener, Session, open_board
from coilbench.stages.jog.setting import Setting, first_texts, number_text, read_setting
from coilbench.stages.stage import Known, Stage

if TYPE_CHECKING:
    from coilbench.board.session.jog import TrialEnd, TurnEnd
    from coilbench.board.session.session import BoardFound

SETTLED = ("wire", "turned", "choose")  # connected, nothing moves, and no search is at work

WAITING = "waiting for the board; some take three seconds to start"
WIRED = "Then supply on, flag taped to the shaft, hands off, and let it turn once."
MARK = "Set the flag to its mark, hands off, then go."
MARK_AGAIN = "Set the flag to its mark again, hands off, then go."
OTHER_SETTING = "Drive or shaft is another now: the search under way was ended, what it found is kept."
STOPPED_MOVE = "That move doesn't count. Make a new mark where the flag stands, hands off, then go."
SKIPPED_PROOF = "It skipped: the working figure is lower now. Go on to prove that."
STOPPED = "Stopped, outputs off."
COVERED = "The motor was stopped: a page covered STOP."

TURNED = {1: "clockwise", 2: "anticlockwise", 3: "hummed", 4: "nothing", 5: "part"}
COUNTED = "counted"  # the slow turn was judged by the sensor alone
_OUTCOMES = (CAME_BACK, off_by(1), off_by(2), off_by(3), off_by(), CANNOT_TELL)
_TURN_SLACK, _HUMMED_TURNS = 0.01, 0.1  # of a virtual flag
_FARTHEST_STEPS = 6000.0  # to count a turn that nobody knows: three turns of the usual geared tin can, two minutes
_MOST_JUMPS = 1000


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
        self.counting = False  # a sensor counts the steps of the slow turn
        self.moving = False
        self.way = ""  # what the board does now
        self.pause = ""  # why the next move waits for a word
        self.stopped = ""  # why the last motion ended early
        self.covered = False  # something was laid over STOP, and stopped the motor
        self.judged: Judged | None = None
        self.asked: Trial | None = None  # made, and waiting for its answer
        self.proving = False
        self.results: dict[str, Judged] = {}  # of the searches since the stage was opened
        self._flag: Outcome | None = None  # what the virtual shaft would answer
        self._texts: dict[str, str] | None = None
        self._only_count, self._round = False, PROVING_ROUND
        self._then: Callable[[Any], Job | None] | None = None
        self._begun = searches.search_begun(self._entries)
        self._say_where_it_stands()

    def _say_where_it_stands(self) -> None:
        if self._begun is not None:
            kept = len(searches.answers_of(self._entries, self._begun.id))
            title = KIND_TITLES[self._begun.value.plan.question]
            self._say(f"{title} is under way, {kept} move{'s' * (kept != 1)} kept: connect to go on")
        try:
            check_usable(self.desk.known)
        except CoilbenchError as problem:
            self._say(str(problem), problem=True)

    # What is known

    @property
    def _entries(self) -> list[Entry[Event]]:
        return [each for each in self.desk.entries(Event) if each.value.stage == self.id]

    @property
    def busy(self) -> bool:
        """A job was given out, and hasn't come back."""
        return self._then is not None

    @property
    def kind(self) -> str:
        """Which search is under way."""
        return self._begun.value.plan.question if self._begun is not None else ""

    @property
    def trial(self) -> Trial | None:
        """The move that comes next, while the search goes on."""
        if self.judged is None:
            return None
        return self.judged.proving_trial if self.proving else self.judged.next

    @property
    def is_turned(self) -> bool:
        """The slow turn was made, and waits for how it looked."""
        return self.stand == "turned"

    @property
    def is_found(self) -> bool:
        """The search has found a figure, and is over: it may be proved."""
        return self.stand == "search" and self.trial is None and bool(self.judged and self.judged.working)

    @property
    def shaft_answers(self) -> bool:
        """A virtual shaft can answer what is asked now."""
        if self.stand == "turned":
            return self.turn_end is not None and self.turn_end.turns is not None
        return self.asked is not None and self._flag is not None

    @property
    def is_virtual(self) -> bool:
        """The port's board is a virtual one, whose shaft answers by itself."""
        return self.setting is not None and self.setting.url.startswith(VIRTUAL)

    @property
    def answers(self) -> searches.Answers:
        """The moves of the search at work, with what became of them."""
        return self.judged.answers if self.judged is not None else ()

    @property
    def last_words(self) -> str:
        """What became of the last move."""
        return searches.outcome_words(self.answers[-1][1]) if self.answers else ""

    @property
    def skipped_last(self) -> bool:
        """The last move skipped."""
        return bool(self.answers and self.answers[-1][1].skipped)

    @property
    def proof_skipped(self) -> bool:
        """The last move was one of a proving run, and skipped."""
        return self.skipped_last and self.answers[-1][0].question == "prove"

    @property
    def proved(self) -> int:
        """Clean proving moves in a row at the working figure."""
        return self.judged.proved if self.judged is not None else 0

    @property
    def also(self) -> str:
        """What to see to beside the drawing of the wiring."""
        return also(self.setting.drive.kind) if self.setting is not None else ""

    def precautions(self, *, virtual: bool) -> list[tuple[str, str]]:
        """What to see to on plain lines before anything moves, each with what kind of thing it is; of a virtual motor
        the cautions alone."""
        from coilbench.motion.before import precautions

        assert self.setting is not None
        # There Ctrl-C stops, not a key of the screen; and coil lines have no driver whose current could be set.
        elsewhere = {"stop", "current"} if self.setting.drive.by_coils else {"stop"}
        return [
            ("caution" if each.kind == "caution" else "see that", each.text)
            for each in precautions(self.setting.shaft)
            if each.key not in elsewhere and (not virtual or each.kind == "caution")
        ]

    @property
    def figures(self) -> Figures:
        """What is saved of the motor on the drive at hand."""
        drive = self.setting.drive if self.setting is not None else Drive()
        return figures_of(self.desk.known.get(Jog), drive)

    @property
    def scene(self) -> Scene:
        """What is to be seen, once a board is connected and wired."""
        return scene_of(self)

    def setup(self, *, ascii: bool = False, sensor: bool = True) -> Setup:
        """What to wire where, and what to mind; empty while no board is connected."""
        if self.board is None or self.setting is None:
            return Setup()
        known, kind = self.desk.known, self.setting.drive.kind
        return Setup(
            tuple(wiring(self.board, kind, known, ascii=ascii, sensor=sensor)),
            drive_cautions(kind, known),
            no_current_words(kind, known),
        )

    @classmethod
    def summary(cls, known: Facts) -> list[Known]:
        return figures_known(known.get(Jog))

    @property
    def known_now(self) -> list[Known]:
        """What is saved, the board that is connected, and what searches say that were left."""
        board = [] if self.board is None else [Known("board", f"{self.board.chip}, sketch {self.board.sketch}")]
        return [*self.summary(self.desk.known), *board, *searches.left_known(self._entries)]

    def texts(self) -> dict[str, str]:
        """The texts as last typed, else those of the last search, else by what is known of the motor."""
        if self._texts is not None:
            return {**self._texts, **self.corrected}
        begun = [each.value for each in self._entries if isinstance(each.value, SearchBegun)]
        return first_texts(self.desk.known, begun)

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
        self._then, self.moving, self.asked, self.pause = None, False, None, STOPPED_MOVE
        if isinstance(problem, LinkFault):
            self.close()
        elif self.stand == "turning":
            self.stand = "wire"
        elif self.stand == "search" and self.judged is None:
            self.stand, self.pause = "choose", problem.happened
        self._say(problem.happened, problem=True)

    def heard(self, state: str) -> None:
        """The board says what it does now."""
        self.way = WAYS.get(state, state)

    def _say(self, text: str, *, problem: bool = False) -> None:
        self.says, self.is_problem = text, problem

    # The board

    def check(self, texts: Texts) -> Setting:
        """The texts, read. Raises Fault for a motor that must not be powered or can't be turned so, InputProblem."""
        known = self.desk.known
        check_usable(known)
        setting = read_setting(texts)
        check_drivable(setting.drive.kind, known)
        return setting

    def connect(self, texts: Texts) -> Job | None:
        """Open the port and greet the board. Raises what ``check`` does."""
        if self.busy or self.stand not in ("board", "wire"):
            return None
        setting = self.check(texts)
        self.close()
        self.setting, self.corrected = setting, {}
        self._texts = {name: text for name, text in texts.items() if name != "port"}
        session = self.session = self.opener(setting.url, setting.drive, setting.shaft)
        self._say(WAITING)
        return self._job(lambda progress: session.open(), self._connected)

    def _connected(self, board: BoardFound) -> None:
        assert self.setting is not None
        self.board, self.stand = board, "wire"
        self._say(f"Wire it as drawn. {self.also} {WIRED}")

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
        self.counting = self.setting is not None and self.setting.shaft.sensor
        self._only_count = only_count
        session.ready()
        farthest = _FARTHEST_STEPS if only_count else None
        return self._job(lambda progress: session.turn(progress, farthest), self._turn_ended)

    def _turn_ended(self, turn: TurnEnd) -> None:
        assert self.setting is not None
        shaft, self.turn_end, self.stand = self.setting.shaft, turn, "wire"
        if not turn.complete:
            self.stopped = turn.why
            self._say(COVERED if self.covered else STOPPED)
        elif shaft.sensor and not turn.edges:
            self._say("the index sensor saw no edge in two turns: look after flag, sensor, wiring", problem=True)
        elif not self._only_count and (wrong := turn.miscounted(shaft)):
            assert turn.counted is not None
            geared, counted = shaft.flag_on == "output" and shaft.gear != 1, turn.counted
            self.corrected = (
                {"gear": number_text(float(f"{counted.steps_per_turn / shaft.steps_per_turn:.5g}"))}
                if geared
                else {"turn": str(counted.usual or round(counted.steps_per_turn))}
            )
            self.close()
            self._say(wrong, problem=True)
        else:
            self.stand = "turned"

    def turned(self, seen: str) -> Job | None:
        """How the slow turn looked, one of ``TURNED`` or ``COUNTED``: on to the search begun, or to choose one."""
        if self.busy or self.stand != "turned" or self.setting is None:
            return None
        self.desk.add(SlowTurn(turned=seen))
        if remedy := _turn_remedy(seen):
            self.stand = "wire"
            self._say(remedy, problem=True)
            return None
        self._begun = searches.search_begun(self._entries)  # another bench or a command may have gone on with it
        if self._begun is not None and searches.goes_on(self._begun.value, self.setting):
            self.pause = MARK_AGAIN
            return self._judge()
        ended = self._begun is not None
        if ended:
            self.desk.add(SearchEnded())
        self._forget_search()
        self.stand, self.pause = "choose", OTHER_SETTING if ended else ""
        return None

    # Searches

    def check_limits(self, kind: str, texts: Texts, limits: Limits) -> None:
        """Raise InputProblem for a search that can't be within these limits, before a board is asked."""
        setting = read_setting(texts)
        known = figures_of(self.desk.known.get(Jog), setting.drive)
        searches.check_limits(kind, setting, known, limits)

    def choose(self, kind: str, limits: Limits | None = None) -> Job | None:
        """Begin a search, or go on with one of this kind that was left without a result; one of another kind that is
        under way is left. Raises InputProblem, NotEnoughKnown for one that can't be."""
        limits = limits or Limits()
        if self.busy or self.stand not in ("choose", "search") or self.setting is None or self.board is None:
            return None
        if self._begun is not None:
            plan = self._begun.value.plan
            if self.kind == kind and self.trial is not None and limits.fit(plan) and limits.stopping(plan) == plan:
                return None
            self.leave()
        entries = self._entries
        left = searches.search_left(entries, kind, self.setting, limits)
        begun = left[0].value if left is not None else self._planned(kind, limits)
        begun = replace(begun, plan=limits.stopping(begun.plan))
        self._forget_search()
        self.desk.add(begun)
        for each in searches.answers_of(entries, left[0].id, left[1].id) if left is not None else ():
            self.desk.add(each)
        self._begun = searches.search_begun(self._entries)
        self.pause = MARK
        return self._judge()

    def _planned(self, kind: str, limits: Limits) -> SearchBegun:
        assert self.setting is not None and self.board is not None
        ratings = self.desk.known.get(Ratings)
        plan = searches.plan_for(kind, self.setting, self.figures, ratings, self.board.highest_sps, limits)
        return SearchBegun(plan=saved_plan(plan), drive=saved_drive(self.setting.drive))

    def _judge(self) -> Job:
        """Work out from the saved answers what is known and what to try next."""
        assert self._begun is not None
        plan, made = self._begun.value.plan, searches.answers_of(self._entries, self._begun.id)
        self.stand = "search"
        return self._job(lambda progress: searches.judge(plan, made), self._judged)

    def _judged(self, judged: Judged) -> Job | None:
        self.judged = self.results[self.kind] = judged
        if self.trial is None or self.proving:
            self._keep_finding()
        if self.proving and judged.proved and judged.proved % self._round == 0:
            self.pause = judged.said[-1]
        elif self.proving and self.proof_skipped:
            self.pause = self.pause or SKIPPED_PROOF
        return self.go() if self.trial is not None and not self.pause else None

    def _keep_finding(self) -> None:
        if self.judged is None or self._begun is None or self.desk.read_only:
            return
        jog = self.desk.known.get(Jog)
        figures = self.judged.put_into(figures_of(jog, drive_of(self._begun.value.drive)))
        if figures is not None and (found := with_figures(jog, figures)) != jog:
            self.desk.keep(self.id, found)

    def go(self) -> Job | None:
        """Make the next move."""
        session, trial = self.session, self.trial
        if self.busy or session is None or self.stand != "search" or trial is None or self.asked is not None:
            return None
        self.pause, self.way, self.stopped, self.moving, self.covered = "", "", "", True, False
        session.ready()
        return self._job(lambda progress: session.trial(trial, progress), self._trial_ended)

    def _trial_ended(self, end: TrialEnd) -> Job | None:
        if not end.complete:
            self.stopped = end.why
            self.pause = f"{COVERED if self.covered else STOPPED} {STOPPED_MOVE}"
            return None
        self.asked, self._flag = self.trial, end.flag
        return None if end.outcome is None else self._answered(end.outcome, by="sensor")

    def answer(self, text: str) -> Job | None:
        """What the flag shows after a move: ``y`` or 0 for its mark, ``n``, so many jumps, ``?``.

        Raises InputProblem.
        """
        words = {"y": 0, "yes": 0, "0": 0, "n": 4, "no": 4, "?": 5, "skip": 5}
        text = text.strip().lower()
        if text in words:
            return self._answered(_OUTCOMES[words[text]], by="eye")
        if not (text.lstrip("-").isdecimal() and abs(int(text)) <= _MOST_JUMPS):
            raise InputProblem("answer y, n, a number or ?")
        return self._answered(off_by(int(text)), by="eye")

    def answer_digit(self, digit: int) -> Job | None:
        """The answer that has this digit in the scene."""
        if self.busy or digit not in dict(self.scene.answers):
            return None
        if self.stand == "turned":
            return self.turned(TURNED[digit])
        if self.stand == "choose":
            return self.choose(KINDS[digit - 1])
        return self._answered(_OUTCOMES[digit], by="eye")

    def shaft_answer(self) -> Job | None:
        """The virtual shaft answers what is asked now."""
        if self.busy or not self.shaft_answers:
            return None
        if self.stand == "turned" and self.turn_end is not None:
            return self.turned(TURNED[_turn_seen(self.turn_end)])
        assert self._flag is not None
        return self._answered(self._flag, by="eye")

    def _answered(self, outcome: Outcome, *, by: str) -> Job | None:
        trial = self.asked
        if trial is None or self.busy:
            return None
        self.desk.add(TrialMade(trial=saved_trial(trial), outcome=saved_outcome(outcome), by=by))
        self.asked = None
        # Whoever looked at a flag off its mark has it to set again.
        self.pause = MARK_AGAIN if outcome.kind != "returned" and by == "eye" else ""
        return self._judge()

    def prove(self, moves: int = PROVING_ROUND) -> None:
        """Try the working figure again and again, in longer moves; it rests after so many, and at a skip."""
        if not self.busy and self.is_found:
            self.proving, self.pause, self._round = True, MARK_AGAIN, moves

    def leave(self) -> None:
        """End this search with what is known."""
        if self.busy or self.stand != "search" or self._begun is None:
            return
        judged, so_far, words = self.judged, "", ""
        if judged is not None:
            over = self.trial is None or self.proving
            result = over or (judged.summary is not None and not judged.rough)
            if result:
                self._keep_finding()
            so_far = "" if result else judged.so_far
            words = searches.kept_words(self.kind, judged, result=result)
        self.desk.add(SearchEnded(so_far=so_far))
        self._forget_search()
        self.stand, self.pause = "choose", words

    def _forget_search(self) -> None:
        self._begun, self.judged, self.asked, self._flag = None, None, None, None
        self.pause, self.proving = "", False

    # Undo: the last answer of this search, with what was made of it

    @property
    def can_undo(self) -> bool:
        return self._at_rest and bool(self.judged and self.judged.answers)

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
        """Step until an answer went or came: slow turns and what was kept of a finding stand between them."""
        assert self._begun is not None
        before, words = len(searches.answers_of(self._entries, self._begun.id)), None
        while len(searches.answers_of(self._entries, self._begun.id)) == before:
            if (step_words := step()) is None:
                break
            words = step_words
        self.asked, self.pause = None, f"{says}{MARK_AGAIN}"
        return words

    def judge_again(self) -> Job | None:
        """Work out anew what the saved answers of the search at work tell."""
        return self._judge() if self.stand == "search" and not self.busy else None


def _turn_remedy(seen: str) -> str:
    """What to look at when the slow turn went wrong; empty when it went well."""
    from coilbench.motion.before import SLOW_TURN_SEEN

    return next((each.remedy for each in SLOW_TURN_SEEN if each.key == seen), "")


def _turn_seen(turn: TurnEnd) -> int:
    """The answer of a virtual flag: as many turns as it made, or, if far fewer, that it hummed."""
    assert turn.turns is not None
    if turn.counted is None and abs(abs(turn.turns) - 1) > _TURN_SLACK:
        return 5 if abs(turn.turns) > _HUMMED_TURNS else 3
    return 1 if turn.turns > 0 else 2
