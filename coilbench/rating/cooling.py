"""From readings while a coil cools, back to the instant of switching off.

Two bodies cool together: the winding gives its heat to the case within a minute or less, the case gives it to the
room over many minutes. A single line through readings of the second half minute sees the case's fall alone and ends
at a winding that is cooler than it was: the unsafe side. So each likely gap and pace is weighed against the readings.

The likely figures are from the lumped model: a gap of 3 to 24 % of the rise, as ``heat`` has 15 %; the winding's own
time, its copper's 0.385 J/gK times the gap over the heat (5 g and 3 W in a 28 mm motor, 50 g and 6 W in a 42 mm one,
some 200 g and 20 W in an 86 mm one): 10 to 80 s; the case's time from grams of iron over the surface of ``heat``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

# Share of the rise that lies between winding and case, and how likely; the winding's own time constant in seconds,
# and how likely.
GAPS = ((0.03, 1.0), (0.07, 2.0), (0.11, 3.0), (0.15, 3.0), (0.19, 2.0), (0.24, 1.0))
WINDING_SECONDS = ((12.0, 1.0), (20.0, 2.0), (32.0, 3.0), (50.0, 3.0), (75.0, 1.0))
CASE_SECONDS = tuple(150.0 * 1.16**step for step in range(24))  # 150 to 4,600 s
USUAL_CASE_SECOND, CASE_SPREAD = 1200.0, 0.7  # log-normal
# A display that shows whole digits errs by 0.29 of one; its last digit also flickers (common practice).
READING_SD_STEPS = 0.35
ODD_MISFIT = 16.0  # in variances of a reading, more than chance gives in one soak of a thousand
MODEL_SD = 0.004  # two exponentials are no motor: share of the excess


@dataclass(frozen=True, slots=True)
class Start:
    """The coil's resistance above that at room temperature as it was switched off, in ohm: the middle, and where
    68 of 100 lie. ``case_second`` is the slow time constant, None where the readings don't tell it; ``odd`` that they
    fall as no motor cools."""

    excess_ohm: float
    low_ohm: float
    high_ohm: float
    case_second: float | None
    odd: bool


def excess_at_start(readings: Sequence[tuple[float, float]], step_ohm: float) -> Start:
    """``readings`` are (seconds after switching off, ohm above the coil's at room temperature), at least one;
    ``step_ohm`` is the meter's last digit."""
    top = max(excess for _, excess in readings)
    sd = math.hypot(READING_SD_STEPS * step_ohm, MODEL_SD * max(top, 0.0))
    found = []  # (start, its variance, log of its weight, case's time)
    least_misfit = math.inf
    for case_second in CASE_SECONDS:
        slow = [math.exp(-second / case_second) for second, _ in readings]
        pace = -0.5 * (math.log(case_second / USUAL_CASE_SECOND) / CASE_SPREAD) ** 2
        for winding_second, often in WINDING_SECONDS:
            fast = [math.exp(-second / winding_second) for second, _ in readings]
            for gap, likely in GAPS:
                shape = [(1 - gap) * case + gap * winding for case, winding in zip(slow, fast, strict=True)]
                square = sum(each * each for each in shape)
                start = sum(each * excess for each, (_, excess) in zip(shape, readings, strict=True)) / square
                misfit = sum((excess - start * each) ** 2 for each, (_, excess) in zip(shape, readings, strict=True))
                least_misfit = min(least_misfit, misfit / sd**2)
                weight = pace + math.log(often * likely) - 0.5 * misfit / sd**2 - 0.5 * math.log(square)
                found.append((start, sd * sd / square, weight, case_second))
    best = max(weight for _, _, weight, _ in found)
    weighed = sorted((start, math.exp(weight - best), variance, slow) for start, variance, weight, slow in found)
    total = sum(weight for _, weight, _, _ in weighed)
    odd = least_misfit > ODD_MISFIT + 2 * len(readings)
    case = math.exp(sum(weight * math.log(slow) for _, weight, _, slow in weighed) / total)
    told = case if len({second for second, _ in readings}) > 1 else None
    first_second, first = min(readings)
    if first_second == 0:  # the thing itself: those after it say how it cools
        return Start(first, first - sd, first + sd, told, odd)
    low, middle, high = (_quantile(weighed, share * total) for share in (0.16, 0.5, 0.84))
    measured_sd = math.sqrt(sum(weight * variance for _, weight, variance, _ in weighed) / total)
    down, up = math.hypot(middle - low, measured_sd), math.hypot(high - middle, measured_sd)
    return Start(middle, middle - down, middle + up, told, odd)


def _quantile(weighed: Sequence[tuple[float, float, float, float]], upto: float) -> float:
    for start, weight, _, _ in weighed:
        upto -= weight
        if upto <= 0:
            return start
    return weighed[-1][0]
