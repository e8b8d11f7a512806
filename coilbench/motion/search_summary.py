"""What a search found: figures, curve, and the lines that say what they are worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Literal

import numpy as np

from coilbench.motion.limit_fit import (
    Array,
    Grid,
    believed,
    chances,
    limit_quantiles,
    may_be_gradual,
    rate_for_chance,
    stated,
    steepness_told,
)
from coilbench.motion.proving import bench_time, chance_left, goal_words, time_words
from coilbench.motion.resonance import FAR_BELOW
from coilbench.motion.search_plan import SearchPlan
from coilbench.motion.trials import Outcome, Trial
from coilbench.motion.way_back import WayBack, no_way_back_words

Status = Literal["open", "width", "moves", "beyond", "below", "back"]

# The working figure: this share (own choice; common practice is half to nine tenths) of the figure at which the motor
# itself skips with WORKING_CHANCE by the fitted curve, taken from the cautious end of what the curve may be.
WORKING_MARGIN = 0.9
WORKING_CHANCE = 0.05
WORKING_QUANTILE = 0.05
# Below this share of what the prior left open about the steepness, the trials have told nothing of it (own choice).
_TOLD = 0.2
_CURVE_POINTS = 41


@dataclass(frozen=True)
class Curve:
    """Chance to skip over ``figures`` (rising): the fit's mean and the band that holds 90 % of what is possible."""

    figures: tuple[float, ...]
    mean: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True)
class SearchSummary:
    """Figures in steps/s (steps/s2 in a search for acceleration, whatever the name says).

    ``working_sps`` is None until a figure passed. ``status``: "open" while moves are still worth while, else why the
    search ended. ``moves`` counts all, ``unclear`` those that nobody could judge; ``proved`` clean proving trials in
    a row at ``working_sps`` or faster, which leave ``proved_chance`` at the most. ``steepness_guessed``: how steeply
    it turns to skipping rests on the prior alone; ``gradual``: it may turn gradually, as far as the trials tell.
    """

    question: str
    unit: str
    limit_sps: float
    interval_sps: tuple[float, float]
    working_sps: float | None
    status: Status
    moves: int
    unclear: int
    proved: int
    proved_chance: float | None
    curve: Curve
    said: tuple[str, ...]
    steepness_guessed: bool = False
    gradual: bool = False

    def as_dict(self) -> dict[str, Any]:
        """As plain JSON values."""
        plain = asdict(self)
        plain["interval_sps"] = list(self.interval_sps)
        plain["curve"] = {name: list(values) for name, values in plain["curve"].items()}
        plain["said"] = list(self.said)
        return plain


def working_figure(
    plan: SearchPlan, grid: Grid, cells: Array, answers: Sequence[tuple[Trial, Outcome]]
) -> float | None:
    """The figure to work with: from the fitted curve and a margin.

    Never faster than what has passed or than a proving trial that skipped, less the margin; None when nothing passed.
    """
    passed = [
        trial.tested
        for trial, outcome in answers
        if trial.question not in ("prove", "back") and outcome.skipped is False
    ]
    if not passed:
        return None
    disproved = [trial.tested for trial, outcome in answers if trial.question == "prove" and outcome.skipped]
    safe = rate_for_chance(grid, cells, WORKING_CHANCE, WORKING_QUANTILE)
    return min(safe, plan.highest, max(passed), *disproved) * WORKING_MARGIN


def summarise(
    plan: SearchPlan,
    grid: Grid,
    cells: Array,
    answers: Sequence[tuple[Trial, Outcome]],
    status: Status,
    back: WayBack,
) -> SearchSummary:
    """The summary of a search; ``cells`` are the posterior's probabilities, ``plan`` has the way back it moves by."""
    low, limit, high = limit_quantiles(grid, stated(cells), (0.05, 0.5, 0.95))
    searched = [
        (trial.tested, outcome.skipped) for trial, outcome in answers if trial.question not in ("prove", "back")
    ]
    # By the ten: of motors twice to four times as gradual one move in 20 to 70 at it loses steps, less than is said.
    working, gradual = working_figure(plan, grid, cells, answers), may_be_gradual(cells)
    proved = _proved(answers, working)
    found = SearchSummary(
        question=plan.question,
        unit=plan.unit,
        limit_sps=limit,
        interval_sps=(low, high),
        working_sps=working,
        status=status,
        moves=sum(trial.question != "prove" for trial, _ in answers),
        unclear=sum(trial.question != "prove" and outcome.skipped is None for trial, outcome in answers),
        proved=proved,
        proved_chance=chance_left(proved) if proved else None,
        curve=_curve(plan, grid, believed(cells), low, high),
        said=(),
        steepness_guessed=not gradual and steepness_told(grid, cells) < _TOLD,
        gradual=gradual,
    )
    return SearchSummary(**{**vars(found), "said": tuple(_lines(plan, found, searched, answers, back))})


def _proved(answers: Sequence[tuple[Trial, Outcome]], working: float | None) -> int:
    """Clean proving trials since the last skip in one, at the working figure (within 2 %) or faster."""
    clean = 0
    for trial, outcome in answers:
        if trial.question == "prove" and working is not None and trial.tested >= 0.98 * working:
            clean = 0 if outcome.skipped else clean + (outcome.skipped is False)
    return clean


def _curve(plan: SearchPlan, grid: Grid, cells: Array, low: float, high: float) -> Curve:
    figures = np.geomspace(max(low / 1.3, plan.lowest / 1.2), min(high * 1.3, plan.highest * 1.2), _CURVE_POINTS)
    mean, under, over = chances(grid, cells, np.log(figures))
    return Curve(*(tuple(float(value) for value in row) for row in (figures, mean, under, over)))


_NAMES = {"start": "start-stop (pull-in) rate", "run": "slew (pull-out) rate", "acceleration": "acceleration"}


def _lines(
    plan: SearchPlan,
    found: SearchSummary,
    searched: Sequence[tuple[float, bool | None]],
    answers: Sequence[tuple[Trial, Outcome]],
    back: WayBack,
) -> list[str]:
    name, unit = _NAMES[plan.question], plan.unit
    lines = []
    if found.status == "back":
        return [f"{name}: {no_way_back_words(back.lost_sps)}"]
    if found.status == "beyond":
        lines.append(f"{name}: no steps lost up to {plan.highest:.4g} {unit}, the end of the range searched")
    elif found.status == "below":
        lines.append(
            f"{name}: steps lost even at {plan.lowest:.4g} {unit}; look at current, supply and wiring, or begin lower"
        )
    else:
        low, high = found.interval_sps
        lines.append(
            f"{name}: half the trials of this length lose steps at {found.limit_sps:.4g} {unit} "
            f"(90 % sure of {low:.4g} to {high:.4g})"
        )
    if found.status == "moves":
        lines.append(f"the moves are used up before the interval got as narrow as {plan.width:.0%}")
    elif found.status == "width" and found.interval_sps[1] > (1 + plan.width) * found.interval_sps[0]:
        lines.append(_wider_words(plan, found))
    if found.working_sps is not None and found.status != "below":
        lines.append(
            f"working figure {found.working_sps:.4g} {unit}: {WORKING_MARGIN:.0%} of where the fitted curve leaves a "
            f"chance of {WORKING_CHANCE:.0%} a trial; a figure from a curve and a margin, not yet from proof"
        )
    if found.proved_chance is not None:
        lines.append(f"{found.proved} clean proving trials leave {goal_words(found.proved)} (rule of three)")
    if any(trial.question == "prove" and outcome.skipped for trial, outcome in answers):
        lines.append("it lost steps in a proving trial: take a lower working figure and prove that")
    if back.lost_sps:
        lost = ", ".join(f"{rate:.0f}" for rate in back.lost_sps)
        void = sum(bool(outcome.skipped) and trial.back_rate_sps in back.lost_sps for trial, outcome in answers)
        lines.append(
            f"the way back lost steps by itself at {lost} steps/s: it went at {plan.back_rate_sps:.4g} then"
            + (", and what was lost before doesn't count" if void > len(back.lost_sps) else "")
        )
    lines += _held_above(found, searched)
    if found.working_sps is not None and found.steepness_guessed:
        lines.append(
            "how steeply it turns from holding to losing steps rests on ten virtual motors, not on this one's moves: "
            "the margin of the working figure does, too; proving it is what counts"
        )
    if searched:
        lines.append(_time_line(plan, answers))
    if found.unclear:
        lines.append(f"{found.unclear} of {found.moves} moves could not be judged")
    return lines


def _wider_words(plan: SearchPlan, found: SearchSummary) -> str:
    """Why the interval that is told is wider than was asked for."""
    low, high = found.interval_sps
    wide = f"the interval is {100 * (high / low - 1):.3g}% wide, not {100 * plan.width:.3g}%"
    if found.gradual:
        return (
            f"{wide}: moves near the limit went against each other, so it may turn from holding to losing steps "
            "gradually; what is told allows for that"
        )
    return f"{wide}: it allows for a motor unlike the known ones, and the last moves buy little"


def _time_line(plan: SearchPlan, answers: Sequence[tuple[Trial, Outcome]]) -> str:
    spent = bench_time(plan, answers)
    parts = [f"the search took about {time_words(spent.search_s)} at the bench with answers"]
    if spent.way_back_s:
        parts.append(f"proving the way back {time_words(spent.way_back_s)}")
    if spent.proving_s:
        parts.append(f"the proving run {time_words(spent.proving_s)}")
    return ", ".join(parts)


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _held_above(found: SearchSummary, searched: Sequence[tuple[float, bool | None]]) -> list[str]:
    """Why the limit lies below a figure that held, and what skips say that lie far below one."""
    skips = [figure for figure, skipped in searched if skipped]
    passes = [figure for figure, skipped in searched if skipped is False]
    top = max(passes, default=0.0)
    lines = []
    if top > found.limit_sps and found.status in ("width", "moves", "open") and skips:
        held, skipped = _times(passes.count(top)), _times(sum(figure <= top for figure in skips))
        lines.append(
            f"it held {held} at {top:.4g} {found.unit}, above this limit, but lost steps {skipped} at that or less: "
            "near the limit a move may go either way"
        )
    if skips and top > FAR_BELOW * min(skips):
        lines.append(
            "steps were lost well below what held: look for resonance there, or a flag or coupling that slips"
        )
    return lines
