"""The legs of a virtual board's motion: ways and the rests between them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbench.board.link.frames import Frame
from coilbench.board.link.messages import (
    COIL_ROUND_STEPS,
    COIL_STANDING_RATE_SPS,
    PACE_ON_MS,
    PACE_RATE_SPS,
)
from coilbench.motion.ramp import Profile, plan_move


@dataclass(frozen=True)
class Leg:
    """A stretch of a motion: ``profile`` is None for a rest. Coil lines are on for ``on_s`` of it."""

    state: str
    direction: int
    profile: Profile | None
    duration_s: float
    start_sps: float = 0.0
    gain_sps2: float = 0.0
    on_s: float = math.inf

    @property
    def steps(self) -> int:
        return self.profile.steps if self.profile else 0

    @property
    def round_s(self) -> float:
        """Time until the coil pattern has gone round once; infinite when this leg is too short or slow for that."""
        if self.start_sps < COIL_STANDING_RATE_SPS:
            return math.inf  # goes so slowly somewhere that it stands
        if self.state == "easing":
            return 0.0
        for segment in self.profile.segments if self.profile else ():
            way, rate, gain = COIL_ROUND_STEPS - segment.position_steps, segment.rate_sps, segment.gain_sps2
            if (root := rate**2 + 2 * gain * way) >= 0:
                past_s = 2 * way / (rate + math.sqrt(root))
                if past_s <= segment.duration_s:
                    return segment.begin_s + past_s
        return math.inf


def move_leg(state: str, steps: int, start_sps: int, run_sps: int, gain_sps2: int) -> Leg:
    """One way of a move; the sign of ``steps`` is its direction."""
    profile = plan_move(abs(steps), start_sps, run_sps, gain_sps2)
    start = min(start_sps, run_sps)
    return Leg(state, 1 if steps > 0 else -1, profile, profile.duration_s, start, gain_sps2)


def rest_leg(duration_s: float) -> Leg:
    """Standing still between two ways."""
    return Leg("resting", 0, None, duration_s)


def trip_legs(steps: int, start_sps: int, run_sps: int, gain_sps2: int, rest_s: float, back_sps: int) -> list[Leg]:
    """Out, a rest, and back at a rate of its own."""
    return [
        move_leg("moving", steps, start_sps, run_sps, gain_sps2),
        rest_leg(rest_s),
        move_leg("returning", -steps, min(start_sps, back_sps), back_sps, gain_sps2),
    ]


def pace_legs(steps: int, each_s: float) -> list[Leg]:
    """A step at a time, each after a rest whose most coil lines are off."""
    step = move_leg("moving", 1 if steps > 0 else -1, PACE_RATE_SPS, PACE_RATE_SPS, 1)
    rest = Leg("resting", 0, None, each_s - step.duration_s, on_s=min(each_s / 4, PACE_ON_MS / 1000))
    return [rest, step] * abs(steps)


def legs_of(frame: Frame) -> list[Leg]:
    """What a ``move``, ``trip`` or ``pace`` frame asks for."""
    if frame.word == "pace":
        return pace_legs(frame.whole("steps"), frame.whole("each") / 1000)
    steps, start, run, gain = (frame.whole(name) for name in ("steps", "start", "run", "gain"))
    if frame.word == "move":
        return [move_leg("moving", steps, start, run, gain)]
    return trip_legs(steps, start, run, gain, frame.whole("rest") / 1000, frame.whole("back"))
