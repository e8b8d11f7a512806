"""What a maker would have rated a motor for: the heat its body sheds, and the doubt that published ratings leave.

Makers' ratings of like bodies scatter about any heat balance (mounting, winding practice, how warm the maker lets it
get), and some by a factor. So the answer is a range, weighed from what is known: the heat balance of each body it may
be, the voltages that windings are made for, and the holding torque, where one is printed.

Torque: at the same heat, a body's torque goes with its size and, where half of the copper is in use, with sqrt(1/2).
The figures are fitted to the hybrid motors of the tests' table that print both (60 rows, 10 makers).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from coilbench.rating.frames import Body, rated_makers

# Scatter of ln(current) about the heat balance, Student's t of 4 degrees, of frames with many ratings.
SCATTER = 0.082
UNSEEN_SCATTER = 0.20  # for a frame of which no rating was compared; less with every maker that was
# Short bodies: 20 mm on 39 and 42 mm faces are rated for 0.37 to 0.92 of the balance's heat, 12 and 19 mm for 1.4 and
# 1.8 (tests' table). Shorter than this part of the face the doubt grows, up to so much.
SHORT_ASPECT, SHORTEST_ASPECT, SHORT_SCATTER = 0.8, 0.4, 0.36
# Motors of 0.9 degree: three ratings stand behind them here, and others of them are said to be rated well lower.
FINE_STEP_DEGREE = 0.95
FINE_SHIFT, FINE_SCATTER = -0.15, 0.20
# Round cans: makers rate them by supply voltage, by short duty, or by what their gear stands. Normal law.
CAN_SCATTER = 0.5
# Windings are made for round voltages (volts, share of motors): of the tests' 76 ratings 15 are within 3 % of 12 V, 6
# of 4 V, 4 of 6 V, 3 each of 5 and 9.6 V. A weak prior, the copper's tolerance of 10 % taken in.
MADE_FOR = ((4.0, 0.03), (5.0, 0.04), (6.0, 0.03), (9.6, 0.03), (12.0, 0.14), (24.0, 0.03))
MADE_FOR_SCATTER = 0.05
ANY_VOLTAGE_DENSITY = 0.22  # the rest, 0.7 of all, over three nats from 1.2 to 24 V
TORQUE_PER_ROOT_WATT = 0.108  # N.m of a bipolar motor, 42.3 mm face, 40 mm body, cold watts of two phases
TORQUE_FACE_POWER, TORQUE_LENGTH_POWER = 1.9, 1.3
TORQUE_SCATTER = 0.20
FINE_TORQUE_SHIFT, FINE_TORQUE_SCATTER = -0.3, 0.3
UNKNOWN_USE_SCATTER = 0.2  # coil or half-winding isn't known
# Torque over current of a spun motor is its constant, less what the iron takes at the rated current.
SATURATION, SATURATION_SCATTER = 0.9, 0.12

START_SHARE = 0.02  # one maker in fifty rates such a motor lower than the value to begin with
CAN_START_SHARE = 0.05  # of cans one in twenty: their range is so wide that less would hardly turn them
LOW_SHARE, HIGH_SHARE = 0.05, 0.95
_STEP = 0.02  # of ln(current)
_MARGIN = 1.8


@dataclass(frozen=True, slots=True)
class Hints:
    """What tells of the rating beside heat; None where it isn't known.

    ``half_winding``: whether the ohms and the current are those of one half (5, 6, 8 leads). ``holding_newton_metre``
    as printed, two phases on; ``torque_constant`` of a spun coil in N.m/A with ``constant_doubt`` as a share.
    """

    step_angle_degree: float | None = None
    half_winding: bool | None = None
    holding_newton_metre: float | None = None
    torque_constant: float | None = None
    constant_doubt: float = 0.0


@dataclass(frozen=True, slots=True)
class Spread:
    """A maker's rating in ampere: the middle, what 90 of 100 lie between, and what 98 of 100 (cans: 95) lie above."""

    low_ampere: float
    middle_ampere: float
    high_ampere: float
    start_ampere: float


def likely_rating(candidates: Sequence[tuple[Body, float, float]], coil_ohm: float, hints: Hints) -> Spread:
    """``candidates`` are the bodies it may be, of one length each: (body, its heat balance's current in ampere, how
    likely). ``coil_ohm`` is cold."""
    least = math.log(min(ampere for _, ampere, _ in candidates)) - _MARGIN
    most = math.log(max(ampere for _, ampere, _ in candidates)) + _MARGIN
    count = math.ceil((most - least) / _STEP) + 1
    places = [least + _STEP * number for number in range(count)]
    weights = [0.0] * count
    for body, ampere, likely in candidates:
        for number, log_ampere in enumerate(places):
            weights[number] += likely * _likelihood(body, log_ampere, math.log(ampere), coil_ohm, hints)
    for number, log_ampere in enumerate(places):
        weights[number] *= _voltage_density(log_ampere + math.log(coil_ohm)) * _constant_likelihood(log_ampere, hints)
    begin = CAN_START_SHARE if any(body.round_can for body, _, _ in candidates) else START_SHARE
    shares = (begin, LOW_SHARE, 0.5, HIGH_SHARE)
    start, low, middle, high = (math.exp(each) for each in _quantiles(places, weights, shares))
    return Spread(low, middle, high, start)


def _likelihood(body: Body, log_ampere: float, log_heat_ampere: float, coil_ohm: float, hints: Hints) -> float:
    off = log_ampere - log_heat_ampere
    if body.round_can:
        return _normal(off, CAN_SCATTER)
    fine = hints.step_angle_degree is not None and hints.step_angle_degree < FINE_STEP_DEGREE
    flat = min(1.0, max(0.0, (SHORT_ASPECT - body.length_metre / body.face_metre) / (SHORT_ASPECT - SHORTEST_ASPECT)))
    scatter = math.hypot(
        SCATTER,
        UNSEEN_SCATTER / math.sqrt(1 + rated_makers(body.name)),
        SHORT_SCATTER * flat,
        FINE_SCATTER if fine else 0.0,
    )
    found = _student(off - (FINE_SHIFT if fine else 0.0), scatter)
    if hints.holding_newton_metre is None:
        return found
    heat = math.log(2 * coil_ohm) + 2 * log_ampere
    half = {None: 0.5, True: 1.0, False: 0.0}[hints.half_winding]
    usual = (
        math.log(TORQUE_PER_ROOT_WATT)
        + TORQUE_FACE_POWER * math.log(body.face_metre / 0.0423)
        + TORQUE_LENGTH_POWER * math.log(body.length_metre / 0.040)
        + 0.5 * (heat - half * math.log(2))
        + (FINE_TORQUE_SHIFT if fine else 0.0)
    )
    scatter = math.hypot(
        TORQUE_SCATTER,
        FINE_TORQUE_SCATTER if fine else 0.0,
        UNKNOWN_USE_SCATTER if hints.half_winding is None else 0.0,
    )
    return found * _student(math.log(hints.holding_newton_metre) - usual, scatter)


def _constant_likelihood(log_ampere: float, hints: Hints) -> float:
    if hints.torque_constant is None or hints.holding_newton_metre is None:
        return 1.0
    usual = math.log(SATURATION * math.sqrt(2) * hints.torque_constant) + log_ampere
    return _student(
        math.log(hints.holding_newton_metre) - usual, math.hypot(SATURATION_SCATTER, hints.constant_doubt)
    )


def _voltage_density(log_volt: float) -> float:
    return ANY_VOLTAGE_DENSITY + sum(
        share * _normal(log_volt - math.log(volt), MADE_FOR_SCATTER) for volt, share in MADE_FOR
    )


def _student(off: float, scatter: float) -> float:
    """Density of Student's t of 4 degrees: 3/8 at its middle."""
    return float(0.375 / scatter * (1 + (off / scatter) ** 2 / 4) ** -2.5)


def _normal(off: float, scatter: float) -> float:
    return math.exp(-0.5 * (off / scatter) ** 2) / (scatter * math.sqrt(2 * math.pi))


def _quantiles(places: Sequence[float], weights: Sequence[float], shares: Sequence[float]) -> Iterator[float]:
    """Where these shares of the weight lie below, in rising order, drawn straight between the places."""
    total, below, number = sum(weights), 0.0, 0
    for share in shares:
        while number < len(weights) - 1 and below + weights[number] < share * total:
            below += weights[number]
            number += 1
        part = (share * total - below) / weights[number] if weights[number] else 0.0
        yield places[number] + _STEP * (part - 0.5)
