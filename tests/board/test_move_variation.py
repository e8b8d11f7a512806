"""What differs from move to move: nothing for tests of physics, a little and by a seed on the bench."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from random import Random

import numpy as np
import pytest

from coilbench.board.virtual.crate import port_motor
from coilbench.board.virtual.move_variation import FRICTION_SPREAD, STEADY, Move, steady_moves, varying_moves
from coilbench.board.virtual.running_motor import RunningMotor
from coilbench.motion.ramp import plan_move


def ends(motor: RunningMotor, moves: int, rate: float = 700.0) -> list[float]:
    """Where in its swing the rotor is at the last step of each of some short moves, full steps."""
    found, profile = [], plan_move(20, rate, rate, 1000)
    for done in range(0, 20 * moves, 20):
        began = motor.time_s + 0.3

        def position(now: float, done: int = done, began: float = began) -> int:
            return done + int(profile.position_at(now - began) + 1e-6)

        motor.run(began + profile.duration_s, position)
        found.append(motor.full_steps_turned - done)
        motor.run(motor.time_s + 0.3, position)
    return found


def test_a_steady_motor_does_the_same_in_every_move() -> None:
    assert list(itertools.islice(steady_moves(), 3)) == [STEADY] * 3
    assert np.ptp(ends(port_motor("bench").running(), 4)) < 0.01


def test_a_varying_motor_differs_from_move_to_move_and_not_from_run_to_run() -> None:
    once = ends(port_motor("bench").running(seed=5), 4)
    assert ends(port_motor("bench").running(seed=5), 4) == once
    assert ends(port_motor("bench").running(seed=6), 4) != once
    assert np.ptp(once) > 0.03


def test_a_move_is_of_one_kind_to_its_end() -> None:
    seen: list[Move] = []

    def watched() -> Iterator[Move]:
        for move in varying_moves(Random(1)):
            seen.append(move)
            yield move

    vent = port_motor("vent").running()
    motor = RunningMotor(vent.body, vent.drive, moves=watched())
    profile = plan_move(20, 20, 20, 1000)
    motor.run(0.5, lambda now: 0)
    for stop_s in np.arange(0.5, 1.5, 0.05):  # slow steps, and told of in slices as the virtual board does
        motor.run(float(stop_s), lambda now: int(profile.position_at(now - 0.5) + 1e-6))
    assert len(seen) == 2  # at rest, and the move


def test_the_sizes_are_those_stated() -> None:
    moves = list(itertools.islice(varying_moves(Random(2)), 3000))
    friction = np.log([move.friction for move in moves])
    assert float(np.mean(friction)) == pytest.approx(0, abs=0.01)
    assert float(np.std(friction)) == pytest.approx(FRICTION_SPREAD, rel=0.05)
    reaches = [move.swing_steps for move in moves]
    assert min(reaches) >= 0 and max(reaches) < 0.3
    assert moves[:5] == list(itertools.islice(varying_moves(Random(2)), 5))


def test_loads_that_cannot_be_hung_on() -> None:
    with pytest.raises(ValueError, match="flywheel"):
        port_motor("bench").running(flywheel=0)
