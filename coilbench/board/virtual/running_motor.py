"""A virtual motor in time: the physics of rotor, phases and drive in small steps of time.

Two phases, a toothed rotor: torque Km (iB cos(Nr th) - iA sin(Nr th)) - Td sin(4 Nr th), back-EMF -Km w sin(Nr th)
and Km w cos(Nr th) (the usual block model, e.g. MathWorks "Stepper Motor"). Nothing here knows of skipped steps:
they come about when the rotor falls out of hold, and then in whole electrical cycles. What differs from move to move
is drawn from ``move_variation``; without, the motor is steady.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from coilbench.board.virtual.mechanics import ChopperDrive, MotorBody
from coilbench.board.virtual.move_variation import Move, steady_moves
from coilbench.motion.pullout import small_swing_hz

TIME_STEP_S = 25e-6
# Enough for a motor that stands or turns slowly: a fortieth of the period of a rotor that swings at 250 Hz.
SLOW_TIME_STEP_S = 100e-6
SLOW_SPS = 400.0  # full steps a second
# Below this speed Coulomb friction fades, so that a standing rotor does not chatter.
_FRICTION_FADE_RAD_S = 0.5
# The first step after a rest this long begins a move; the slowest turns step oftener.
_REST_S = 0.2

_TURN_RAD = 2 * math.pi

# The flag on the shaft covers the sensor over this part of a turn, as five full steps of 200 do.
FLAG_WIDTH_RAD = 2 * math.pi / 40


@dataclass(frozen=True)
class Edge:
    """The sensor's level changed at ``time_s`` while the step count stood at ``position``."""

    time_s: float
    position: int
    level: int


Command = Callable[[float], int]


class RunningMotor:
    """A motor at a place and time; ``run`` carries it on."""

    def __init__(
        self,
        body: MotorBody,
        drive: ChopperDrive,
        *,
        flag_rad: float = 0.35,
        gear: float = 1.0,
        moves: Iterator[Move] | None = None,
    ) -> None:
        self.body = body
        self.drive = drive
        self.flag_rad = flag_rad
        self.gear = gear
        self.lines: tuple[int, ...] = (0, 1, 2, 3)  # where in the switching sequence each coil line's end stands
        self._moves = moves or steady_moves()
        self._move = next(self._moves)
        self._position: int | None = None
        self._stepped_s = 0.0
        self.time_s = 0.0
        self.angle_rad = math.pi / 4 / body.figures.rotor_teeth
        self.speed_rad_s = 0.0
        self.current_a_ampere = 0.0
        self.current_b_ampere = 0.0
        self.level = self._level()

    @property
    def full_steps_turned(self) -> float:
        """How far the shaft has turned, full steps; a pulse count of zero is standing at zero."""
        return (self.angle_rad * self.body.figures.rotor_teeth - math.pi / 4) * 2 / math.pi

    def stop_by_hand(self) -> None:
        """Hold the shaft: what leans on it may have run away with it after a skip, or with the outputs off."""
        self.speed_rad_s = 0.0

    def run(
        self,
        until_s: float,
        position: Command,
        *,
        powered: bool = True,
        patterns: tuple[int, ...] | None = None,
        time_step_s: float = TIME_STEP_S,
    ) -> list[Edge]:
        """Carry the motor on to ``until_s`` and return the sensor's edges on the way.

        ``position(time_s)`` is the step count at a time; ``time_step_s`` may be ``SLOW_TIME_STEP_S`` while it changes
        by no more than ``SLOW_SPS``. ``patterns`` (bits: A, B, A', B') are stepped through by it
        with the windings straight on a supply of their rated voltage; without, the driver sets the field's angle.
        """
        edges = self._carry(until_s, position, powered, patterns, time_step_s)
        while self.time_s < until_s:
            self._begin_move()
            edges += self._carry(until_s, position, powered, patterns, time_step_s)
        return edges

    def _begin_move(self) -> None:
        move = self._move = next(self._moves)
        self._stepped_s = self.time_s
        if move.swing_steps:
            body = self.body
            reach = move.swing_steps * math.pi / 2 / body.figures.rotor_teeth
            swing = small_swing_hz(
                body.figures.holding_torque_newton_metre, body.inertia_kilogram_metre2, body.figures.rotor_teeth
            )
            self.angle_rad += reach * math.cos(move.swing_rad)
            self.speed_rad_s += reach * 2 * math.pi * swing * math.sin(move.swing_rad)

    def _carry(
        self, until_s: float, position: Command, powered: bool, patterns: tuple[int, ...] | None, dt: float
    ) -> list[Edge]:
        """Carry on to ``until_s``, or to just before the first step after a rest: there a new move begins."""
        body, figures, move = self.body, self.body.figures, self._move
        teeth, km = figures.rotor_teeth, figures.torque_constant_newton_metre_per_ampere
        chopper = self.drive if patterns is None else None
        rated_volt = figures.rated_current_ampere * figures.resistance_ohm
        supply = (chopper.supply_volt if chopper else rated_volt) * move.supply
        resistance, per_inductance = figures.resistance_ohm * move.resistance, dt / figures.inductance_henry
        per_inertia = dt / body.inertia_kilogram_metre2
        detent, friction = body.detent_newton_metre, body.friction_newton_metre * move.friction
        damping, load = body.damping_newton_metre_second * move.damping, body.load_newton_metre * move.load
        per_pulse = math.pi / 2 / chopper.microsteps if chopper else 0.0
        peak = chopper.current_ampere * (math.sqrt(2) if chopper.microsteps == 1 else 1.0) if chopper else 0.0
        peak *= move.current
        angle, speed = self.angle_rad, self.speed_rad_s
        ia, ib, clock = self.current_a_ampere, self.current_b_ampere, self.time_s
        sin, cos = math.sin, math.cos
        gear, flag, level = self.gear, self.flag_rad, self.level
        edges: list[Edge] = []
        wanted_a = wanted_b = volt_a = volt_b = 0.0
        last: int | None = None
        before, stepped = self._position, self._stepped_s
        while clock < until_s:
            at = position(clock + dt)
            if at != last:
                if at != before:
                    if before is not None and clock - stepped > _REST_S:
                        break
                    before, stepped = at, clock
                last = at
                if chopper:
                    field = math.pi / 4 + at * per_pulse
                    wanted_a, wanted_b = peak * cos(field), peak * sin(field)
                elif patterns:
                    pattern = patterns[at % len(patterns)]
                    volt_a = supply * ((pattern & 1) - (pattern >> 2 & 1))
                    volt_b = supply * ((pattern >> 1 & 1) - (pattern >> 3 & 1))
            clock += dt
            electrical = teeth * angle
            s, c = sin(electrical), cos(electrical)
            emf_a, emf_b = -km * speed * s, km * speed * c
            if not powered:
                # Switched off: the freewheel path empties the windings into the supply.
                ia = _towards(ia, 0.0, (supply + resistance * abs(ia)) * per_inductance)
                ib = _towards(ib, 0.0, (supply + resistance * abs(ib)) * per_inductance)
            elif chopper:
                push = -resistance * ia - emf_a
                low, high = ia + (push - supply) * per_inductance, ia + (push + supply) * per_inductance
                ia = low if wanted_a < low else high if wanted_a > high else wanted_a
                push = -resistance * ib - emf_b
                low, high = ib + (push - supply) * per_inductance, ib + (push + supply) * per_inductance
                ib = low if wanted_b < low else high if wanted_b > high else wanted_b
            else:
                ia += (volt_a - resistance * ia - emf_a) * per_inductance
                ib += (volt_b - resistance * ib - emf_b) * per_inductance
            torque = km * (ib * c - ia * s) - damping * speed - load
            if detent:
                torque -= detent * 4 * s * c * (c * c - s * s)  # sin(4x)
            if friction:
                torque -= friction * speed / (abs(speed) + _FRICTION_FADE_RAD_S)
            speed += torque * per_inertia
            angle += speed * dt
            if level != ((angle / gear - flag) % _TURN_RAD >= FLAG_WIDTH_RAD):
                level = 1 - level
                edges.append(Edge(clock, at, level))
        self.angle_rad, self.speed_rad_s = angle, speed
        self.current_a_ampere, self.current_b_ampere, self.time_s = ia, ib, clock
        self._position, self._stepped_s, self.level = before, stepped, level
        return edges

    def _level(self) -> int:
        return int((self.angle_rad / self.gear - self.flag_rad) % _TURN_RAD >= FLAG_WIDTH_RAD)


def _towards(value: float, target: float, most: float) -> float:
    return target if abs(value - target) <= most else value - math.copysign(most, value - target)
