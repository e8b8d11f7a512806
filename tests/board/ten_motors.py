"""The ten motors of physics that the response model is calibrated on, and how they answer trials."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

from coilbench.board.virtual.crate import port_motor
from coilbench.board.virtual.legs import Leg, move_leg, trip_legs
from coilbench.board.virtual.motion import BoardMotion
from coilbench.board.virtual.running_motor import RunningMotor
from coilbench.motion.search_plan import SearchPlan
from coilbench.motion.trials import CAME_BACK, STEPS_PER_JUMP, Outcome, Shaft, Trial, off_by
from coilbench.motion.way_back import back_trial, way_back

_SETTLE_S = 0.25
# The board goes on as long as it hears from its host.
_BEAT_S = 0.3


@dataclass(frozen=True)
class Loaded:
    """A motor of the crate with ``load_newton_metre`` on top of its own load, ``flywheel`` times its inertia."""

    name: str
    load_newton_metre: float
    flywheel: float

    def motor(self, seed: int) -> RunningMotor:
        """A fresh one that varies from move to move."""
        return port_motor(self.name).running(
            load_newton_metre=self.load_newton_metre, flywheel=self.flywheel, seed=seed
        )

    @property
    def shaft(self) -> Shaft:
        """Its shaft, the flag on it."""
        return Shaft(self.motor(0).body.figures.steps_per_turn)

    def __str__(self) -> str:
        return f"{self.name}-{self.load_newton_metre:g}-{self.flywheel:g}"


# Hybrids and a tin can, light and heavy loads and flywheels.
TEN = (
    Loaded("bench", 0.0, 1.0),
    Loaded("bench", 0.05, 1.0),
    Loaded("bench", 0.10, 1.0),
    Loaded("bench", 0.0, 3.0),
    Loaded("turntable", 0.0, 1.0),
    Loaded("turntable", 0.08, 1.0),
    Loaded("vent", 0.0, 1.0),
    Loaded("vent", 0.06, 2.0),
    Loaded("tincan", 0.0, 1.0),
    Loaded("tincan", 0.004, 1.0),
)


class Bench:
    """A board with one motor on it: trials as the virtual port makes them, without the line.

    After a skip the shaft is set to its mark again, as a person does: what leans on it may have run away with it.
    """

    def __init__(self, loaded: Loaded, seed: int) -> None:
        self.shaft = loaded.shaft
        self._loaded, self._seeds = loaded, itertools.count(1000 * seed)
        self._set_to_mark()

    def outcome(self, trial: Trial) -> Outcome:
        """The whole trial, out and slowly back, as a person sees the flag after it: no whole turns."""
        trip = trial.trip()
        steps, start, run, gain, back = (
            round(trip[name]) for name in ("steps", "start_sps", "run_sps", "gain_sps2", "back_sps")
        )
        if trial.question == "back":
            lost = self._lost([move_leg("moving", -steps, back, back, gain)], -steps)
        else:
            lost = self._lost(trip_legs(steps, start, run, gain, trip["rest_s"], back), 0)
        jumps = round(math.remainder(lost, self.shaft.flag_steps) / STEPS_PER_JUMP)
        return off_by(jumps) if jumps else CAME_BACK

    def skips(self, trial: Trial) -> bool:
        """Whether the trial loses steps, out or back."""
        return bool(self.outcome(trial).skipped)

    def with_way_back(self, plan: SearchPlan) -> SearchPlan:
        """The plan with the way back that loses no steps by itself."""
        answers: list[tuple[Trial, Outcome]] = []
        while (back := way_back(plan.back_rates_sps, answers)).wanted and back.rate_sps is not None:
            trial = back_trial(back.rate_sps, self.shaft)
            answers.append((trial, self.outcome(trial)))
        assert back.rate_sps is not None
        return replace(plan, back_rate_sps=back.rate_sps)

    def _lost(self, legs: list[Leg], steps: int) -> float:
        """Full steps that the shaft is short of ``steps`` after a motion."""
        motion = self._motion
        before = motion.motor.full_steps_turned
        motion.begin(legs)
        while motion.moving:
            self._pass(_BEAT_S)
        self._pass(_SETTLE_S)
        lost = steps - (motion.motor.full_steps_turned - before)
        if abs(lost) > STEPS_PER_JUMP / 2:
            self._set_to_mark()
        return lost

    def _set_to_mark(self) -> None:
        self._motion = BoardMotion(self._loaded.motor(next(self._seeds)))
        self._motion.switch(True)
        self._pass(_SETTLE_S)

    def _pass(self, seconds: float) -> None:
        self._motion.sign_of_life()
        for _ in self._motion.run(self._motion.now_s + seconds):
            pass
