"""What a search sets out to do, and the moves it is made of."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from coilbench.errors import InputProblem
from coilbench.motion.limit_fit import Array
from coilbench.motion.trials import Shaft, Trial, trial_steps

Searched = Literal["start", "run", "acceleration"]


_POSITIVE = (
    "lowest",
    "highest",
    "start_rate_sps",
    "run_rate_sps",
    "acceleration_sps2",
    "back_rate_sps",
    "cruise_turns",
    "width",
    "answer_s",
)


@dataclass(frozen=True)
class SearchPlan:
    """The question, its range, and what stays the same in every move. Raises InputProblem for what can't be.

    ``lowest``, ``highest``: rates in steps/s, or accelerations in steps/s2 when those are sought.
    ``cruise_turns``: turns of the flag, at the least, at the tested rate: the trials' stated length.
    ``width``: ends the search when the 90 % interval's ends are no further apart than by this share, for a motor
    about as steep as those known. Near ``most_moves`` somewhat wider is enough, and the stated interval allows for
    others.
    ``answer_s``, ``remark_s``: what an answer costs, and what setting the flag to its mark again costs after a skip.
    ``avoid``: bands (low, high) of rates that are never tried, where resonance was found or is expected.
    ``back_rates_sps``: rates to come back at, each proved alone before it counts; with none ``back_rate_sps`` is
    taken as it is.
    """

    question: Searched
    lowest: float
    highest: float
    shaft: Shaft = field(default_factory=Shaft)
    start_rate_sps: float = 50.0
    run_rate_sps: float = 1000.0
    acceleration_sps2: float = 2000.0
    back_rate_sps: float = 40.0
    cruise_turns: float = 1.0
    dwell_s: float = 0.5
    width: float = 0.08
    most_moves: int = 25
    answer_s: float = 4.0
    remark_s: float = 6.0
    avoid: tuple[tuple[float, float], ...] = ()
    back_rates_sps: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if self.question not in ("start", "run", "acceleration"):
            raise InputProblem(f"nothing is sought by {self.question!r}; expected start, run or acceleration")
        for name in _POSITIVE:
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0):
                raise InputProblem(f"{name.replace('_', ' ')} of {value:g} can't be; expected a positive number")
        if min(self.dwell_s, self.remark_s) < 0:
            raise InputProblem("a rest or a time to mark is below 0 s")
        if not all(math.isfinite(rate) and rate > 0 for rate in self.back_rates_sps):
            raise InputProblem(f"a way back at {self.back_rates_sps} steps/s can't be; expected positive numbers")
        if not 1 <= self.most_moves <= 1000:
            raise InputProblem(f"at most {self.most_moves} moves can't be; expected 1 to 1000")
        if not self.lowest * 1.05 <= self.highest <= self.lowest * 1e4:
            raise InputProblem(
                f"{self.lowest:g} to {self.highest:g} can't be searched; expected the highest 1.05 to 10000 "
                "times the lowest"
            )

    @property
    def unit(self) -> str:
        """What the figures are in."""
        return "steps/s2" if self.question == "acceleration" else "steps/s"

    def allowed(self, figures: Array) -> npt.NDArray[np.bool_]:
        """Which figures lie outside the bands to avoid; all when none would be left."""
        clear = np.ones(len(figures), dtype=bool)
        for low, high in self.avoid if self.question != "acceleration" else ():
            clear &= ~((figures > low) & (figures < high))
        return clear if clear.any() else ~clear

    def cost_s(self, figures: Array) -> Array:
        """About how long a move at each figure takes, seconds."""
        return np.array([trial_at(self, float(figure)).duration_s for figure in figures])


def trial_at(plan: SearchPlan, figure: float) -> Trial:
    """The plan's move at a figure: what it tests is that figure and nothing else."""
    start, run, gain = plan.start_rate_sps, plan.run_rate_sps, plan.acceleration_sps2
    if plan.question == "start":
        start = run = figure
        gain = no_ramp_gain(plan.back_rate_sps)
    elif plan.question == "run":
        run, start = figure, min(start, figure)
    else:
        gain, start = figure, min(start, run)
    ramps = (run**2 - start**2) / gain
    steps = trial_steps(ramps + plan.cruise_turns * plan.shaft.flag_steps, plan.shaft.flag_steps)
    return Trial(plan.question, figure, steps, start, run, gain, plan.back_rate_sps, plan.dwell_s)


def no_ramp_gain(back_rate_sps: float) -> float:
    """An acceleration that brings the way back up to its rate within half a step: it has no ramp to resonate on.

    A way back begins no faster than the way out did; a way out without a ramp is not touched by it.
    """
    return back_rate_sps**2


def proving_trial(plan: SearchPlan, working: float, times_longer: float = 4.0) -> Trial:
    """A move of the proving run: at the working figure, its cruise ``times_longer`` than in the search."""
    base = trial_at(plan, working)
    longer = (times_longer - 1) * plan.cruise_turns * plan.shaft.flag_steps
    steps = trial_steps(base.steps + longer, plan.shaft.flag_steps)
    return replace(base, question="prove", steps=steps)
