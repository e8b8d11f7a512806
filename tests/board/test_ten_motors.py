"""Ten virtual motors by their physics, each searched for its fastest start in full."""

from __future__ import annotations

import dataclasses

import pytest

from coilbench.board.virtual_crate import virtual_motor
from coilbench.board.virtual_motor import VirtualMotor
from coilbench.motion.ramp import plan_move
from coilbench.motion.search import SearchPlan, begin, next_trial, record, summary
from coilbench.motion.trials import CAME_BACK, Shaft, Trial, off_by

# Motor of the crate, load on top of its own (newton metre), flywheel (times its inertia).
TEN = [
    ("bench", 0.0, 1.0),
    ("bench", 0.05, 1.0),
    ("bench", 0.10, 1.0),
    ("bench", 0.0, 3.0),
    ("turntable", 0.0, 1.0),
    ("turntable", 0.08, 1.0),
    ("vent", 0.0, 1.0),
    ("vent", 0.06, 2.0),
    ("tincan", 0.0, 1.0),
    ("tincan", 0.004, 1.0),
]


def fresh(name: str, load: float, flywheel: float) -> VirtualMotor:
    motor = virtual_motor(name, load_newton_metre=load)
    body = dataclasses.replace(motor.body, inertia_kilogram_metre2=motor.body.inertia_kilogram_metre2 * flywheel)
    return VirtualMotor(body, motor.drive)


def skips(motor: VirtualMotor, rate: float, steps: int) -> bool:
    """Whether the way out of a trial loses steps; the way back is slow and loses none."""
    motor.run(motor.time_s + 0.1, lambda now: 0)
    before = motor.full_steps_turned
    profile = plan_move(steps, rate, rate, 1000)
    began = motor.time_s
    motor.run(began + profile.duration_s, lambda now: int(profile.position_at(now - began) + 1e-6))
    motor.run(motor.time_s + 0.3, lambda now: steps)
    return abs(steps - (motor.full_steps_turned - before)) > 1


@pytest.mark.parametrize(("name", "load", "flywheel"), TEN)
def test_the_fastest_start_is_found(name: str, load: float, flywheel: float) -> None:
    turn = fresh(name, load, flywheel).body.figures.steps_per_turn
    plan = SearchPlan("start", 200.0, 2000.0, Shaft(turn))
    state = begin(plan)
    while isinstance(trial := next_trial(state), Trial):
        lost = skips(fresh(name, load, flywheel), trial.tested, trial.steps)
        state = record(state, trial, off_by() if lost else CAME_BACK)
    found = summary(state)
    assert found.moves <= 25 and found.status == "width"
    # The truth by trying: just below the interval nothing skips, just above it everything does.
    low, high = found.interval_sps
    assert not any(skips(fresh(name, load, flywheel), low * share, turn * 3 // 2) for share in (0.97, 0.94, 0.90))
    assert all(skips(fresh(name, load, flywheel), high * share, turn * 3 // 2) for share in (1.03, 1.06, 1.10))
    assert found.working_sps is not None and found.working_sps < 0.95 * found.limit_sps
    assert not skips(fresh(name, load, flywheel), found.working_sps, turn * 3 // 2)
