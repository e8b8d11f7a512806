"""The search for the fastest start, the fastest run or the highest acceleration that a motor holds.

    plan = SearchPlan("run", lowest=100, highest=10_000, acceleration_sps2=5_000, shaft=Shaft(200))
    state = begin(plan)
    while isinstance(move := next_trial(state), Trial):
        helper.trip(TripOrder(**move.trip(microsteps)))      # whoever moves the motor
        state = record(state, move, CAME_BACK)               # or off_by(2), CANNOT_TELL, outcome_from_index(...)
    move.reason                                              # a Finished: "width", "moves", "beyond", "below"
    found = summary(state)                                   # limit, interval, working rate, curve, lines to show

States are values: ``record`` returns a new one; ``replay(plan, answers)`` makes the state of a saved search again.
The answers' order leaves no trace in it.

Rates are in full steps/s, accelerations in full steps/s2. The limit is the figure at which half the trials of the
plan's length skip. The working figure comes from the fitted curve and a margin; a proving run (``proving_trial``,
events of it go the same way) tightens what can be said of it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

import numpy as np

from coilbench.errors import InputProblem
from coilbench.motion.limit_fit import (
    Array,
    Grid,
    believed,
    information,
    limit_quantiles,
    log_posterior,
    make_grid,
    may_be_gradual,
    weights,
)
from coilbench.motion.resonance import without_resonance
from coilbench.motion.search_plan import SearchPlan, proving_trial, trial_at
from coilbench.motion.search_summary import SearchSummary, summarise
from coilbench.motion.trials import Outcome, Trial
from coilbench.motion.way_back import (
    SURE_OF_IT,
    WAY_BACK_AGAIN,
    WAY_BACK_WHY,
    WayBack,
    back_trial,
    counts,
    way_back,
)

__all__ = [
    "Finished",
    "SearchPlan",
    "SearchState",
    "SearchSummary",
    "begin",
    "next_trial",
    "proving_trial",
    "record",
    "replay",
    "summary",
    "why_this",
]

# From this share of the moves on the interval may be wider, in proportion: the last moves buy little (own choice).
_MOVES_AT_FULL_WIDTH = 0.72
# Where the motor turns gradually, the interval may be so many times as wide: a narrower one would take twice the
# moves (own choice).
_GRADUALLY_WIDER = 2.5
# Being this sure that the limit lies outside the range ends the search.
_SURE_OUTSIDE = 0.95
# Once the interval's ends lie no further apart than this ...
_ROUGHLY = 1.3
# ... skips should have been seen above the limit found, in shares of it: nearest, where to try, furthest, how many
# (own choice). Two, since one may be a flag misread or a way back that lost steps; and where no band of resonance is
# known, above where one ends whose lower end was taken for the limit: 1.85 times that. The nearer one tells flat
# motors from steep ones, too.
_NEAR_ABOVE = (1.1, 1.15, 4.5, 2)
_ABOVE_A_BAND = (1.9, 2.2, 4.5, 2)
# Where runs begin no lower, no rotor's swing is met (published motors' are at 270 Hz and less, see ``rotor``).
_ABOVE_SWING_SPS = 250.0


@dataclass(frozen=True)
class Finished:
    """The search is over: ``width`` reached, ``moves`` used up, limit ``beyond`` the range or ``below`` it; or there
    is no way ``back`` that loses no steps."""

    reason: Literal["width", "moves", "beyond", "below", "back"]


@dataclass(frozen=True)
class SearchState:
    """A plan and what was answered so far."""

    plan: SearchPlan
    answers: tuple[tuple[Trial, Outcome], ...] = ()
    cells: Array = field(default_factory=lambda: np.empty(0), compare=False, repr=False)

    @property
    def grid(self) -> Grid:
        """The cells' figures."""
        return make_grid(self.plan.lowest, self.plan.highest)

    @cached_property
    def believed(self) -> Array:
        """The cells as they are reckoned with."""
        return believed(self.cells)

    @cached_property
    def settled(self) -> Finished | None:
        """Why enough is known of the limit; None while it isn't."""
        return _settled(self)

    @property
    def wanted_log(self) -> float:
        """How wide the interval may be, in the logarithm."""
        return float(np.log1p(self.plan.width)) * (_GRADUALLY_WIDER if may_be_gradual(self.cells) else 1.0)

    @property
    def told(self) -> list[tuple[float, bool]]:
        """Figure and whether it skipped, of every answer that tells of the limit.

        The proving run's don't: its trials are longer, and proof must not push up the figure that it proves.
        """
        lost = self.way_back.lost_sps
        return [
            (trial.tested, outcome.skipped)
            for trial, outcome in self.answers
            if outcome.skipped is not None and counts(trial, outcome, lost)
        ]

    @property
    def way_back(self) -> WayBack:
        """How its trials come back, by what was proved so far; as the plan says where it names no rates to prove."""
        if not self.plan.back_rates_sps:
            return WayBack(self.plan.back_rate_sps, 0)
        return way_back(self.plan.back_rates_sps, self.answers)

    @property
    def moving_plan(self) -> SearchPlan:
        """The plan with the way back that is proved, or is next to be."""
        return replace(self.plan, back_rate_sps=self.way_back.rate_sps or self.plan.back_rate_sps)

    @property
    def moves(self) -> int:
        """Moves made, those that couldn't be judged too, the proving run's not."""
        return sum(trial.question != "prove" for trial, _ in self.answers)


def begin(plan: SearchPlan) -> SearchState:
    """The state before the first move."""
    return _with_answers(plan, ())


def record(state: SearchState, trial: Trial, outcome: Outcome) -> SearchState:
    """The state after an answer. Raises InputProblem for a trial of another question or outside the range."""
    _check_fits(state.plan, trial)
    return _with_answers(state.plan, (*state.answers, (trial, outcome)))


def replay(plan: SearchPlan, answers: Iterable[tuple[Trial, Outcome]]) -> SearchState:
    """The state after these answers. Raises InputProblem for one of another question or outside the range."""
    answers = tuple(answers)
    for trial, _ in answers:
        _check_fits(plan, trial)
    return _with_answers(plan, answers)


def _check_fits(plan: SearchPlan, trial: Trial) -> None:
    if trial.question not in (plan.question, "prove", "back"):
        raise InputProblem(f"a trial of {trial.question} doesn't belong to a search for {plan.question}")
    # The proving run's working figure may lie below the range, where a margin put it.
    if not (trial.question in ("prove", "back") or plan.lowest * 0.999 <= trial.tested <= plan.highest * 1.001):
        raise InputProblem(f"{trial.tested:g} lies outside the search's {plan.lowest:g} to {plan.highest:g}")


def _with_answers(plan: SearchPlan, answers: tuple[tuple[Trial, Outcome], ...]) -> SearchState:
    state = SearchState(plan, answers)
    # An acceleration has no resonance.
    told = state.told if plan.question == "acceleration" else without_resonance(state.told)
    return replace(state, cells=weights(log_posterior(state.grid, told)))


def next_trial(state: SearchState) -> Trial | Finished:
    """The move that tells most for the time it takes, or why none is needed. Pure: asked again, it says the same."""
    reason = _finished(state)
    if reason is not None:
        return reason
    if _back_due(state) and (back_sps := state.way_back.rate_sps) is not None:
        return back_trial(back_sps, state.plan.shaft)
    plan = state.moving_plan
    return trial_at(plan, _plain(_unproved(state) or _telling(state), plan))


def why_this(state: SearchState, trial: Trial) -> str:
    """Why the next move is the way back alone, or lies far above what was found so far; empty where neither."""
    if trial.question == "back":
        again = any(asked.question not in ("back", "prove") for asked, _ in state.answers)
        return WAY_BACK_AGAIN if again else WAY_BACK_WHY
    above = _unproved(state)
    if trial.question == "prove" or above is None or trial.tested != _plain(above, state.plan):
        return ""
    return "far above the limit so far: lost steps here rule out that resonance was taken for it"


def _telling(state: SearchState) -> float:
    plan = state.moving_plan
    log_rates, worth, skip = information(state.grid, state.believed)
    figures = np.clip(np.exp(log_rates), plan.lowest, plan.highest)
    seconds = plan.cost_s(figures) + plan.answer_s + skip * plan.remark_s
    score = np.where(plan.allowed(figures), worth / seconds, -np.inf)
    return float(figures[int(np.argmax(score))])


def _unproved(state: SearchState) -> float | None:
    """A figure well above the limit found so far that should skip, but wasn't seen to; None when it was.

    A search that fell into a band of resonance takes its lower edge for the limit: faster moves show that, while
    there are moves left to climb out. One does where the band is known, or lies below where runs begin; else two.
    """
    plan = state.plan
    low, high = limit_quantiles(state.grid, state.cells, (0.05, 0.95))
    if plan.question == "acceleration" or (high > _ROUGHLY * low and state.settled is None):
        return None
    blind = not plan.avoid and (plan.question == "start" or plan.start_rate_sps < _ABOVE_SWING_SPS)
    for nearest, usual, furthest, wanted in (_ABOVE_A_BAND, _NEAR_ABOVE) if blind else (_NEAR_ABOVE,):
        seen = sum(skipped and nearest * high <= figure <= furthest * high for figure, skipped in state.told)
        figure = min(usual * high, plan.highest)
        if seen < wanted and figure >= nearest * high and plan.allowed(np.array([figure])).all():
            return figure
    return None


def _plain(figure: float, plan: SearchPlan) -> float:
    """The figure in four digits: what is shown is what is tried."""
    return min(max(float(f"{figure:.4g}"), plan.lowest), plan.highest)


def _finished(state: SearchState) -> Finished | None:
    if state.way_back.rate_sps is None:
        return Finished("back")
    settled = state.settled
    if state.moves >= state.plan.most_moves:
        return settled or Finished("moves")
    if settled is not None and (settled.reason == "beyond" or _unproved(state) is None):
        return None if _back_due(state) else settled
    return None


def _back_due(state: SearchState) -> bool:
    """Whether the way back is to be turned alone now: before anything else, and before an end resting on little."""
    back = state.way_back
    return bool(back.wanted) or (back.held < SURE_OF_IT and state.settled is not None)


def _settled(state: SearchState) -> Finished | None:
    plan, grid = state.plan, state.grid
    limit = state.cells.sum(axis=(1, 2))
    if float(limit[grid.log_limits > np.log(plan.highest) + 1e-9].sum()) > _SURE_OUTSIDE:
        return Finished("beyond")
    if float(limit[grid.log_limits < np.log(plan.lowest) - 1e-9].sum()) > _SURE_OUTSIDE:
        return Finished("below")
    low, high = limit_quantiles(grid, state.believed, (0.05, 0.95))
    # At an end of the range an interval may be narrow for want of room only.
    wanted = state.wanted_log if plan.lowest < low and high < plan.highest else np.log1p(plan.width)
    width = wanted * max(1.0, state.moves / (_MOVES_AT_FULL_WIDTH * plan.most_moves))
    return Finished("width") if np.log(high / low) <= width else None


def summary(state: SearchState) -> SearchSummary:
    """What is known now; at any time, finished or not."""
    over = _finished(state)
    return summarise(
        state.moving_plan, state.grid, state.cells, state.answers, over.reason if over else "open", state.way_back
    )
