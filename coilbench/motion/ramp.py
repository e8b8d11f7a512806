"""Speed profiles: the continuous plan of a move, and the interval recurrences that boards count it out by."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

# The recurrence is off at the first step; starting from 0.676 of the exact first interval makes up for it (Austin).
FIRST_INTERVAL_FACTOR = 0.676


@dataclass(frozen=True)
class Segment:
    """A stretch of constant acceleration: ``position_steps`` is where it starts."""

    begin_s: float
    duration_s: float
    position_steps: float
    rate_sps: float
    gain_sps2: float


@dataclass(frozen=True)
class Profile:
    """A move of ``steps`` (positive) from standstill to standstill."""

    steps: int
    segments: tuple[Segment, ...]

    @cached_property
    def duration_s(self) -> float:
        """Time from the start of the move to its last step, seconds."""
        last = self.segments[-1]
        return last.begin_s + last.duration_s

    @property
    def top_rate_sps(self) -> float:
        """The fastest rate reached; less than the cruise rate when the move is a triangle."""
        return max(segment.rate_sps + max(segment.gain_sps2 * segment.duration_s, 0.0) for segment in self.segments)

    def segment_at(self, time_s: float) -> Segment:
        """The stretch that holds ``time_s``; the first before the start, the last after the end."""
        for segment in self.segments:
            if time_s < segment.begin_s + segment.duration_s:
                return segment
        return self.segments[-1]

    def position_at(self, time_s: float) -> float:
        """Steps made at ``time_s``, not rounded."""
        if time_s >= self.duration_s:
            return float(self.steps)
        segment = self.segment_at(time_s)
        past_s = max(time_s - segment.begin_s, 0.0)
        return segment.position_steps + (segment.rate_sps + segment.gain_sps2 * past_s / 2) * past_s

    def rate_at(self, time_s: float) -> float:
        """Steps per second at ``time_s``; zero outside the move."""
        if not 0 <= time_s < self.duration_s:
            return 0.0
        segment = self.segment_at(time_s)
        return segment.rate_sps + segment.gain_sps2 * (time_s - segment.begin_s)


def ramp_steps(start_sps: float, run_sps: float, gain_sps2: float) -> float:
    """Steps taken to speed up from ``start_sps`` to ``run_sps``: (run^2 - start^2) / (2 gain)."""
    return max(run_sps**2 - start_sps**2, 0.0) / (2 * gain_sps2)


def plan_move(steps: int, start_sps: float, run_sps: float, gain_sps2: float) -> Profile:
    """Plan ``steps`` (at least 1): start at the lesser rate, speed up, cruise, slow down alike.

    Raises ValueError when a number is not positive.
    """
    if steps < 1 or min(start_sps, run_sps, gain_sps2) <= 0:
        raise ValueError("steps, rates and gain must be positive")
    start = min(start_sps, run_sps)
    climb = min(ramp_steps(start, run_sps, gain_sps2), steps / 2)
    top = math.sqrt(start**2 + 2 * gain_sps2 * climb)
    climb_s = (top - start) / gain_sps2
    cruise = steps - 2 * climb
    segments: list[Segment] = []
    clock = 0.0
    if climb_s > 0:
        segments.append(Segment(0.0, climb_s, 0.0, start, gain_sps2))
        clock = climb_s
    if cruise > 1e-9:
        segments.append(Segment(clock, cruise / top, climb, top, 0.0))
        clock += cruise / top
    if climb_s > 0:
        segments.append(Segment(clock, climb_s, climb + cruise, top, -gain_sps2))
    return Profile(steps, tuple(segments))


def plan_stop(rate_sps: float, start_sps: float, gain_sps2: float, most_steps: int) -> Profile | None:
    """Plan the slow-down to ``start_sps`` within ``most_steps``; None when no step is to be made."""
    floor = min(start_sps, rate_sps)
    steps = min(max(math.ceil(ramp_steps(floor, rate_sps, gain_sps2)), 1), most_steps)
    if steps < 1 or rate_sps <= 0:
        return None
    # Ends at the rate that the whole number of steps allows.
    end = math.sqrt(max(rate_sps**2 - 2 * gain_sps2 * steps, 0.0))
    duration = (rate_sps - end) / gain_sps2 if end > 0 else 2 * steps / rate_sps
    gain = -(rate_sps - end) / duration
    return Profile(steps, (Segment(0.0, duration, 0.0, rate_sps, gain),))


def first_interval_counts(timer_hz: float, step_rad: float, acceleration_rad_s2: float) -> float:
    """Exact first interval c0 = f sqrt(2 a / w'), timer counts (Austin 2005)."""
    return timer_hz * math.sqrt(2 * step_rad / acceleration_rad_s2)


def exact_interval_counts(first_counts: float, step: int) -> float:
    """Exact interval c_n = c0 (sqrt(n+1) - sqrt(n)), timer counts (Austin 2005; Atmel AVR446)."""
    return first_counts * (math.sqrt(step + 1) - math.sqrt(step))


def next_interval_counts(counts: float, step: float) -> float:
    """The recurrence c_n = c_(n-1) - 2 c_(n-1) / (4 n + 1); a negative ``step`` slows down (Austin 2005)."""
    return counts - 2 * counts / (4 * step + 1)


def interval_counts(timer_hz: float, acceleration_sps2: float) -> Iterator[float]:
    """Yield the intervals of an endless speed-up from standstill by the recurrence, timer counts."""
    counts = FIRST_INTERVAL_FACTOR * first_interval_counts(timer_hz, 1.0, acceleration_sps2)
    step = 0
    while True:
        yield counts
        step += 1
        counts = next_interval_counts(counts, step)


def step_number_after_change(step: float, old_acceleration: float, new_acceleration: float) -> float:
    """The recurrence's step number after a change of acceleration: w' (n + 1/2) is kept (Austin 2005)."""
    return old_acceleration * (step + 0.5) / new_acceleration - 0.5


def triangle_up_steps(steps: int, up: float, down: float) -> float:
    """Steps spent speeding up in a move with no cruise: m w2' / (w1' + w2') (Austin 2005; Atmel AVR446)."""
    return steps * down / (up + down)
