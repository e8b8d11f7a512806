"""Inductance by the time that a winding's current takes to rise, on the clips of a board.

Clip ``high`` goes from ground to the supply, clip ``low`` stays at ground, and the board reads ``low`` so many cycles
later (``readings.clips`` has the jig). What is missing there to what stands in the end dies away with the time
constant L / (R + 490 ohm). Only the slope of that is used, so that the converter's offset and whatever is late by a
fixed time drop out. What each term of the error comes to:

- the resistors that drive and the pins: 2.5 % of the loop (``readings.clips``), the same for all coils of a motor;
- the clock: 0.5 % with a ceramic resonator, next to nothing with a crystal (common practice);
- the converter: its non-linearity of half a step (``readings.clips``) in each of the points and in what stands in the
  end makes 0.3 to 1 % of the slope, as the fit tells. The moment at which it holds its input is exact to a cycle or
  two (Microchip: ATmega328P data sheet, "Prescaling and Conversion Timing"; from memory), and alike for all points;
- its input follows the clip late: 10 kohm and some 25 pF, 14 of them the converter's own (the same data sheet, "ADC
  Input Channels"; from memory), make 0.15 to 0.5 us: after 2 us 0.03 us of the time constant are left of that;
- the other half of a tapped winding: end to end is four times a half where the two share all their flux; what leaks
  makes up to 5 % less of it (assumed);
- iron: eddy currents take part of the flux away, the more the sooner one looks. A loop round the core that takes a
  tenth of the inductance makes 3 % more to 9 % less of it here (as a circuit: ``tests/winding/test_rise.py``). The
  rotor's place changes it by a tenth or so, and a few milliampere magnetise iron less well: 15 % in all (assumed).

So an inductance of 1 to 400 mH is known to 3 to 5 % as the jig goes, and to 16 % as another instrument has it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from itertools import combinations

import numpy as np

from coilbench.winding.readings.clips import BLEED_OHM, DRIVE_OHM, ClipMap, Pair
from coilbench.winding.readings.inductance import NotTimed, Timed

CLOCK_HZ = 16e6
SOONEST_CYCLES, LATEST_CYCLES = 16, 16_000

LOOP_SD, LATE_SD_SECOND = 0.015, 0.03e-6
LOOP_OHM = 2 / (1 / DRIVE_OHM + 1 / BLEED_OHM)
_POINT_SD, _STANDS_SD = 0.5 / 1024, 0.3 / 1024  # of the supply
_FIRST_SECOND, _SOONER, _LATER, _LOOKS = 16e-6, 1 / 6, 8.0, 3
_SETTLED_SECOND = 2e-6  # the input has caught up
_TIMES = (0.1, 0.5, 0.9, 1.4, 2.0)  # of the time constant
_TELLS = (0.1, 0.9)  # of what stands in the end may be missing
_LEAST_SECOND, _MOST_SECOND = 1.2e-6, 0.7e-3
_MOST_SD = 0.2  # of the time constant
_LEAST_SHARE = 0.05  # of the supply, at the low clip in the end
_WAYS_DIFFER, _NOISE_SDS = 0.1, 4.0
_HUB_WITHIN = 0.15

# What the board sees of the low clip so many cycles after the rise: after how many, and its share of the supply.
Look = Callable[[int], tuple[int, float]]


_TOO_LITTLE = "too little for the jig: less than about 0.7 mH"
_TOO_MUCH = "too much for the jig: more than about 0.4 H"


class Untellable(Exception):
    """Why there is no time constant; a look may raise it, too."""


def pairs_to_time(found: ClipMap, names: Sequence[str]) -> dict[Pair, tuple[Pair, ...]]:
    """The pairs of clips whose inductance tells that of the coils, and which ways round to drive them: those that
    conduct to none else, the outer two of three, and any two ends of four that meet in a fifth; of these one way
    does, they bear each other out. In all others currents would have several ways."""
    ohms = {frozenset((one.a, one.b)): one.ohm for one in found.readings if math.isfinite(one.ohm)}
    groups: dict[str, frozenset[str]] = {
        name: frozenset({name, *(other for pair in ohms if name in pair for other in pair)}) for name in names
    }
    pairs: dict[Pair, tuple[Pair, ...]] = {}
    for group in sorted(set(groups.values()), key=lambda one: min(map(names.index, one))):
        ends = sorted(group, key=names.index)
        if len(group) == 3:
            ends = sorted(max(combinations(ends, 2), key=lambda two: ohms[frozenset(two)]), key=names.index)
        elif len(group) == 5:
            ends = _ends_about_a_hub(ends, ohms)
        if len(group) not in (2, 3, 5):
            continue
        for low, high in combinations(map(names.index, ends), 2):
            pairs[low, high] = ((low, high),) if len(group) == 5 else ((low, high), (high, low))
    return pairs


def _ends_about_a_hub(leads: Sequence[str], ohms: Mapping[frozenset[str], float]) -> list[str]:
    """The leads that meet in one of them, or none: from end to end is twice as much as from the hub to an end."""
    hub = min(leads, key=lambda lead: sum(ohms[frozenset((lead, other))] for other in leads if other != lead))
    ends = [lead for lead in leads if lead != hub]
    for a, b in combinations(ends, 2):
        over_hub = ohms[frozenset((a, hub))] + ohms[frozenset((hub, b))]
        if abs(ohms[frozenset((a, b))] - over_hub) > _HUB_WITHIN * over_hub:
            return []
    return ends


def timed(leads: tuple[str, str], ohm: float, ways: Sequence[tuple[Look, float]]) -> Timed | NotTimed:
    """The inductance between two leads of so many ohms, from one way round or both: how to look, and what share of
    the supply stands at the low clip in the end."""
    try:
        found = [_time_constant(look, stands) for look, stands in ways]
    except Untellable as why:
        return NotTimed(*leads, str(why))
    seconds = [second for second, _ in found]
    second, sd = sum(seconds) / len(found), math.sqrt(sum(each**2 for _, each in found)) / len(found)
    if max(seconds) - min(seconds) > _WAYS_DIFFER * second + _NOISE_SDS * sd:
        return NotTimed(*leads, "the current rises otherwise one way round than the other: hold the shaft still")
    loop_ohm = ohm + LOOP_OHM
    share_sd = math.hypot(LOOP_SD, math.hypot(sd, LATE_SD_SECOND) / second)
    return Timed(*leads, second * loop_ohm, share_sd * second * loop_ohm)


def _time_constant(look: Look, stands: float) -> tuple[float, float]:
    """In seconds, and how well it is known. Raises Untellable."""
    if stands < _LEAST_SHARE:
        raise Untellable("too many ohms for the jig")
    rough = _rough(look, stands)
    times, missing = [], []
    for place in _TIMES:
        wanted = round((_SETTLED_SECOND + place * rough) * CLOCK_HZ)
        cycles, share = look(min(max(wanted, SOONEST_CYCLES), LATEST_CYCLES))
        times.append(cycles / CLOCK_HZ)
        missing.append(stands - share)
    second, sd = _slope(np.array(times), np.array(missing), rough, stands)
    if sd > _MOST_SD * second:
        raise Untellable("its current doesn't rise as a winding's does")
    if second < _LEAST_SECOND:
        raise Untellable(_TOO_LITTLE)
    if second > _MOST_SECOND:
        raise Untellable(_TOO_MUCH)
    return second, sd


def _rough(look: Look, stands: float) -> float:
    """About the time constant, seconds. Raises Untellable."""
    second = _FIRST_SECOND
    for _ in range(_LOOKS):
        cycles, share = look(round(second * CLOCK_HZ))
        missing = 1 - share / stands
        if _TELLS[0] <= missing <= _TELLS[1]:
            return cycles / CLOCK_HZ / -math.log(missing)
        sooner = missing < _TELLS[0]
        second *= _SOONER if sooner else _LATER
        if not SOONEST_CYCLES <= second * CLOCK_HZ <= LATEST_CYCLES:
            break
    raise Untellable(_TOO_LITTLE if sooner else _TOO_MUCH)


def _slope(
    times: np.ndarray[tuple[int], np.dtype[np.float64]],
    missing: np.ndarray[tuple[int], np.dtype[np.float64]],
    rough: float,
    stands: float,
) -> tuple[float, float]:
    """Least squares of height x exp(-t / tau) and a little that stands wrong; tau and its standard deviation."""
    height, rate, wrong = stands, 1 / rough, 0.0
    for _ in range(12):
        shape = np.exp(-times * rate)
        rows = np.column_stack([shape, -height * times * shape, np.ones_like(times)]) / _POINT_SD
        off = (missing - height * shape - wrong) / _POINT_SD
        matrix = np.vstack([rows, [0, 0, 1 / _STANDS_SD]])
        told = np.append(off, -wrong / _STANDS_SD)
        change = np.linalg.lstsq(matrix, told, rcond=None)[0]
        height, rate, wrong = height + change[0], max(rate + change[1], 0.3 * rate), wrong + change[2]
    spread = math.sqrt(max(float(off @ off) / (len(times) - 2), 1.0))
    rate_sd = math.sqrt(float(np.linalg.pinv(matrix.T @ matrix)[1, 1])) * spread
    return float(1 / rate), float(rate_sd / rate**2)
