"""The search at work: begun, asked about, answered, stepped back through, left; each answer is saved by itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from coilbench.motion.trials import Outcome, Trial
from coilbench.records.saved.base import Event
from coilbench.records.saved.jog import Jog, SearchBegun, SearchEnded, TrialMade
from coilbench.stages.desk import Desk
from coilbench.stages.jog import searches
from coilbench.stages.jog.figures import figures_of, with_figures
from coilbench.stages.jog.plans import plan_for
from coilbench.stages.jog.saved import SWING, drive_of, saved_drive, saved_outcome, saved_plan, saved_trial
from coilbench.stages.jog.searches import Answers, Judged, Limits
from coilbench.stages.jog.session import Job
from coilbench.stages.jog.setting import Setting


class SearchAtWork:
    """The search under way on a motor, if one is; ``judged`` is what its saved answers tell, once that is known."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.begun = searches.search_begun(desk.entries(Event))
        self.judged: Judged | None = None
        self.asked: Trial | None = None  # made, and waiting for its answer
        self.flag: Outcome | None = None  # what the virtual shaft would answer
        self.proving, self.goal = False, 0  # how many clean trials in a row a proving run wants

    @property
    def saved(self) -> list[TrialMade]:
        """Its answers, as they are saved."""
        return searches.answers_of(self.desk.entries(Event), self.begun.id) if self.begun is not None else []

    @property
    def answers(self) -> Answers:
        """Its moves, with what became of them."""
        return self.judged.answers if self.judged is not None else ()

    @property
    def kind(self) -> str:
        """Which search it is."""
        return self.begun.value.plan.question if self.begun is not None else ""

    @property
    def is_felt(self) -> bool:
        """Whether its moves are compared by hand or ear: no flag is looked at."""
        return self.kind == SWING

    @property
    def trial(self) -> Trial | None:
        """The move that comes next, while it goes on."""
        if self.judged is None:
            return None
        return self.judged.proving_trial if self.proving else self.judged.next

    @property
    def proof_skipped(self) -> bool:
        """The last move was one of a proving run, and skipped."""
        return bool(self.answers and self.answers[-1][0].question == "prove" and self.answers[-1][1].skipped)

    def goes_on(self, setting: Setting) -> bool:
        """Whether one is under way, by what is saved now, that is of this drive and shaft."""
        self.begun = searches.search_begun(self.desk.entries(Event))  # another bench may have gone on with it
        return self.begun is not None and searches.goes_on(self.begun.value, setting)

    def is_within(self, kind: str, limits: Limits) -> bool:
        """Whether it looks for this, within these limits, and isn't over."""
        if self.begun is None or self.kind != kind or self.trial is None:
            return False
        plan = self.begun.value.plan
        return limits.fit(plan) and limits.stopping(plan) == plan

    def begin(self, kind: str, setting: Setting, limits: Limits, highest_sps: float) -> None:
        """Begin one, or go on with one of this kind that was left without a result; ``highest_sps`` is the board's.

        Raises InputProblem, NotEnoughKnown for one that can't be.
        """
        entries, known = self.desk.entries(Event), self.desk.known
        left = searches.search_left(entries, kind, setting, limits)
        if left is not None:
            begun, made = left[0].value, searches.answers_of(entries, left[0].id, left[1].id)
        else:
            figures = figures_of(known.get(Jog), setting.drive)
            plan = plan_for(kind, setting, figures, highest_sps, limits)
            begun, made = (
                SearchBegun(plan=saved_plan(plan), drive=saved_drive(setting.drive), found_with=setting.found_with),
                [],
            )
        self.forget()
        for each in (replace(begun, plan=limits.stopping(begun.plan)), *made):
            self.desk.add(each)
        self.begun = searches.search_begun(self.desk.entries(Event))

    def judging(self) -> Job:
        """The work that tells from the saved answers what is known and what to try next."""
        assert self.begun is not None
        begun, made = self.begun.value, self.saved
        swings = figures_of(self.desk.known.get(Jog), drive_of(begun.drive)).swings
        return lambda progress: searches.judge(begun.plan, made, begun.found_with, swings)

    def answer(self, outcome: Outcome, *, by: str) -> None:
        """Save what became of the move that was asked about."""
        assert self.asked is not None
        self.desk.add(TrialMade(trial=saved_trial(self.asked), outcome=saved_outcome(outcome), by=by))
        self.asked = None

    def take(self, judged: Judged) -> None:
        """This is what its answers tell; what was found is kept."""
        self.judged = judged
        if self.trial is None or self.proving:
            self._keep_finding()

    def _keep_finding(self) -> None:
        if self.judged is None or self.begun is None or self.desk.read_only:
            return
        jog = self.desk.known.get(Jog)
        begun = self.begun.value
        figures = self.judged.put_into(figures_of(jog, drive_of(begun.drive)), begun.found_with)
        if figures is not None and (found := with_figures(jog, figures)) != jog:
            self.desk.keep(Jog.stage, found)

    def step(self, step: Callable[[], str | None]) -> str | None:
        """Undo or redo until an answer went or came: slow turns and what was kept of a finding stand between them."""
        before, words = len(self.saved), None
        while len(self.saved) == before:
            if (step_words := step()) is None:
                break
            words = step_words
        self.asked = None
        return words

    def leave(self) -> str:
        """End it with what is known; what is kept of it, in words."""
        judged, so_far, words = self.judged, "", ""
        if judged is not None:
            result = self.trial is None or self.proving or (judged.summary is not None and not judged.rough)
            if result:
                self._keep_finding()
            so_far = "" if result else judged.so_far
            words = searches.kept_words(self.kind, judged, result=result)
        self.end(so_far)
        return words

    def end(self, so_far: str = "") -> None:
        """End it, if one is under way; ``so_far`` is what it says where that is no result yet."""
        if self.begun is not None:
            self.desk.add(SearchEnded(so_far=so_far))
        self.forget()

    def forget(self) -> None:
        """No search is under way."""
        self.begun, self.judged, self.asked, self.flag, self.proving = None, None, None, None, False
