"""A screw and its nut: what torque raises and lowers a load, and whether it stays where it is."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbench.errors import InputProblem
from coilbench.motion.axis.bodies import STEEL_KILOGRAM_PER_METRE3, cylinder_inertia


@dataclass(frozen=True)
class Screw:
    """A power screw: ``lead_metre`` is the travel of a turn (pitch times starts), ``friction`` that of the thread,
    None where only an efficiency is known; ``half_angle_degree`` half of the thread's angle, 0 for a square one.

    The collar is what takes the thrust, by its mean diameter; 0 for a ball bearing, whose friction is small.
    ``length_metre`` is that of the turning screw; 0 leaves its inertia out. Raises InputProblem for what can't be.
    """

    pitch_diameter_metre: float
    lead_metre: float
    friction: float | None
    half_angle_degree: float = 0.0
    collar_friction: float = 0.0
    collar_diameter_metre: float = 0.0
    length_metre: float = 0.0
    density_kilogram_per_metre3: float = STEEL_KILOGRAM_PER_METRE3
    screws: int = 1

    def __post_init__(self) -> None:
        if self._thread_friction * self.lead_metre >= math.pi * self.pitch_diameter_metre:
            raise InputProblem(
                "with this much friction on so steep a thread no torque raises anything: expected a smaller friction "
                "or lead"
            )

    @property
    def _thread_friction(self) -> float:
        """Friction over the cosine of half the thread's angle: the flanks stand aslant (Shigley, at eq. 8-5)."""
        return (self.friction or 0.0) / math.cos(math.radians(self.half_angle_degree))

    @property
    def travel_per_turn_metre(self) -> float:
        """The lead."""
        return self.lead_metre

    @property
    def lead_angle_degree(self) -> float:
        """Of the thread's helix at the pitch diameter."""
        return math.degrees(math.atan2(self.lead_metre, math.pi * self.pitch_diameter_metre))

    def collar_torque(self, load_newton: float) -> float:
        """F f_c d_c / 2, newton metre (Shigley eq. 8-6)."""
        return abs(load_newton) * self.collar_friction * self.collar_diameter_metre / 2

    def thread_torque(self, load_newton: float) -> float:
        """To move against the load, without the collar, newton metre (Shigley eq. 8-1)."""
        around, friction = math.pi * self.pitch_diameter_metre, self._thread_friction
        share = (self.lead_metre + friction * around) / (around - friction * self.lead_metre)
        return load_newton * self.pitch_diameter_metre / 2 * share

    def thread_torque_back(self, load_newton: float) -> float:
        """To move with the load, without the collar; below zero the load drives the screw (Shigley eq. 8-2)."""
        around, friction = math.pi * self.pitch_diameter_metre, self._thread_friction
        share = (friction * around - self.lead_metre) / (around + friction * self.lead_metre)
        return load_newton * self.pitch_diameter_metre / 2 * share

    def torque(self, load_newton: float) -> float:
        """To move against the load, collar included, newton metre."""
        return self.thread_torque(load_newton) + self.collar_torque(load_newton)

    def torque_back(self, load_newton: float) -> float:
        """To move with the load, collar included, newton metre."""
        return self.thread_torque_back(load_newton) + self.collar_torque(load_newton)

    @property
    def holds_itself(self) -> bool | None:
        """Whether the thread alone keeps a load: friction above the tangent of the lead angle (Shigley eq. 8-3).

        None where the friction is not known. Vibration loosens what only just holds.
        """
        if self.friction is None:
            return None
        return self._thread_friction * math.pi * self.pitch_diameter_metre > self.lead_metre

    @property
    def inertia_kilogram_metre2(self) -> float:
        """Of the screw, or screws, about their own axis, as full cylinders of the pitch diameter."""
        one = cylinder_inertia(self.pitch_diameter_metre, self.length_metre, self.density_kilogram_per_metre3)
        return self.screws * one
