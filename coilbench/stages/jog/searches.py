"""The searches of a jog: what they set out to do, what was answered so far, what comes next, what they found."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, cast

from coilbench.records.rows import Entry
from coilbench.records.saved.base import Event
from coilbench.records.saved.jog import Figures, FoundWith, SavedPlan, SavedSwing, SearchBegun, SearchEnded, TrialMade
from coilbench.stages.jog.figures import SHORT, with_bands, with_search
from coilbench.stages.jog.found_with import change_words
from coilbench.stages.jog.saved import SCAN, SWING, WHOLE, drive_of, outcome_of, plan_of, saved_shaft, trial_of
from coilbench.stages.jog.setting import Setting
from coilbench.stages.jog.swings import swing_lines, with_swing
from coilbench.stages.jog.worth import worth_lines
from coilbench.stages.stage import Known

if TYPE_CHECKING:
    from coilbench.motion.resonance import Band, ScanPlan
    from coilbench.motion.search import SearchState, SearchSummary
    from coilbench.motion.search_plan import SearchPlan
    from coilbench.motion.swing import Swing, SwingPlan
    from coilbench.motion.trials import Outcome, Trial
    from coilbench.stages.jog.saved import Plan

KIND_TITLES = {
    "start": "start-stop (pull-in) rate",
    "run": "slew (pull-out) rate",
    "acceleration": "highest acceleration",
    "resonance": "low-speed resonance",
    "swing": "the rotor's swing",
}
KINDS = tuple(KIND_TITLES)
SWING_WHY = "two slow stretches, out and back, at two rates: feel the motor's case with a fingertip, or listen"
ANSWER_S = 4.0  # what an answer of a scan costs, seconds, as the searches reckon

Entries = Sequence[Entry[Event]]
Answers = tuple[tuple["Trial", "Outcome"], ...]


@dataclass(frozen=True)
class Limits:
    """What may be narrowed of a search: its range, the interval's width to stop at, its moves; None as usual."""

    lowest: float | None = None
    highest: float | None = None
    width: float | None = None
    most_moves: int | None = None

    def fit(self, plan: SavedPlan) -> bool:
        """Whether a search was begun in this range; when it stops may change on the way."""
        given = {"lowest": self.lowest, "highest": self.highest}
        return plan.question in WHOLE or all(
            value is None or getattr(plan, name) == value for name, value in given.items()
        )

    def stopping(self, plan: SavedPlan) -> SavedPlan:
        """A search's plan that stops where these say."""
        if plan.question in WHOLE:
            return plan
        return replace(plan, width=self.width or plan.width, most_moves=self.most_moves or plan.most_moves)


@dataclass(frozen=True)
class Judged:
    """A search after its answers: ``next`` is None when it is over, ``to_go`` about how many moves are left.

    ``why`` says why the next move is of another kind than the others. The plan's way back is the one that is proved.
    """

    plan: Plan
    answers: Answers
    next: Trial | None
    to_go: int
    why: str = ""
    summary: SearchSummary | None = None
    bands: tuple[Band, ...] = ()
    swing: Swing | None = None
    said: tuple[str, ...] = ()

    @property
    def moves(self) -> int:
        """Moves made, the proving run's not counted."""
        return self.summary.moves if self.summary is not None else len(self.answers)

    @property
    def unit(self) -> str:
        return self.summary.unit if self.summary is not None else "steps/s"

    @property
    def working(self) -> float | None:
        """The figure to work with, as far as one is known."""
        return self.summary.working_sps if self.summary is not None else None

    @property
    def proved(self) -> int:
        """Clean proving moves in a row."""
        return self.summary.proved if self.summary is not None else 0

    @property
    def rough(self) -> bool:
        """Whether it says more guess than measured."""
        from coilbench.motion.to_go import is_rough

        return self.next is not None if self.summary is None else is_rough(self.summary)

    @property
    def proving_trial(self) -> Trial | None:
        """A move that tries the working figure."""
        from coilbench.motion.search import SearchPlan, proving_trial

        return proving_trial(self.plan, self.working) if isinstance(self.plan, SearchPlan) and self.working else None

    @property
    def proving_goal(self) -> int:
        """How many clean moves the next proving run wants in a row."""
        from coilbench.motion.proving import next_goal

        return next_goal(self.proved)

    @staticmethod
    def goal_words(clean: int) -> str:
        """What so many clean moves leave."""
        from coilbench.motion.proving import goal_words

        return goal_words(clean)

    @property
    def offers(self) -> tuple[str, ...]:
        """What a proving run would take and claim, before it is begun."""
        from coilbench.motion.proving import time_words
        from coilbench.motion.search import SearchPlan

        trial = self.proving_trial
        if trial is None or not isinstance(self.plan, SearchPlan):
            return ()
        left = self.proving_goal - self.proved
        took = time_words(left * (trial.duration_s + self.plan.answer_s))
        return (f"to prove it: {left} clean moves, about {took}, leave {self.goal_words(self.proving_goal)}",)

    @property
    def so_far(self) -> str:
        """What it says so far, while that is no result; empty for nothing."""
        if not self.moves:
            return ""
        if self.summary is None:
            return f"{self.moves} made, {self.to_go} to go"
        low, high = self.summary.interval_sps
        return f"{low:.0f} to {high:.0f} {self.unit}"

    def put_into(self, figures: Figures, found_with: FoundWith | None = None) -> Figures | None:
        """The figures with what was found put in, and with what; None while that is nothing."""
        from coilbench.motion.swing import SwingPlan

        if isinstance(self.plan, SwingPlan):
            steps = self.plan.shaft.steps_per_turn
            return None if self.swing is None else with_swing(figures, self.swing, found_with, steps)
        if self.summary is None:
            if self.next is not None:
                return None
            figures = replace(with_bands(figures, self.bands), scanned=True)
        elif self.working is None:
            return None
        else:
            figures = with_search(figures, self.summary, cast("SearchPlan", self.plan).acceleration_sps2)
        # Who watches is not the motor's.
        shaft = replace(saved_shaft(self.plan.shaft), sensor=False)
        if self.summary is not None:
            others = {name: each for name, each in figures.found_with.items() if name != self.summary.question}
            here = {} if found_with is None else {self.summary.question: found_with}
            figures = replace(figures, found_with={**others, **here})
        return replace(figures, shaft=shaft, way_back_sps=self.plan.back_rate_sps)


def judge(
    plan: SavedPlan, made: Iterable[TrialMade], found_with: FoundWith | None = None, swings: Sequence[SavedSwing] = ()
) -> Judged:
    """A search after these answers; takes a moment, and may be called in any thread. Raises InputProblem.

    ``swings`` were measured before.
    """
    from coilbench.motion.search import SearchPlan, replay
    from coilbench.motion.swing import SwingPlan

    read = plan_of(plan)
    answers = tuple((trial_of(each.trial), outcome_of(each.outcome)) for each in made)
    if isinstance(read, SwingPlan):
        return _judge_swing(read, answers, found_with, swings)
    if not isinstance(read, SearchPlan):
        return _judge_scan(read, answers)
    judged = _judge_search(replay(read, answers))
    found = judged.summary
    if found is None:
        return judged
    return replace(judged, said=(*judged.said, *worth_lines(found.question, found.working_sps, found_with, swings)))


def _judge_search(state: SearchState) -> Judged:
    from coilbench.motion.search import Finished, next_trial, summary, why_this
    from coilbench.motion.to_go import moves_to_go

    following, found = next_trial(state), summary(state)
    trial = None if isinstance(following, Finished) else following
    why = why_this(state, trial) if trial is not None else ""
    to_go = moves_to_go(state, found)
    return Judged(state.moving_plan, state.answers, trial, to_go, why, found, said=found.said)


def _judge_swing(
    plan: SwingPlan, answers: Answers, found_with: FoundWith | None, swings: Sequence[SavedSwing]
) -> Judged:
    from coilbench.motion.swing import next_swing_trial, swing_found, swing_moves_to_go

    following = next_swing_trial(plan, answers)
    if following is not None:
        why = "" if answers else SWING_WHY
        return Judged(plan, answers, following, swing_moves_to_go(plan, answers), why)
    found = swing_found(plan, answers)
    said = (
        (f"The answers don't agree on one rate up to {plan.highest_sps:.0f} steps/s: look for lost steps instead.",)
        if found is None
        else swing_lines(found, swings, found_with, plan.shaft.steps_per_turn)
    )
    return Judged(plan, answers, None, 0, said=said, swing=found)


def _judge_scan(plan: ScanPlan, answers: Answers) -> Judged:
    from coilbench.motion.resonance import next_scan_trial, scan_bands, scan_way_back
    from coilbench.motion.way_back import WAY_BACK_WHY, no_way_back_words

    following = next_scan_trial(plan, answers)
    found = tuple(scan_bands(answers))
    back = scan_way_back(plan, answers)
    to_go = back.wanted + len(plan.rates_sps)
    if following is not None and following.question != "back":
        to_go = sum(rate >= following.tested for rate in plan.rates_sps)
    said = (no_way_back_words(back.lost_sps),) if back.rate_sps is None else _scan_said(plan, answers, found)
    why = WAY_BACK_WHY if following is not None and following.question == "back" else ""
    read = replace(plan, back_rate_sps=back.rate_sps or plan.back_rate_sps)
    return Judged(read, answers, following, to_go if following is not None else 0, why, bands=found, said=said)


def _scan_said(plan: ScanPlan, answers: Answers, found: tuple[Band, ...]) -> tuple[str, ...]:
    if found:
        return tuple(
            f"Steps are lost between {band.low_sps:.0f} and {band.high_sps:.0f} steps/s: pass through it quickly. "
            "Later searches keep away from it."
            for band in found
        )
    span = f"from {plan.lowest_sps:.0f} to {plan.highest_sps:.0f} steps/s"
    if any(outcome.skipped for trial, outcome in answers if trial.question != "back"):
        return (f"No band of resonance {span}: where steps were lost more than once, nothing faster held.",)
    return (f"No lost steps {span}.",)


# Searches among what is saved


def search_begun(entries: Entries) -> Entry[SearchBegun] | None:
    """The search under way, if one is."""
    last = next((each for each in reversed(entries) if isinstance(each.value, SearchBegun | SearchEnded)), None)
    return cast("Entry[SearchBegun]", last) if last is not None and isinstance(last.value, SearchBegun) else None


def search_left(
    entries: Entries, kind: str, setting: Setting | None = None, limits: Limits | None = None
) -> tuple[Entry[SearchBegun], Entry[SearchEnded]] | None:
    """The last search of this kind and its end, where it was left before it had a result; else None.

    With a ``setting`` only one of this drive and shaft, with ``limits`` only one within these.
    """
    begun: Entry[SearchBegun] | None = None
    left: tuple[Entry[SearchBegun], Entry[SearchEnded]] | None = None
    for each in entries:
        if isinstance(each.value, SearchBegun):
            asked = each.value.plan.question == kind
            asked = asked and (setting is None or goes_on(each.value, setting))
            asked = asked and (limits is None or limits.fit(each.value.plan))
            begun, left = (cast("Entry[SearchBegun]", each), None) if asked else (None, left)
        elif isinstance(each.value, SearchEnded) and begun is not None:
            left = (begun, cast("Entry[SearchEnded]", each)) if each.value.so_far else left
            begun = None
    return left


def answers_of(entries: Entries, begun_id: int, end_id: float = float("inf")) -> list[TrialMade]:
    """The saved answers of the search that began with entry ``begun_id``, and ended with ``end_id``."""
    return [each.value for each in entries if begun_id < each.id < end_id and isinstance(each.value, TrialMade)]


def goes_on(begun: SearchBegun, setting: Setting) -> bool:
    """Whether a search is of this drive and shaft, a run of this acceleration, too; who watches may change."""
    then, now = begun.plan.shaft, saved_shaft(setting.shaft)
    if drive_of(begun.drive) != setting.drive or replace(then, sensor=now.sensor) != now:
        return False
    if begun.found_with is not None and change_words(begun.found_with, setting.found_with):
        return False
    return begun.plan.question != "run" or begun.plan.acceleration_sps2 == setting.acceleration_sps2


def left_known(entries: Entries) -> list[Known]:
    """What searches say that were left before they had a result."""
    left = [(kind, search_left(entries, kind)) for kind in KIND_TITLES]
    return [
        Known(SHORT.get(kind, kind), f"{each[1].value.so_far} (rough)") for kind, each in left if each is not None
    ]


def kept_words(kind: str, judged: Judged, *, result: bool) -> str:
    """What is kept of a search that is being left."""
    if not judged.moves:
        return ""
    title, moves = KIND_TITLES[kind], f"{judged.moves} move{'s' * (judged.moves != 1)}"
    if not result:
        kept = f"Too rough for a result; its {moves} are kept, choose it again to go on."
        return f"{title}, so far: {judged.so_far}. {kept}"
    return f"{title}: {judged.working:.0f} {judged.unit} is kept, from {moves}." if judged.working else ""


def found_words(kind: str, figures: Figures) -> str:
    """What is known already of what a search would look for."""
    if kind == SWING:
        return f": {figures.swings[0].hz:.0f} Hz" if figures.swings else ""
    if kind == SCAN:
        return ": " + ", ".join(f"{rate:.0f}" for rate in figures.resonance_sps) if figures.resonance_sps else ""
    found = {"start": figures.start_rate_sps, "run": figures.run_rate_sps}.get(kind)
    return f": {found:.0f}" if found else ""
