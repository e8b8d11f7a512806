"""A wheel that pulls a belt, a line or a rack, or that is the turning thing itself."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Wheel:
    """A pulley, a pinion or a drum by the diameter at which it pulls; its own inertia, several of them together."""

    diameter_metre: float
    inertia_kilogram_metre2: float = 0.0
    holds_itself = False

    @property
    def travel_per_turn_metre(self) -> float:
        """pi times the diameter at which it pulls."""
        return math.pi * self.diameter_metre

    def torque(self, load_newton: float) -> float:
        """To move against the load: F D / 2, newton metre."""
        return load_newton * self.diameter_metre / 2

    def torque_back(self, load_newton: float) -> float:
        """To move with the load: the load drives it."""
        return -self.torque(load_newton)


def toothed(teeth: float, pitch_metre: float) -> float:
    """Pitch diameter of a pulley or pinion with ``teeth`` of that pitch along the belt or rack, metres."""
    return teeth * pitch_metre / math.pi


def drum_diameter(drum_metre: float, line_metre: float, layer: int = 1) -> float:
    """Diameter at which a drum pulls: to the middle of its line, ``D + (2 i - 1) d`` in the i-th layer.

    Common practice: a drum's pitch diameter is measured at the line's middle.
    """
    return drum_metre + (2 * layer - 1) * line_metre
