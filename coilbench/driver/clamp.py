"""How fast the current of a coil that was switched off dies, by what clamps it."""

from __future__ import annotations

import math

DIODE_VOLT = 0.8  # a silicon diode carrying some tenths of an ampere: common practice
BODY_DIODE_VOLT = 1.0  # of a switch, carrying an ampere: Sanken SLA7024M prints 1.1 V


def decay_second(henry: float, ohm: float, ampere: float, clamp_volt: float) -> float:
    """Time in which ``ampere`` dies to nothing against ``clamp_volt`` across the coil: L/R ln(1 + I R / V).

    The solution of L di/dt + R i + V = 0. A diode leaves its own small voltage, and the current lingers; a zener
    stands against it with all of its own.
    """
    return henry / ohm * math.log1p(ampere * ohm / clamp_volt)


def gone_in_ampere(henry: float, ohm: float, clamp_volt: float, second: float) -> float:
    """The current that dies in ``second``, ``decay_second`` the other way round: V/R (e^(t R / L) - 1).

    Sanken: SLA7060M data sheet, least current that is regulated, with supply and body diode as the clamp; its
    exponent is printed as t / (R L) and with its sign lost.
    """
    return clamp_volt / ohm * math.expm1(second * ohm / henry)


def linear_decay_second(henry: float, ampere: float, clamp_volt: float) -> float:
    """The same where the clamp's volts are many times the coil's own, L I / V: the current falls evenly."""
    return henry * ampere / clamp_volt


def switch_off_joule(henry: float, ampere: float) -> float:
    """What a coil holds and gives back at each switching off: L I^2 / 2."""
    return 0.5 * henry * ampere**2
