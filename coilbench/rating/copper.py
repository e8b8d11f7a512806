"""Copper as a thermometer: the resistance method, and the thermal classes it is judged by.

Formula of both standards: (t2 + k) / (t1 + k) = R2 / R1, with k = 235 for copper in IEC 60034-1, 8.6.2 (resistance
method) and 234.5 in IEEE Std 112 (both from memory).
"""

from __future__ import annotations

from typing import Literal

from coilbench.errors import InputProblem

Practice = Literal["iec", "ieee"]
COPPER_KELVIN: dict[Practice, float] = {"iec": 235.0, "ieee": 234.5}

ROOM_CELSIUS = 25.0
# IEC 60085: temperature of the thermal class. IEC 60034-1: permitted rise by the resistance method at an ambient up
# to 40 C (the rest of the way to the class temperature is kept for the hot spot); B, F and H as Vascat: motor manual
# restates them, A and E as an insulation firm's table does (weak).
CLASSES: tuple[tuple[str, float, float], ...] = (
    ("A", 105.0, 60.0),
    ("E", 120.0, 75.0),
    ("B", 130.0, 80.0),
    ("F", 155.0, 105.0),
    ("H", 180.0, 125.0),
)
CLASS_A_RISE_KELVIN = 60.0
CLASS_B_RISE_KELVIN = 80.0
CAN_RISE_KELVIN = CLASS_A_RISE_KELVIN  # tin cans are often class A: one small geared 5 V motor prints it


def winding_celsius(
    cold_ohm: float, cold_celsius: float, hot_ohm: float, constant_kelvin: float = COPPER_KELVIN["iec"]
) -> float:
    """Winding temperature in C from its resistance cold and hot."""
    if not (cold_ohm > 0 and hot_ohm > 0):
        raise InputProblem(f"resistances {cold_ohm:g} and {hot_ohm:g} ohm: expected both above zero")
    return hot_ohm / cold_ohm * (cold_celsius + constant_kelvin) - constant_kelvin


def resistance_at(
    ohm: float, at_celsius: float, wanted_celsius: float, constant_kelvin: float = COPPER_KELVIN["iec"]
) -> float:
    """Resistance in ohm at ``wanted_celsius`` of copper that has ``ohm`` at ``at_celsius``."""
    return ohm * (wanted_celsius + constant_kelvin) / (at_celsius + constant_kelvin)


def thermal_class(rise_kelvin: float) -> str | None:
    """The lowest class whose permitted rise holds ``rise_kelvin``; None above class H.

    By rise and not by temperature, because a motor tested in a cool room meets a warm one later: the class allows for
    an ambient of 40 C.
    """
    for name, _, permitted_kelvin in CLASSES:
        if rise_kelvin <= permitted_kelvin:
            return name
    return None
