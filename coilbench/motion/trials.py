"""What a trial of speed is, and what its answers mean.

A trial runs out at the tested rate and comes back slowly, so that steps lost on the way out can't be made up for
on the way back. Its length is never near a whole number of turns of the flag (about half a turn over), so that a
shaft that never moved on the way out ends half a turn off and can't look like a pass.

All figures are in full steps; ``Trial.trip`` gives them as the board counts them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from coilbench.errors import InputProblem

Question = Literal["start", "run", "acceleration", "resonance", "swing", "prove", "back"]
Kind = Literal["returned", "off", "unclear", "out worse", "back worse", "alike"]

# A motor that loses hold falls into step again a whole electrical cycle away.
STEPS_PER_JUMP = 4
# What an eye tells on a taped flag: 3 degrees are 2.6 mm at the tip of a 50 mm flag (own choice).
VISIBLE_DEGREE = 3.0
# Index edges repeat within a step or so; nearer to two of the four steps of a jump nothing is said (own choice).
_INDEX_SLACK_STEPS = 1.5


@dataclass(frozen=True)
class Shaft:
    """What turns: ``gear`` rotor turns make one turn of the output; ``flag_on`` says where the flag sits.

    ``sensor``: an index sensor latches positions, on whichever shaft the flag is.
    """

    steps_per_turn: int = 200
    gear: float = 1.0
    flag_on: Literal["rotor", "output"] = "output"
    sensor: bool = False

    def __post_init__(self) -> None:
        if not 4 <= self.steps_per_turn <= 10_000:
            raise InputProblem(f"{self.steps_per_turn} steps a turn can't be; expected 4 to 10000 full steps")
        if not (math.isfinite(self.gear) and 1e-3 <= self.gear <= 1e5):
            raise InputProblem(f"a gear of {self.gear:g} can't be; expected rotor turns per turn of the output")

    @property
    def flag_steps(self) -> float:
        """Full steps in one turn of the flag."""
        return self.steps_per_turn * (self.gear if self.flag_on == "output" else 1.0)

    @property
    def jump_degree(self) -> float:
        """How far the flag ends off its mark for one jump of four full steps, degrees."""
        return 360.0 * STEPS_PER_JUMP / self.flag_steps

    @property
    def blind_because(self) -> str:
        """Why a skip can't be seen on this shaft; empty when it can."""
        if self.sensor or self.jump_degree >= VISIBLE_DEGREE:
            return ""
        return (
            f"one slip turns the flag by {self.jump_degree:.2g} degrees only, too little to see: put the flag on the "
            "rotor's side of the gear, or use the index sensor"
        )


@dataclass(frozen=True)
class Trial:
    """One move out at the tested figure (steps/s; steps/s2 for an acceleration), a dwell, and slowly back.

    One of ``back`` is the way back alone: whole turns of the flag, one way. One of ``swing`` compares two slow rates.
    """

    question: Question
    tested: float
    steps: int
    start_rate_sps: float
    run_rate_sps: float
    acceleration_sps2: float
    back_rate_sps: float
    dwell_s: float

    @property
    def duration_s(self) -> float:
        """About how long it takes, seconds; the ramp of the way back is left out."""
        if self.question == "back":
            return self.steps / self.back_rate_sps
        start, top = min(self.start_rate_sps, self.run_rate_sps), self.run_rate_sps
        ramps_s = 2 * (top - start) / self.acceleration_sps2
        cruise = max(self.steps - (top**2 - start**2) / self.acceleration_sps2, 0.0)
        return ramps_s + cruise / top + self.dwell_s + self.steps / self.back_rate_sps

    def trip(self, microsteps: int = 1) -> dict[str, float]:
        """The move as the board counts it, ``microsteps`` pulses to a full step.

        Keys: steps (whole), start_sps, run_sps, gain_sps2, rest_s, back_sps.
        """
        return {
            "steps": self.steps * microsteps,
            "start_sps": self.start_rate_sps * microsteps,
            "run_sps": self.run_rate_sps * microsteps,
            "gain_sps2": self.acceleration_sps2 * microsteps,
            "rest_s": self.dwell_s,
            "back_sps": self.back_rate_sps * microsteps,
        }


@dataclass(frozen=True)
class Outcome:
    """What became of a trial: came back, off by ``jumps`` (None: not counted), or can't tell; or on which way it
    shook worse.

    ``missed_steps`` is what the index sensor says, when there is one.
    """

    kind: Kind
    jumps: int | None = None
    missed_steps: float | None = None

    @property
    def skipped(self) -> bool | None:
        """True when steps were lost, False when none were, None when it can't be told."""
        return {"off": True, "returned": False}.get(self.kind)


CAME_BACK = Outcome("returned")
CANNOT_TELL = Outcome("unclear")
OUT_WORSE, BACK_WORSE, ALIKE = Outcome("out worse"), Outcome("back worse"), Outcome("alike")


def off_by(jumps: int | None = None) -> Outcome:
    """The flag ended ``jumps`` jumps off its mark, None when nobody counted. Raises InputProblem for none at all."""
    if jumps == 0:
        raise InputProblem("off by 0 slips means it came back")
    return Outcome("off", jumps)


def missed_steps(edge_before: float, edge_after: float, flag_steps: float) -> float:
    """Full steps lost between two passes of the same edge in the same direction, counted positions in full steps.

    A rotor that fell behind meets the edge at a higher count. What is lost is known but for whole turns of the flag:
    the answer lies within half a turn either way.
    """
    return math.remainder(edge_after - edge_before, flag_steps)


def outcome_from_index(edge_before: float, edge_after: float, shaft: Shaft) -> Outcome:
    """What the index sensor says of a trial; positions in full steps, see ``missed_steps``."""
    missed = missed_steps(edge_before, edge_after, shaft.flag_steps)
    if abs(missed) <= _INDEX_SLACK_STEPS:
        return Outcome("returned", 0, missed)
    if abs(missed) < STEPS_PER_JUMP - _INDEX_SLACK_STEPS:
        return Outcome("unclear", None, missed)
    return Outcome("off", round(missed / STEPS_PER_JUMP), missed)


def trial_steps(least_steps: float, flag_steps: float) -> int:
    """The least whole number of full steps, at least ``least_steps``, that is half a turn of the flag over."""
    turns = max(math.ceil(least_steps / flag_steps - 0.5 - 1e-9), 0)
    return max(math.ceil((turns + 0.5) * flag_steps - 1e-9), 1)
