"""Low-speed resonance: looked for by itself, since there a slower trial can skip where a faster one holds.

swing_hz = swing_from_facts(holding_torque_newton_metre, inertia_kilogram_metre2, shaft.steps_per_turn)
plan = ScanPlan(shaft, lowest_sps=20, highest_sps=0.8 * start_limit_sps, swing_hz=swing_hz)
while (trial := next_scan_trial(plan, answers)) is not None: ...   # answers: list of (Trial, Outcome)
found = scan_bands(answers)                                         # for SearchPlan.avoid and the motor's card
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from coilbench.errors import InputProblem
from coilbench.motion.pullout import small_swing_hz
from coilbench.motion.search_plan import no_ramp_gain
from coilbench.motion.trials import Outcome, Shaft, Trial, trial_steps
from coilbench.motion.way_back import WayBack, back_trial, counts, way_back

# A rate that skipped is tried this often in all before it counts: one flag misread makes no resonance.
_LOOKS_AT_A_SKIP = 3
# A skip that lies this far below a pass goes ill with "faster is worse" (own choice; nine spreads of response.csv).
FAR_BELOW = 1.28
# Tries at a rate that nobody could judge.
_MOST_LOOKS = 5


@dataclass(frozen=True)
class Band:
    """Rates to keep away from, steps/s: the trials on either side that held."""

    low_sps: float
    high_sps: float

    @property
    def middle_sps(self) -> float:
        """The band's middle in logarithm; with nothing that holds below, half its upper end stands for the lower."""
        return math.sqrt(max(self.low_sps, self.high_sps / 2) * self.high_sps)


@dataclass(frozen=True)
class ScanPlan:
    """A scan from ``lowest_sps`` up to ``highest_sps``, which should lie below the start limit (four fifths of it).

    ``swing_hz`` is the rotor's small-swing frequency if known (``swing_from_facts``): looked at more closely.
    ``back_rates_sps`` are rates to come back at, each proved alone before it counts, see ``way_back``.
    Raises InputProblem for what can't be.
    """

    shaft: Shaft = field(default_factory=Shaft)
    lowest_sps: float = 20.0
    highest_sps: float = 400.0
    swing_hz: float | None = None
    count: int = 12
    turns: float = 1.0
    back_rate_sps: float = 40.0
    dwell_s: float = 0.5
    back_rates_sps: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if not (0 < self.lowest_sps < self.highest_sps < math.inf and self.count >= 2):
            raise InputProblem(
                f"a scan from {self.lowest_sps:g} to {self.highest_sps:g} steps/s can't be: the slower comes first"
            )

    @property
    def rates_sps(self) -> list[float]:
        """All rates of the scan, slowest first."""
        rates = set(scan_rates(self.lowest_sps, self.highest_sps, self.count))
        for expected in expected_rates(self.swing_hz) if self.swing_hz else ():
            near = (float(round(expected * share)) for share in (0.9, 1.0, 1.1))
            rates.update(rate for rate in near if self.lowest_sps <= rate <= self.highest_sps)
        return sorted(rates)


def scan_rates(lowest_sps: float, highest_sps: float, count: int = 12) -> list[float]:
    """Rates to try, evenly spaced in their logarithm, slowest first."""
    return [float(round(rate)) for rate in np.geomspace(lowest_sps, highest_sps, count)]


def swing_from_facts(
    holding_torque_newton_metre: float | None, inertia_kilogram_metre2: float | None, steps_per_turn: int
) -> float | None:
    """The rotor's small-swing frequency for a ``ScanPlan``, hertz; None when a figure is missing or can't be.

    ``holding_torque_newton_metre`` at the current that is set, ``inertia_kilogram_metre2`` with all that turns along,
    ``steps_per_turn`` full steps of the rotor: four for each of its teeth (``pullout.small_swing_hz``).
    """
    figures = (holding_torque_newton_metre, inertia_kilogram_metre2, steps_per_turn)
    torque, inertia, steps = (figure if figure and 0 < figure < math.inf else None for figure in figures)
    if torque is None or inertia is None or steps is None:
        return None
    return small_swing_hz(torque, inertia, steps / 4)


def expected_rates(swing_hz: float) -> tuple[float, float]:
    """Where to look: full-step rates at the rotor's own small-swing frequency and at half of it.

    Each step sets the rotor swinging; steps that come at that frequency or every second swing feed it (Acarnley,
    Stepping Motors, on low-speed resonance; from memory).
    """
    return swing_hz / 2, swing_hz


def next_scan_trial(plan: ScanPlan, answers: Sequence[tuple[Trial, Outcome]]) -> Trial | None:
    """The next move of the scan, slowest rate first; a rate that skipped is looked at again. None when done."""
    back = scan_way_back(plan, answers)
    if back.rate_sps is None:
        return None
    if back.wanted:
        return back_trial(back.rate_sps, plan.shaft)
    told: dict[float, list[bool | None]] = {}
    for trial, outcome in answers:
        if counts(trial, outcome, back.lost_sps):
            told.setdefault(trial.tested, []).append(outcome.skipped)
    for rate in plan.rates_sps:
        looks = told.get(rate, [])
        judged = [skipped for skipped in looks if skipped is not None]
        wanted = _LOOKS_AT_A_SKIP if any(judged) else 1
        if len(judged) < wanted and len(looks) < _MOST_LOOKS:
            return _scan_trial(plan, rate, back.rate_sps)
    return None


def scan_way_back(plan: ScanPlan, answers: Sequence[tuple[Trial, Outcome]]) -> WayBack:
    """How the scan's trials come back; as the plan says where it names no rates to prove.

    What a scan looks for are slower rates that skip: they cast no doubt on the way back.
    """
    if not plan.back_rates_sps:
        return WayBack(plan.back_rate_sps, 0)
    return way_back(plan.back_rates_sps, [each for each in answers if each[0].question == "back"])


def _scan_trial(plan: ScanPlan, rate_sps: float, back_rate_sps: float) -> Trial:
    steps = trial_steps(plan.turns * plan.shaft.flag_steps, plan.shaft.flag_steps)
    return Trial(
        "resonance", rate_sps, steps, rate_sps, rate_sps, no_ramp_gain(back_rate_sps), back_rate_sps, plan.dwell_s
    )


def scan_bands(answers: Sequence[tuple[Trial, Outcome]]) -> list[Band]:
    """Bands of resonance by a scan: rates where at least half of what could be judged skipped."""
    told: dict[float, list[bool]] = {}
    lost = {trial.tested for trial, outcome in answers if trial.question == "back" and outcome.skipped}
    for trial, outcome in answers:
        if outcome.skipped is not None and counts(trial, outcome, lost):
            told.setdefault(trial.tested, []).append(outcome.skipped)
    return bands([(rate, 2 * sum(skips) >= len(skips)) for rate, skips in told.items()])


def without_resonance(told: Sequence[tuple[float, bool]]) -> list[tuple[float, bool]]:
    """What trials of (rate in steps/s, skipped) tell of the limit: without skips far below a rate that holds.

    A rate holds when it or faster passed at least twice, and oftener than it or somewhat slower skipped. What skips
    far below that is resonance or a flag misread, and would pull the limit down to where it lies.
    """
    passes = sorted(rate for rate, skipped in told if not skipped)
    skips = sorted(rate for rate, skipped in told if skipped)
    for count, rate in enumerate(reversed(passes), 1):
        near = sum(rate / FAR_BELOW <= each <= rate for each in skips)
        if count >= 2 and count > near:
            return [(each, skipped) for each, skipped in told if not skipped or each >= rate / FAR_BELOW]
    return list(told)


def bands(outcomes: list[tuple[float, bool]]) -> list[Band]:
    """Bands that skip below a rate that holds, from outcomes (rate in steps/s, skipped).

    Skips with nothing that holds above them are the limit and no band.
    """
    by_rate: dict[float, bool] = {}
    for rate, skipped in outcomes:
        by_rate[rate] = by_rate.get(rate, False) or skipped
    found: list[Band] = []
    held_sps, skipping = 0.0, False
    for rate in sorted(by_rate):
        if by_rate[rate]:
            skipping = True
            continue
        if skipping:
            found.append(Band(held_sps, rate))
        held_sps, skipping = rate, False
    return found
