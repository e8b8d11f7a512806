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
from coilbench.rating.frames import Body, body_of, frame_table
from coilbench.rating.heat import heat_for_rise
from coilbench.rating.makers import Hints, likely_rating

CAUTION = 0.75  # start at least a quarter under the estimate
# This much above the heat balance is the most that a body at rest sheds. Of squares some makers ask more; cans are
# rated by supply or short duty, which is what a label must not be believed for.
SHED = 1.28
NO_HINTS = Hints()
LEAST_RISE_KELVIN = 5.0
MOST_RISE_KELVIN = 125.0  # class H
SMALLEST_OHM = 0.01
LARGEST_OHM = 10_000.0


@dataclass(frozen=True, slots=True)
class CurrentEstimate:
    """Current per coil (per half-winding of a tapped motor), two phases on, for a winding rise, all in ampere RMS.

    90 of 100 makers' ratings lie between low and high, 98 above ``start_ampere``, the cautious value to begin with.
    ``heat_watt`` is both phases, hot, at the estimate. ``shed_ampere`` is the most that the heat balance itself
    allows such a body: what a label is held against.
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
    """The rise to work with when nothing was asked: class B practice for square motors, class A for tin cans."""
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
    body: Body | None,
    coil_ohm: float,
    rise_kelvin: float | None = None,
    cold_celsius: float = ROOM_CELSIUS,
    ambient_celsius: float = ROOM_CELSIUS,
    hints: Hints = NO_HINTS,
) -> CurrentEstimate:
    """The current, its range and a cautious start, from the size, the cold resistance and what else hints at it.

    Without a body any common square one is thought of: a range too wide to be more than a beginning. The start never
    asks more than a class A rise, whatever the rise wanted: an unknown motor may be class A. Raises InputProblem for
    a resistance or rise outside what motors have.
    """
    if not SMALLEST_OHM <= coil_ohm <= LARGEST_OHM:
        raise InputProblem(
            f"coil of {coil_ohm:g} ohm: expected {SMALLEST_OHM:g} to {LARGEST_OHM:g} ohm for a motor's coil"
        )
    usual = usual_rise_kelvin(body)
    rise = usual if rise_kelvin is None else rise_kelvin
    if not LEAST_RISE_KELVIN <= rise <= MOST_RISE_KELVIN:
        raise InputProblem(f"rise of {rise:g} K: expected {LEAST_RISE_KELVIN:g} to {MOST_RISE_KELVIN:g} K")

    def current(of: Body, at_rise: float) -> float:
        return current_for_rise(of, coil_ohm, at_rise, cold_celsius, ambient_celsius)

    bodies = _bodies(body)
    likely = likely_rating([(each, current(each, usual), weight) for each, weight in bodies], coil_ohm, hints)
    middle = bodies[len(bodies) // 2][0]
    scale = current(middle, rise) / current(middle, usual)
    cautious = current(middle, min(rise, CLASS_A_RISE_KELVIN)) / current(middle, usual)
    estimate = scale * likely.middle_ampere
    hot_ohm = resistance_at(coil_ohm, cold_celsius, ambient_celsius + rise)
    return CurrentEstimate(
        rise_kelvin=rise,
        estimate_ampere=estimate,
        low_ampere=scale * likely.low_ampere,
        high_ampere=scale * likely.high_ampere,
        start_ampere=min(min(scale, 1.0) * likely.start_ampere, CAUTION * estimate, cautious * likely.middle_ampere),
        shed_ampere=max(
            SHED * max(current(each, rise) for each, _ in bodies),
            0.0 if middle.round_can else scale * likely.high_ampere,
        ),
        heat_watt=2 * estimate**2 * hot_ohm,
        hot_ohm=hot_ohm,
    )


def _bodies(body: Body | None) -> list[tuple[Body, float]]:
    """The bodies of one length that it may be, and how likely: of a frame the typical one most."""
    if body is None:
        squares = [found for row in frame_table() if not row.round_can and (found := body_of(row.name)) is not None]
        return [(each.with_length(length), 1.0) for each in squares for length in _lengths(each)[::2]]
    if body.length_known:
        return [(body, 1.0)]
    return [(body.with_length(each), weight) for each, weight in zip(_lengths(body), (1, 2, 3, 2, 1), strict=True)]


def _lengths(body: Body) -> tuple[float, ...]:
    short, typical, long = body.shortest_metre, body.length_metre, body.longest_metre
    return short, (short + typical) / 2, typical, (typical + long) / 2, long
