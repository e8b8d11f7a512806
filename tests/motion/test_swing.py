"""The rotor's swing by comparing two slow rates at a time: simulated hands, slips, and what follows."""

from __future__ import annotations

import math

import numpy as np
import pytest

from coilbench.errors import InputProblem
from coilbench.motion.pullout import small_swing_hz
from coilbench.motion.swing import (
    WORST_SHARE,
    Swing,
    SwingPlan,
    inertia_by_swing,
    next_swing_trial,
    swing_found,
    swing_moves_to_go,
    swing_trial,
)
from coilbench.motion.trials import ALIKE, BACK_WORSE, CANNOT_TELL, OUT_WORSE, Outcome, Trial

Answers = list[tuple[Trial, Outcome]]


# The virtual tin can, which is damped so well that it has no second hump: its speed about the mean, by shares of the
# small swings' frequency.
CAN = ((0.1, 0.12), (0.3, 0.2), (0.5, 0.25), (0.7, 0.31), (0.8, 0.35), (0.87, 0.36), (1.0, 0.34), (1.1, 0.3),
       (1.2, 0.26), (1.4, 0.2), (1.7, 0.14), (2.0, 0.11), (4.0, 0.03))  # fmt: skip


def shaken(rate_sps: float, worst_sps: float) -> float:
    return float(np.interp(rate_sps / worst_sps * 0.87, *zip(*CAN, strict=True)))


def felt(hz: float, plan: SwingPlan, rng: np.random.Generator) -> Answers:
    worst, answers = rng.normal(WORST_SHARE, 0.03) * hz, []
    while (trial := next_swing_trial(plan, answers)) is not None:
        out, back = (
            shaken(rate, worst) * math.exp(rng.normal(0, 0.1)) for rate in (trial.tested, trial.back_rate_sps)
        )
        told = ALIKE if abs(math.log(out / back)) < 0.12 else OUT_WORSE if out > back else BACK_WORSE
        answers.append((trial, told))
    return answers


@pytest.mark.parametrize("expected", [False, True])
def test_a_hand_finds_the_swing_within_a_minute(expected: bool) -> None:
    rng, held, seconds = np.random.default_rng(4), [], []
    for _ in range(25):
        hz = math.exp(rng.uniform(math.log(40), math.log(320)))
        plan = SwingPlan(expected_hz=hz * math.exp(rng.normal(0, 0.2)) if expected else None)
        answers = felt(hz, plan, rng)
        found = swing_found(plan, answers)
        seconds.append(sum(trial.duration_s + 4 for trial, _ in answers))
        held.append(found is not None and found.low_hz < hz < found.high_hz < 1.45 * found.low_hz)
    assert float(np.mean(held)) >= 0.84
    assert float(np.mean(seconds)) < (45 if expected else 60)


def test_the_worst_rate_lies_below_small_swings_as_the_pendulum_s_law_has_it() -> None:
    # A swing of a whole step is 90 degrees of the field: period by the arithmetic-geometric mean of 1 and cos 45.
    a, b = 1.0, math.cos(math.pi / 4)
    for _ in range(6):
        a, b = (a + b) / 2, math.sqrt(a * b)
    assert pytest.approx(a, abs=0.04) == WORST_SHARE


def test_what_is_compared_goes_out_without_a_ramp_and_takes_turns() -> None:
    plan = SwingPlan(expected_hz=180.0)
    first = next_swing_trial(plan, [])
    assert first is not None and first.start_rate_sps == first.run_rate_sps == first.tested
    second = next_swing_trial(plan, [(first, ALIKE)])
    assert second is not None
    assert (first.tested > first.back_rate_sps) != (second.tested > second.back_rate_sps)
    assert all(16 <= each <= 400 for trial in (first, second) for each in (trial.tested, trial.back_rate_sps))


def test_nobody_who_cannot_tell_is_asked_for_ever() -> None:
    plan, answers = SwingPlan(), []  # type: ignore[var-annotated]
    while (trial := next_swing_trial(plan, answers)) is not None:
        answers.append((trial, CANNOT_TELL))
    assert len(answers) == plan.most_moves and swing_moves_to_go(plan, answers) == 0
    assert swing_found(plan, answers) is None and swing_found(plan, []) is None


def test_an_end_of_the_range_is_no_finding() -> None:
    plan, answers = SwingPlan(highest_sps=120), []  # type: ignore[var-annotated]
    while (trial := next_swing_trial(plan, answers)) is not None:
        answers.append((trial, OUT_WORSE if trial.tested > trial.back_rate_sps else BACK_WORSE))
    assert swing_found(plan, answers) is None


def test_one_slip_widens_what_is_said() -> None:
    plan = SwingPlan()
    told = [(60, 100, BACK_WORSE), (100, 150, BACK_WORSE), (150, 250, OUT_WORSE), (130, 180, ALIKE)]

    def found(answers: list[tuple[int, int, Outcome]]) -> Swing | None:
        return swing_found(plan, [(swing_trial(out, back), outcome) for out, back, outcome in answers])

    sure, slipped = found(told * 2), found([*told * 2, (150, 250, BACK_WORSE)])
    assert sure is not None and sure.low_hz < 173 < sure.high_hz
    assert slipped is None or slipped.high_hz / slipped.low_hz > sure.high_hz / sure.low_hz


def test_inertia_is_the_swing_s_law_the_other_way_round() -> None:
    assert inertia_by_swing(small_swing_hz(0.26, 110e-7, 50), 0.26, 50) == pytest.approx(110e-7)


def test_rates_that_cannot_be_compared() -> None:
    for low, high in ((0.0, 10.0), (100.0, 120.0)):
        with pytest.raises(InputProblem):
            SwingPlan(lowest_sps=low, highest_sps=high)
