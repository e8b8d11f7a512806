"""Whether a chopper can hold the currents asked of it: what coil and supply can reach, and its floor."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Loop:
    """What the current of one coil flows through.

    ``bridge_ohm`` is both transistors on, ``drop_volt`` what the bridge loses whatever the current.
    """

    supply_volt: float
    coil_ohm: float
    bridge_ohm: float = 0.0
    sense_ohm: float = 0.0
    drop_volt: float = 0.0
    inductance_henry: float | None = None

    @property
    def on_ohm(self) -> float:
        return self.coil_ohm + self.bridge_ohm + self.sense_ohm

    @property
    def slow_ohm(self) -> float:
        """In slow decay the current goes round through two low-side transistors, not the sense resistor."""
        return self.coil_ohm + self.bridge_ohm

    @property
    def drive_volt(self) -> float:
        return max(self.supply_volt - self.drop_volt, 0.0)


@dataclass(frozen=True, slots=True)
class Floor:
    """The current left in a coil by on times that can't be shorter: its mean, and its top at the end of each."""

    mean_ampere: float
    peak_ampere: float


def reachable_ampere(loop: Loop) -> float:
    """The current at which coil, bridge and sense resistor take the whole supply; at a standstill."""
    return loop.drive_volt / loop.on_ohm


def chop_floor(loop: Loop, on_second: float, off_second: float, fast_fraction: float = 0.0) -> Floor:
    """The floor of a chopper that must stay on for ``on_second`` in every on and off of it.

    Exact for a coil of constant inductance at a standstill: rise to supply/R during the on time, then reversed
    supply for ``fast_fraction`` of the off time (ended by zero current), then slow decay. Each part is an
    exponential, so the steady cycle is a fixed point of a linear map. Without an inductance it is taken as
    large, when the current has no ripple.
    """
    reach = reachable_ampere(loop)
    fast_second = fast_fraction * off_second
    slow_second = off_second - fast_second
    if loop.inductance_henry is None:
        mean_volt = loop.drive_volt * on_second - loop.supply_volt * fast_second
        ohm_second = loop.on_ohm * (on_second + fast_second) + loop.slow_ohm * slow_second
        level = max(mean_volt, 0.0) / ohm_second
        return Floor(level, level)
    tau_on = loop.inductance_henry / loop.on_ohm
    tau_slow = loop.inductance_henry / loop.slow_ohm
    back = loop.supply_volt / loop.on_ohm
    keep_on, keep_fast = math.exp(-on_second / tau_on), math.exp(-fast_second / tau_on)
    keep_slow = math.exp(-slow_second / tau_slow)
    # One cycle from the start of the on time: i -> keep (keep_fast (reach + (i - reach) keep_on + back) - back).
    factor = keep_slow * keep_fast * keep_on
    shift = keep_slow * (keep_fast * (reach * (1 - keep_on) + back) - back)
    start = max(shift / (1 - factor), 0.0)
    top = reach + (start - reach) * keep_on
    after_fast = max((top + back) * keep_fast - back, 0.0)
    fast_lasted = fast_second if after_fast > 0 else tau_on * math.log1p(top / back)
    charge = reach * on_second - tau_on * (top - start)
    charge += tau_on * (top - after_fast) - back * fast_lasted
    charge += tau_slow * after_fast * (1 - keep_slow)
    return Floor(charge / (on_second + off_second), top)


def microstep_ampere(peak_ampere: float, microsteps: int, step: int = 1) -> float:
    """Level of the ``step``-th microstep away from zero current, of ``microsteps`` to a full step."""
    return peak_ampere * math.sin(math.pi / 2 * step / microsteps)


def levels_below(peak_ampere: float, microsteps: int, floor_ampere: float) -> int:
    """How many microsteps next to zero current ask for less than the floor (0 to ``microsteps``)."""
    return sum(microstep_ampere(peak_ampere, microsteps, step) < floor_ampere for step in range(1, microsteps + 1))


def clipped_position_error(peak_ampere: float, reach_ampere: float) -> float:
    """How far off, in full steps, the rest position of a microstep can be when both coils stop at ``reach_ampere``.

    The rotor rests where the two currents point: atan2 of them, 90 degrees to a full step.
    """
    worst = 0.0
    for place in range(1, 91):
        angle = math.radians(place)
        one = min(peak_ampere * math.cos(angle), reach_ampere)
        other = min(peak_ampere * math.sin(angle), reach_ampere)
        worst = max(worst, abs(math.atan2(other, one) - angle))
    return worst / (math.pi / 2)


def standing_share(peak_ampere: float, reach_ampere: float) -> float:
    """Share of a full step over which both coils are at their reach, so that microsteps do not move the shaft."""
    if reach_ampere >= peak_ampere * math.sqrt(0.5):
        return 0.0
    edge = math.asin(reach_ampere / peak_ampere)
    return 1 - 2 * edge / (math.pi / 2)


def quiet_mode_floor(duty: float, supply_volt: float, coil_ohm: float) -> float:
    """Least running current of the voltage mode of TRINAMIC chips: blanking time x PWM frequency x supply / coil.

    ``duty`` is blanking time x PWM frequency. TMC220X Rev 1.02 prints 225 mA at 24 V, 5 ohm; below it the
    chip's own tuning fails.
    """
    return duty * supply_volt / coil_ohm
