"""What an axis asks of the shaft of its motor."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

GRAVITY_METRE_PER_S2 = 9.80665  # ISO 80000-3, the standard acceleration of free fall


class Drive(Protocol):
    """What makes travel of turns: a screw, a wheel with its belt, line or rack."""

    @property
    def travel_per_turn_metre(self) -> float: ...

    @property
    def holds_itself(self) -> bool | None: ...

    @property
    def inertia_kilogram_metre2(self) -> float: ...

    def torque(self, load_newton: float) -> float: ...

    def torque_back(self, load_newton: float) -> float: ...


@dataclass(frozen=True)
class Load:
    """What is moved: a mass on a slide that rises by ``incline_degree`` (90 lifts it) with a friction of its own, and
    a force at the tool that always opposes the working move."""

    mass_kilogram: float = 0.0
    force_newton: float = 0.0
    friction: float = 0.0
    incline_degree: float = 0.0
    gravity_metre_per_s2: float = GRAVITY_METRE_PER_S2

    def __post_init__(self) -> None:
        if not 0 <= self.incline_degree <= 90:
            raise ValueError("an incline lies between 0 (level) and 90 degrees (a lift)")

    @property
    def _weight_newton(self) -> tuple[float, float]:
        """Along the slide and across it."""
        weight, angle = self.mass_kilogram * self.gravity_metre_per_s2, math.radians(self.incline_degree)
        return weight * math.sin(angle), weight * math.cos(angle)

    @property
    def against_newton(self) -> float:
        """Force along the axis of the working move, upwards, at a steady speed: F + m g (sin a + mu cos a)."""
        along, across = self._weight_newton
        return self.force_newton + along + self.friction * across

    @property
    def back_newton(self) -> float:
        """Force that still leans on the drive on the way back, down: F + m g (sin a - mu cos a).

        Below zero the slide's friction holds more than the weight pulls: the drive has to push.
        """
        along, across = self._weight_newton
        return self.force_newton + along - self.friction * across


@dataclass(frozen=True)
class Axis:
    """A drive with its load behind a gear. ``gear`` is the motor's turns for one of the drive; ``efficiency`` that
    of all that lies between and isn't in a friction already; ``drag_newton_metre`` a steady friction at the drive's
    shaft (bearings, a preloaded nut); ``motors`` share the work.
    """

    drive: Drive
    load: Load
    gear: float = 1.0
    efficiency: float = 1.0
    drag_newton_metre: float = 0.0
    motors: int = 1

    def _at_motor(self, at_drive: float) -> float:
        """A torque at the drive's shaft seen from one motor: losses add to what is driven, and brake what drives."""
        lossy = at_drive / self.efficiency if at_drive > 0 else at_drive * self.efficiency
        return lossy / self.gear / self.motors

    def torque_for(self, force_newton: float) -> float:
        """Of one motor, to move against that force along the axis at a steady speed, newton metre."""
        return self._at_motor(self.drive.torque(force_newton) + self.drag_newton_metre)

    @property
    def steady_newton_metre(self) -> float:
        """Of one motor on the working move, upwards, at a steady speed."""
        return self.torque_for(self.load.against_newton)

    @property
    def back_newton_metre(self) -> float:
        """Of one motor on the way back, down; below zero the load drives the motor and has to be held."""
        leaning = self.load.back_newton
        drive = self.drive.torque_back(leaning) if leaning >= 0 else self.drive.torque(-leaning)
        return self._at_motor(drive + self.drag_newton_metre)

    @property
    def load_inertia_kilogram_metre2(self) -> float:
        """At the drive's shaft: its own and the mass, m (travel / 2 pi)^2."""
        reach = self.drive.travel_per_turn_metre / (2 * math.pi)
        return self.drive.inertia_kilogram_metre2 + self.load.mass_kilogram * reach**2

    @property
    def inertia_kilogram_metre2(self) -> float:
        """At one motor's shaft: through the ratio squared."""
        return self.load_inertia_kilogram_metre2 / self.gear**2 / self.motors

    def acceleration_newton_metre(self, acceleration_metre_per_s2: float) -> float:
        """Of one motor, on top of the steady torque, for the load and the drive without the motor's own rotor.

        The mass's share goes through the drive with its friction, the turning parts' share straight.
        """
        inertial = self.load.mass_kilogram * acceleration_metre_per_s2
        turning = acceleration_metre_per_s2 / self.drive.travel_per_turn_metre * 2 * math.pi
        at_drive = self.drive.torque(self.load.against_newton + inertial) - self.drive.torque(
            self.load.against_newton
        )
        return self._at_motor(at_drive + self.drive.inertia_kilogram_metre2 * turning)

    def force_at(self, torque_newton_metre: float) -> float:
        """Force along the axis that one motor's torque moves at a steady speed, newton; drive torques are linear."""
        nothing = self.torque_for(0.0)
        return (torque_newton_metre - nothing) / (self.torque_for(1.0) - nothing)

    def turns(self, travel_metre: float) -> float:
        """Of the motor's shaft for a travel; a speed gives turns/s, an acceleration turns/s2."""
        return travel_metre / self.drive.travel_per_turn_metre * self.gear


@dataclass(frozen=True)
class Motor:
    """What is known of the motor at the axis, per motor; None where it isn't. ``torque_newton_metre`` is what it
    pulls at the speed wanted (pull-out)."""

    steps_per_turn: float = 200.0
    microsteps: int = 1
    torque_newton_metre: float | None = None
    holding_newton_metre: float | None = None
    rotor_inertia_kilogram_metre2: float | None = None

    def load_angle_steps(self, torque_newton_metre: float) -> float | None:
        """How far a steady torque turns the rotor out of its step, in full steps: asin(T / T_hold) / (pi / 2).

        From the static curve T = T_hold sin(N_r theta) (Acarnley, Stepping Motors; from memory). None where the
        holding torque is not known; infinite for more than it holds.
        """
        if self.holding_newton_metre is None:
            return None
        share = abs(torque_newton_metre) / self.holding_newton_metre
        return math.asin(share) / (math.pi / 2) if share <= 1 else math.inf

    def resonance_sps(self, load_inertia_kilogram_metre2: float) -> float | None:
        """Full steps/s at which each step meets the rotor's swing with the load on it (the same static curve)."""
        if self.holding_newton_metre is None or self.rotor_inertia_kilogram_metre2 is None:
            return None
        teeth = self.steps_per_turn / 4
        inertia = self.rotor_inertia_kilogram_metre2 + load_inertia_kilogram_metre2
        return math.sqrt(teeth * self.holding_newton_metre / inertia) / (2 * math.pi)


def move_seconds(distance: float, speed: float, acceleration: float | None) -> tuple[float, float]:
    """Time of a move and of its ramp up: a trapezoid, or a triangle where the distance is too short for the speed.

    Any one unit of length; no acceleration stands for a start without a ramp.
    """
    if acceleration is None:
        return distance / speed, 0.0
    ramp = speed / acceleration
    if ramp * speed > distance:
        ramp = math.sqrt(distance / acceleration)
        return 2 * ramp, ramp
    return distance / speed + ramp, ramp
