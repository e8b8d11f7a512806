"""The rotor's swing, measured: two slow rates are compared for how much the shaft shakes, again and again.

    plan = SwingPlan(shaft, expected_hz=180.0)
    while (trial := next_swing_trial(plan, answers)) is not None: ...   # out at one rate, back at another
    found = swing_found(plan, answers)

In full steps each step sets the rotor swinging, and one that comes as the last swing ends adds to it: near that rate
the shaft shakes and is loud most. A person can't put a number on that, but can tell which of two stretches was the
worse one. Which rate it is follows from such answers as a weighing does: every rate that might be the worst foretells
each answer by how a rotor shakes on both sides of it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache, lru_cache

import numpy as np

from coilbench.errors import InputProblem
from coilbench.motion.limit_fit import Array, quantile
from coilbench.motion.search_plan import no_ramp_gain
from coilbench.motion.trials import Outcome, Shaft, Trial

# The worst rate is below the small swings' frequency, since wide ones are slower: a swing of a whole step, as a step
# begins it, takes 1.18 times as long (the pendulum's law, by the arithmetic-geometric mean); virtual motors shake
# worst at 0.8 to 0.9 of it.
WORST_SHARE = 0.83
_SHARE_SPREAD = 0.06  # a rotor that shakes as much to either side of it is found lower by twice that
# How much the shaft shakes at shares of the worst rate: the virtual motors' speed about its mean, between a hybrid's
# with its hump at half of it and a can's without.
_SHARES = (0.05, 0.12, 0.25, 0.36, 0.42, 0.48, 0.54, 0.6, 0.66, 0.72, 0.78, 0.84, 0.9, 0.96, 1.0, 1.08, 1.14, 1.2,
           1.33, 1.45, 1.57, 1.8, 2.05, 2.4, 4.0, 8.0, 20.0)  # fmt: skip
_SHAKEN = (0.25, 0.33, 0.45, 0.54, 0.57, 0.62, 0.7, 0.7, 0.68, 0.69, 0.73, 0.79, 0.88, 0.97, 1.0, 0.98, 0.93, 0.87,
           0.76, 0.66, 0.56, 0.42, 0.33, 0.24, 0.1, 0.03, 0.01)  # fmt: skip
# A hand or an ear tells what differs by an eighth (own choice; a tenth to a fifth is common for both); what is felt
# scatters by more than that, and one answer in twenty is a slip.
TOLD_APART = 0.12
_FELT_SPREAD = 0.25
_SLIP = 0.05
_LOWEST_HZ, _HIGHEST_HZ = 12.0, 450.0  # of the worst rate
_LOG_STEP = 0.02
_RATES = 28
_MOST_APART = 2.2  # the slower stretch takes that much longer
# A frame and length, or an inertia with what is typed of a load, foretell the swing so well; what they don't know of
# (a coupling, a current) has a share of its own.
_EXPECTED_LOG_SPREAD = 0.25
_UNEXPECTED = 0.2
STRETCH_S = 1.2  # of the faster rate: longer than a slow swing takes to build up
_ENOUGH_LOG = math.log(1.25)
_TELLS_LOG = math.log(1.7)
_OVERHEAD_S = 4.5  # an answer, and the rest between the stretches


@dataclass(frozen=True)
class SwingPlan:
    """What to compare: ``lowest_sps`` to ``highest_sps``; ``expected_hz`` is the small swings' frequency by an
    estimate. Raises InputProblem for what can't be."""

    shaft: Shaft = field(default_factory=Shaft)
    lowest_sps: float = 16.0
    highest_sps: float = 400.0
    expected_hz: float | None = None
    most_moves: int = 12
    dwell_s: float = 0.5

    def __post_init__(self) -> None:
        if not (0 < 1.5 * self.lowest_sps < self.highest_sps < math.inf and self.most_moves >= 1):
            raise InputProblem(
                f"rates from {self.lowest_sps:g} to {self.highest_sps:g} steps/s can't be compared: the slower first"
            )


@dataclass(frozen=True)
class Swing:
    """The rate it shakes worst at, and the frequency of small swings, hertz, with its 90 % interval."""

    worst_sps: float
    hz: float
    low_hz: float
    high_hz: float


Answers = Sequence[tuple[Trial, Outcome]]


def next_swing_trial(plan: SwingPlan, answers: Answers) -> Trial | None:
    """The pair of rates whose comparison tells most for its time; None when enough is known."""
    if len(answers) >= plan.most_moves:
        return None
    chance = _chance(plan, answers)
    if len(_judged(answers)) and _width(chance) <= _ENOUGH_LOG:
        return None
    slow, fast, told, unsure = _pairs(plan.lowest_sps, plan.highest_sps)
    worth = _entropy(told @ chance).sum(axis=0) - unsure @ chance
    seconds = _OVERHEAD_S + STRETCH_S * (1 + fast / slow)
    best = int(np.argmax(np.round(worth / seconds, 9)))
    pair = (_plain(slow[best]), _plain(fast[best]))
    # Which of the two goes out changes, so that a load that leans one way is no part of the answer.
    out, back = pair if len(answers) % 2 else pair[::-1]
    return swing_trial(out, back, plan.dwell_s)


def swing_trial(out_sps: float, back_sps: float, dwell_s: float = 0.5) -> Trial:
    """Out at one rate, and as far back at the other."""
    steps = math.ceil(STRETCH_S * max(out_sps, back_sps))
    # Without a ramp, which would lead through the very rates that are looked for.
    return Trial("swing", out_sps, steps, out_sps, out_sps, no_ramp_gain(max(out_sps, back_sps)), back_sps, dwell_s)


def swing_found(plan: SwingPlan, answers: Answers) -> Swing | None:
    """What the answers tell; None while that is too little, or it lies at an end of what was compared."""
    if not _judged(answers):
        return None
    chance = _chance(plan, answers)
    if _width(chance) > _TELLS_LOG:
        return None
    low, worst, high = (math.exp(quantile(_log_worst(), chance, share)) for share in (0.05, 0.5, 0.95))
    if worst > plan.highest_sps / 1.1 or worst < plan.lowest_sps * 1.1:
        return None
    # Both doubts are about normal in the logarithm: 1.645 spreads either way hold 90 %.
    share = 1.645 * _SHARE_SPREAD
    hz = worst / WORST_SHARE
    return Swing(
        worst,
        hz,
        hz * math.exp(-math.hypot(math.log(worst / low), share)),
        hz * math.exp(math.hypot(math.log(high / worst), share)),
    )


def swing_moves_to_go(plan: SwingPlan, answers: Answers) -> int:
    """About how many comparisons are left: each tells a bit or so less than it says."""
    halvings = math.log2(max(_width(_chance(plan, answers)) / _ENOUGH_LOG, 1.0))
    return min(1 + round(1.3 * halvings), plan.most_moves - len(answers))


def inertia_by_swing(hz: float, holding_newton_metre: float, rotor_teeth: float) -> float:
    """All that turns, kilogram metre2, by the swing at the current that makes so much holding torque.

    The law of ``pullout.small_swing_hz``, the other way round.
    """
    return rotor_teeth * holding_newton_metre / (2 * math.pi * hz) ** 2


def _plain(rate_sps: float) -> float:
    return float(f"{rate_sps:.3g}")


def _judged(answers: Answers) -> list[tuple[float, float, int]]:
    """Slower and faster rate, and which answer: 0 the slower was worse, 1 the faster, 2 no difference."""
    found = []
    for trial, outcome in answers:
        if outcome.kind not in ("out worse", "back worse", "alike"):
            continue
        out, back = trial.tested, trial.back_rate_sps
        worse = 2 if outcome.kind == "alike" else int((outcome.kind == "out worse") == (out > back))
        found.append((min(out, back), max(out, back), worse))
    return found


@cache
def _log_worst() -> Array:
    return np.arange(math.log(_LOWEST_HZ), math.log(_HIGHEST_HZ), _LOG_STEP)


@lru_cache(maxsize=4)
def _pairs(lowest_sps: float, highest_sps: float) -> tuple[Array, Array, Array, Array]:
    """Slower and faster rates to compare, what each answer's chance is (answers, pairs, worst rates), and how unsure
    the answers are of themselves."""
    rates = np.geomspace(lowest_sps, highest_sps, _RATES)
    slow, fast = (rates[each] for each in np.triu_indices(_RATES, 1))
    near = fast <= _MOST_APART * slow
    told = _foretold(np.log(slow[near]), np.log(fast[near]))
    return slow[near], fast[near], told, _entropy(told).sum(axis=0)


def _foretold(log_slow: Array, log_fast: Array) -> Array:
    """Chance of each answer for pairs of rates, were each rate the worst: (3, pairs, worst rates)."""
    log_shares, log_shaken = np.log(_SHARES), np.log(_SHAKEN)
    slow, fast = (
        np.interp(each[:, None] - _log_worst()[None, :], log_shares, log_shaken) for each in (log_slow, log_fast)
    )
    away = slow - fast
    slower, faster = _normal((away - TOLD_APART) / _FELT_SPREAD), _normal((-away - TOLD_APART) / _FELT_SPREAD)
    return np.asarray((1 - _SLIP) * np.stack([slower, faster, 1 - slower - faster]) + _SLIP / 3)


def _chance(plan: SwingPlan, answers: Answers) -> Array:
    """How likely each rate is the worst one."""
    logs = _log_worst()
    flat = np.full(len(logs), 1 / len(logs))
    chance = flat
    if plan.expected_hz is not None:
        near = np.exp(-(((logs - math.log(WORST_SHARE * plan.expected_hz)) / _EXPECTED_LOG_SPREAD) ** 2) / 2)
        if near.sum() > 0:
            chance = (1 - _UNEXPECTED) * near / near.sum() + _UNEXPECTED * flat
    for slow, fast, worse in _judged(answers):
        chance = chance * _foretold(np.log([slow]), np.log([fast]))[worse, 0]
    return np.asarray(chance / chance.sum())


def _width(chance: Array) -> float:
    low, high = (quantile(_log_worst(), chance, share) for share in (0.05, 0.95))
    return high - low


def _normal(z: Array) -> Array:
    """The normal law's share below, by a logistic that is nowhere off by more than a hundredth."""
    return np.asarray(0.5 + 0.5 * np.tanh(0.851 * z))


def _entropy(chance: Array) -> Array:
    return np.asarray(-chance * np.log(np.clip(chance, 1e-12, 1.0)))
