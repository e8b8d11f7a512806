"""How a motor on a bench differs from one move to the next, in terms of its physics.

A steady virtual motor does the same in every move and turns from holding to skipping at one rate. A real one doesn't.
Nobody has published by how much for salvaged motors: the sizes here are assumptions, each with its reason, and all of
them are drawn anew when a move begins and kept to its end.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import repeat
from random import Random

# Standard deviations. Shares, but for the swing.
# Dry friction: position of the balls, distribution of the grease. Bearing makers state running torques that scatter
# by tens of per cent (common practice); assumed: a seventh.
FRICTION_SPREAD = 0.15
# Drag that grows with speed: grease warms and thins within a search, copper's and iron's part stays.
DAMPING_SPREAD = 0.08
# The load on the shaft: a belt, a screw, a feeder's roller at another angle of its turn.
LOAD_SPREAD = 0.05
# An unregulated or shared rail: the phase of its ripple when the move starts, other loads on it.
SUPPLY_SPREAD = 0.02
# A chopper's threshold: its comparator's noise and blanking time, a trimmer's contact.
CURRENT_SPREAD = 0.02
# Copper gains 0.393 % a kelvin (IEC 60028; from memory); winding and magnets stand 5 K warmer or cooler from move to
# move.
RESISTANCE_SPREAD = 0.0039 * 5
# The rotor's offset and swing when the first step comes, in full steps: dry friction lets it rest off its equilibrium
# by asin(friction / holding torque), up to 0.03 of a step here, and a bench is touched.
SWING_STEPS = 0.05


@dataclass(frozen=True)
class Move:
    """What one move is like: factors on the motor's figures, and the swing it starts with.

    ``swing_steps`` is the swing's reach in full steps, ``swing_rad`` where in it the rotor is: 0 at its far end.
    """

    friction: float = 1.0
    damping: float = 1.0
    load: float = 1.0
    supply: float = 1.0
    current: float = 1.0
    resistance: float = 1.0
    swing_steps: float = 0.0
    swing_rad: float = 0.0


STEADY = Move()


def steady_moves() -> Iterator[Move]:
    """The same motor in every move: for tests of physics alone."""
    return repeat(STEADY)


def varying_moves(chance: Random) -> Iterator[Move]:
    """A motor that is a little different in every move, without end; the same for the same state of ``chance``."""
    while True:
        friction, damping, load, supply, current, resistance = (
            math.exp(chance.gauss(0.0, spread))
            for spread in (
                FRICTION_SPREAD,
                DAMPING_SPREAD,
                LOAD_SPREAD,
                SUPPLY_SPREAD,
                CURRENT_SPREAD,
                RESISTANCE_SPREAD,
            )
        )
        reach = math.hypot(chance.gauss(0.0, SWING_STEPS), chance.gauss(0.0, SWING_STEPS))
        yield Move(friction, damping, load, supply, current, resistance, reach, chance.uniform(0.0, 2 * math.pi))
