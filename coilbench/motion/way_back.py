"""The way back of the trials: proved alone before anything is told by it.

A trial comes back slowly, so that what was lost on the way out shows. A way back that loses steps itself, as one near
the rotor's swing does in full steps, would be blamed on the tested rate. So it is turned by itself first: whole turns
of the flag in the direction of the way back, after which the flag must be on its mark. A rate that lost steps is
given up for the next one, and what skipped by it tells nothing. Where a slower trial skipped than one that held, the
way back is turned again: it may be what lost the steps.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from coilbench.motion.trials import Outcome, Shaft, Trial

# Clean turns by themselves before a way back counts (own choice); each trial that comes back is one more.
CLEAN_TURNS = 2
# So many times it must have brought the shaft back, alone or after a trial, before a search ends (own choice): one
# that loses steps in every second move would have done so once in sixty.
SURE_OF_IT = 6
# More of them where slower trials skipped than held, at the most.
_MOST_DOUBTS = 2
# So far below what held a skip casts doubt on the way back: about three spreads of response.csv (own choice).
_DOUBTFUL_BELOW = 1.1
# Nothing but the way back's own ends is shaped by it, steps/s2.
_GAIN_SPS2 = 1000.0

WAY_BACK_WHY = "the way back is proved first, alone: whole turns, after which the flag must be on its mark"
WAY_BACK_AGAIN = "was it the way back that lost the steps? that is turned once more, alone"

Answers = Sequence[tuple[Trial, Outcome]]


@dataclass(frozen=True)
class WayBack:
    """``rate_sps`` is how to come back, None when every rate lost steps; ``wanted`` clean turns are to be made yet.

    ``lost_sps`` are the rates that lost steps by themselves; so often ``held`` did this one not.
    """

    rate_sps: float | None
    wanted: int
    lost_sps: tuple[float, ...] = ()
    held: int = SURE_OF_IT


def way_back(rates_sps: Sequence[float], answers: Answers) -> WayBack:
    """How to come back: the first of ``rates_sps`` that lost no steps by itself."""
    lost = tuple(rate for rate in rates_sps if any(_told(answers, rate, True)))
    rate = next((each for each in rates_sps if each not in lost), None)
    if rate is None:
        return WayBack(None, 0, lost)
    clean = sum(1 for _ in _told(answers, rate, False))
    brought = sum(
        outcome.skipped is False and trial.question != "back" and trial.back_rate_sps == rate
        for trial, outcome in answers
    )
    return WayBack(rate, max(CLEAN_TURNS + _doubts(answers, rate) - clean, 0), lost, clean + brought)


def _told(answers: Answers, rate_sps: float, skipped: bool) -> Iterable[Trial]:
    return (
        trial
        for trial, outcome in answers
        if trial.question == "back" and trial.tested == rate_sps and outcome.skipped is skipped
    )


def _doubts(answers: Answers, rate_sps: float) -> int:
    """Skips by this way back well below a figure that held."""
    searched = [(trial, outcome) for trial, outcome in answers if trial.question not in ("back", "prove")]
    held = max((trial.tested for trial, outcome in searched if outcome.skipped is False), default=0.0)
    doubtful = sum(
        bool(outcome.skipped) and trial.back_rate_sps == rate_sps and trial.tested * _DOUBTFUL_BELOW < held
        for trial, outcome in searched
    )
    return min(doubtful, _MOST_DOUBTS)


def back_trial(rate_sps: float, shaft: Shaft) -> Trial:
    """The way back by itself: two whole turns of the flag, one where a turn is long."""
    turns = 2 if shaft.flag_steps <= 400 else 1
    steps = max(round(turns * shaft.flag_steps), 1)
    return Trial("back", rate_sps, steps, rate_sps, rate_sps, _GAIN_SPS2, rate_sps, 0.0)


def counts(trial: Trial, outcome: Outcome, lost_sps: Collection[float]) -> bool:
    """Whether a trial tells of its figure: not where it skipped by a way back that loses steps itself."""
    return trial.question not in ("back", "prove") and not (outcome.skipped and trial.back_rate_sps in lost_sps)


def no_way_back_words(lost_sps: Collection[float]) -> str:
    """What is left to do where every way back lost steps."""
    rates = ", ".join(f"{rate:.0f}" for rate in sorted(lost_sps))
    return (
        f"it loses steps by itself at {rates} steps/s, so no move could be judged: set the driver to microsteps "
        "(8 or 16), look at current, supply and wiring, or take load off the shaft"
    )
