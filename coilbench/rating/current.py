"""The current a winding stands, from the heat its body sheds."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbench.errors import InputProblem
from coilbench.rating.copper import (
    CAN_RISE_KELVIN,
    CLASS_A_RISE_KELVIN,
    CLASS_B_RISE_KELVIN,
    ROOM_CELSIUS,
    resistance_at,
)
from coilbench.rating.frames import Body
from coilbench.rating.heat import heat_for_rise

# Makers' ratings of like bodies scatter this much about any heat balance (mounting, winding practice, how warm the
# maker lets it get): nine in ten of the data-sheet motors in the tests lie within it.
SCATTER = 0.28
CAUTION = 0.75  # start about a quarter under the estimate
# Of round cans only three with a printed current were found: it is 0.7, 1.0 and 2.2 times the heat balance's (40 K).
# Makers rate them by supply voltage, by short duty, or by what their gear stands, so the range has to be a factor.
CAN_SPREAD = 2.25
CAN_CAUTION = 2 / 3
LEAST_RISE_KELVIN = 5.0
MOST_RISE_KELVIN = 125.0  # class H
SMALLEST_OHM = 0.01
LARGEST_OHM = 10_000.0


@dataclass(frozen=True, slots=True)
class CurrentEstimate:
    """Current per coil (per half-winding of a tapped motor), two phases on, for a winding rise, all in ampere.

    ``heat_watt`` is both phases, hot. ``start_ampere`` is the cautious value to begin with. ``shed_ampere`` is the
    most that the heat balance itself allows such a body: what a label is held against.
    """

    rise_kelvin: float
    estimate_ampere: float
    low_ampere: float
    high_ampere: float
    start_ampere: float
    shed_ampere: float
    heat_watt: float
    hot_ohm: float


def usual_rise_kelvin(body: Body | None) -> float:
    """The rise to work with when nothing was asked: class B practice for square motors, 40 K for round tin cans."""
    return CAN_RISE_KELVIN if body is not None and body.round_can else CLASS_B_RISE_KELVIN


def current_for_rise(
    body: Body,
    coil_ohm: float,
    rise_kelvin: float,
    cold_celsius: float = ROOM_CELSIUS,
    ambient_celsius: float = ROOM_CELSIUS,
) -> float:
    """Current in ampere through each of two coils that holds the winding at ``rise_kelvin`` above the room."""
    hot_ohm = resistance_at(coil_ohm, cold_celsius, ambient_celsius + rise_kelvin)
    return math.sqrt(heat_for_rise(body, rise_kelvin, ambient_celsius) / (2 * hot_ohm))


def estimate_current(
    body: Body,
    coil_ohm: float,
    rise_kelvin: float | None = None,
    cold_celsius: float = ROOM_CELSIUS,
    ambient_celsius: float = ROOM_CELSIUS,
) -> CurrentEstimate:
    """The current, its range and a cautious start, from the size and the cold resistance.

    The start never asks more than a class A rise, whatever the rise wanted: an unknown motor may be class A.
    Raises InputProblem for a resistance or rise outside what motors have.
    """
    if not SMALLEST_OHM <= coil_ohm <= LARGEST_OHM:
        raise InputProblem(
            f"coil of {coil_ohm:g} ohm: expected {SMALLEST_OHM:g} to {LARGEST_OHM:g} ohm for a motor's coil"
        )
    rise = usual_rise_kelvin(body) if rise_kelvin is None else rise_kelvin
    if not LEAST_RISE_KELVIN <= rise <= MOST_RISE_KELVIN:
        raise InputProblem(f"rise of {rise:g} K: expected {LEAST_RISE_KELVIN:g} to {MOST_RISE_KELVIN:g} K")

    def current(length_metre: float, at_rise: float) -> float:
        return current_for_rise(body.with_length(length_metre), coil_ohm, at_rise, cold_celsius, ambient_celsius)

    estimate = current(body.length_metre, rise)
    cautious_rise = min(rise, CLASS_A_RISE_KELVIN)
    # Without a measured length the shortest body of the frame decides where to begin.
    start_length = body.length_metre if body.length_known else body.shortest_metre
    caution = CAN_CAUTION if body.round_can else CAUTION
    start = min(caution * current(start_length, rise), current(start_length, cautious_rise))
    shortest, longest = current(body.shortest_metre, rise), current(body.longest_metre, rise)
    down, up = (1 / CAN_SPREAD, CAN_SPREAD) if body.round_can else (1 - SCATTER, 1 + SCATTER)
    return CurrentEstimate(
        rise_kelvin=rise,
        estimate_ampere=estimate,
        low_ampere=down * shortest,
        high_ampere=up * longest,
        start_ampere=start,
        shed_ampere=(1 + SCATTER) * longest,
        heat_watt=heat_for_rise(body, rise, ambient_celsius),
        hot_ohm=resistance_at(coil_ohm, cold_celsius, ambient_celsius + rise),
    )
