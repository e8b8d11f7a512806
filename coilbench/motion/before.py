"""What to see to before anything moves, as data: cautions, checks, and one slow turn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coilbench.cautions import LIVE_DRIVER
from coilbench.motion.trials import Shaft


@dataclass(frozen=True)
class Precaution:
    """One thing to see to. ``caution`` is told, ``confirm`` asked of the person, ``check`` looked up or seen."""

    key: str
    kind: Literal["caution", "confirm", "check"]
    text: str


@dataclass(frozen=True)
class SlowTurn:
    """One turn of the flag: ``steps`` (full steps) at ``rate_sps``, to be watched."""

    steps: int
    rate_sps: float


@dataclass(frozen=True)
class Seen:
    """What the slow turn may have looked like; ``remedy`` is empty when all is well."""

    key: str
    text: str
    remedy: str


_ALWAYS = (
    Precaution("unplug", "caution", LIVE_DRIVER),
    Precaution("current", "check", "the driver's current is set, and no higher than the motor's"),
    Precaution("coils", "check", "each coil sits on its own pair of driver outputs, no lead left bare"),
    Precaution("fixed", "confirm", "the motor is clamped or screwed down; a quick start twists it out of a hand"),
    Precaution("clear", "confirm", "fingers, hair, sleeves and leads are clear of the shaft and the flag"),
    Precaution("stop", "confirm", "you are ready to stop it: space, Esc or the stop button"),
    Precaution(
        "heat", "caution", "the case gets hot over many trials; touch it with care, let it rest when it hurts"
    ),
    Precaution("supply", "caution", "a rail that can give many ampere gets a fuse of the motor's size"),
)


def precautions(shaft: Shaft) -> list[Precaution]:
    """All there is to see to, in the order in which to show it."""
    found = list(_ALWAYS)
    if shaft.blind_because:
        found.append(Precaution("blind", "check", shaft.blind_because))
    if shaft.gear > 1:
        found.append(Precaution("gear", "caution", "a gear hides play and multiplies force: it can crush a finger"))
    return found


def slow_turn(shaft: Shaft, turn_s: float = 4.0) -> SlowTurn:
    """One whole turn of the flag in ``turn_s``, but no faster than 50 steps/s nor slower than 10 steps/s.

    Slow enough for any motor that turns at all (common practice: start-stop rates are in the hundreds). Behind a
    gear, where one turn has thousands of steps, 100 steps/s.
    """
    steps = round(shaft.flag_steps)
    highest = 50.0 if shaft.flag_on == "rotor" or shaft.gear <= 1 else 100.0
    return SlowTurn(steps, min(max(steps / turn_s, 10.0), highest))


SLOW_TURN_SEEN = (
    Seen("turned", "one whole turn, evenly", ""),
    Seen(
        "other way",
        "one whole turn, the other way round",
        "that only sets direction: with the power off, swap the two ends of one coil, or leave it",
    ),
    Seen(
        "part",
        "less or more than a turn, evenly",
        "the steps in a turn or the driver's microstep setting aren't what was entered",
    ),
    Seen(
        "hummed",
        "hums or jerks to and fro",
        "a coil is open or shared between two drivers: power off, then look at the leads again",
    ),
    Seen(
        "weak",
        "turns unevenly, or stops under a light load",
        "raise the driver's current towards the motor's, or look at the supply",
    ),
    Seen(
        "nothing",
        "doesn't move and isn't held",
        "look at enable, supply and the step line; power off before rewiring",
    ),
)
