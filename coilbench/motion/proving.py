"""How many clean trials prove what, said from the start, and what that costs at the bench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coilbench.motion.search_plan import SearchPlan
from coilbench.motion.trials import Outcome, Trial

# So many clean trials leave at most one skip in so many, 95 % sure (``chance_left``).
PROVING_GOALS = ((29, 10), (59, 20), (299, 100))


def chance_left(clean_trials: int) -> float:
    """The highest chance to skip that ``clean_trials`` without a skip leave at 95 %: 1 - 0.05^(1/n).

    About 3/n, the rule of three (Hanley and Lippman-Hand, JAMA 249, 1983, "If nothing goes wrong, is everything all
    right?"; from memory). 1 for none.
    """
    return 1 - 0.05 ** (1 / clean_trials) if clean_trials > 0 else 1.0


def next_goal(proved: int) -> int:
    """How many clean trials the next proving run wants in all, beside those it has; the last goal again after it."""
    return next((clean for clean, _ in PROVING_GOALS if clean > proved), PROVING_GOALS[-1][0] + proved)


def goal_words(clean_trials: int) -> str:
    """What so many clean trials leave."""
    return f"at most {100 * chance_left(clean_trials):.0f} % of such moves to lose steps, 95 % sure"


@dataclass(frozen=True)
class BenchTime:
    """Seconds at the bench, answers and marks set again counted in: for the search itself, for proving the way back,
    and for the proving run."""

    search_s: float
    way_back_s: float
    proving_s: float


def bench_time(plan: SearchPlan, answers: Sequence[tuple[Trial, Outcome]]) -> BenchTime:
    """What these moves took, about."""
    spent = {"back": 0.0, "prove": 0.0, plan.question: 0.0}
    for trial, outcome in answers:
        spent[trial.question] += trial.duration_s + plan.answer_s + (plan.remark_s if outcome.skipped else 0.0)
    return BenchTime(spent[plan.question], spent["back"], spent["prove"])


def time_words(seconds: float) -> str:
    """A time as somebody at the bench would say it."""
    return f"{seconds:.0f} s" if seconds < 90 else f"{seconds / 60:.0f} min"
