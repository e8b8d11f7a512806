"""What a meter may say between two leads: the density of readings, slips of the hand included.

A slip mostly takes a value that is at home elsewhere on the same motor: a probe on the wrong lead, a figure read off
the wrong line. The rest are a decimal point, two digits swapped, the tips touching each other, or anything.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coilbench.winding.engine.grid import Grid
from coilbench.winding.engine.hypotheses import Home
from coilbench.winding.engine.likeness import as_read
from coilbench.winding.readings.meter import Meter
from coilbench.winding.readings.repeats import OPEN_ABOVE_OHM, agree, believed

Array = NDArray[np.float64]

# How often, a reading; guesses for a tired person, on the careful side.
_FALSE_OPEN = 0.02  # a probe not touching or on a lead of another coil, or OL typed
_FALSE_VALUE = 0.02  # a value where there is another
_FALSE_JOIN = 0.02  # a value where there is no connection
# What a slip gives: shares of each kind, where there is a value and where there is none.
_AS_READ, _ELSEWHERE, _POINT, _SWAPPED, _TOUCHING, _ANYTHING = 0.3, 0.35, 0.1, 0.08, 0.07, 0.1
_ELSEWHERE_OPEN, _TOUCHING_OPEN, _ANYTHING_OPEN = 0.7, 0.1, 0.2

COIL_SPREAD = 0.024  # coil to coil and half to half: up to 8 % apart between the least alike
DRIFT = 0.015  # from reading to reading: windings that cool, contacts, a meter's warming up
_POOR_CONTACT = 0.1  # how often a contact adds to a reading, and how much
_CONTACT_OHM, _CONTACT_SD_OHM = 0.2, 0.12
CLIPS_OHM, CLIPS_SD_OHM = 0.1, 0.04  # two clips and their wires; common practice
_SENSOR_LEADS, _OPEN_WITHIN = 3, 0.3  # how often two leads of a three-wire sensor read open
_CONTACTS_MATTER_OHM = 6.0
LOG_SPAN = math.log(OPEN_ABOVE_OHM / 0.05)
_RANGE_SD = 0.02


def broad_log_density(ohm: Array) -> Array:
    """Log density of a value that may be anything, evenly by decades."""
    return np.asarray(-np.log(np.maximum(ohm, 0.05)) - math.log(LOG_SPAN))


Value = tuple[float, float, Meter]  # ohm, the hand-set range or inf, what it was read with


def finest(values: Sequence[Value]) -> list[Value]:
    """Of readings that agree those with the finest meter."""
    if all(meter is values[0][2] for _, _, meter in values):
        return list(values)
    noise = [float(meter.noise_ohm(np.array(ohm))) if ohm < math.inf else 0.0 for ohm, _, meter in values]
    best = values[noise.index(min(noise))][2]
    return [value for value in values if value[2] == best]


def _groups(values: Sequence[Value]) -> list[list[Value]]:
    """The readings of a pair, those together that agree with the first of their group."""
    groups: list[list[Value]] = []
    for value in values:
        for group in groups:
            if agree(value[0], group[0][0]):
                group.append(value)
                break
        else:
            groups.append([value])
    return groups


def middle(group: Sequence[Value]) -> Value:
    """What readings that agree come to. A contact can only add: where that matters the least of them is nearest."""
    fine = finest(group)
    ohms = [ohm for ohm, _, _ in fine]
    ohm = min(ohms) if min(ohms) < _CONTACTS_MATTER_OHM else float(np.median(ohms))
    return ohm, max(reach for _, reach, _ in group), fine[0][2]


def same_again(ohm: float, held: float, meter: Meter) -> float:
    """Log density of a reading of a pair that is known to read ``held`` ohm, either of them with a poor contact."""
    if held == math.inf:
        return 0.0
    sd = math.hypot(float(meter.noise_ohm(np.array(held))), DRIFT * held)
    usual = math.exp(-0.5 * ((ohm - held) / sd) ** 2) / sd
    wide = math.hypot(sd, _CONTACT_SD_OHM)
    poor = sum(math.exp(-0.5 * ((ohm - held + sign * _CONTACT_OHM) / wide) ** 2) / wide for sign in (-1, 1))
    return math.log(((1 - 2 * _POOR_CONTACT) * usual + _POOR_CONTACT * poor) / math.sqrt(2 * math.pi) + 1e-300)


def _normal(distance: Array, sd: Array | float) -> Array:
    return np.asarray(np.exp(-0.5 * (distance / sd) ** 2) / (sd * math.sqrt(2 * math.pi)))


def _swapped(ohm: float) -> list[float]:
    """What may have been meant by a value in which two neighbouring digits were swapped."""
    digits = list(f"{ohm:.1f}" if ohm < 400 else f"{ohm:.0f}")
    at = [k for k, digit in enumerate(digits) if digit != "."]
    found = []
    for i, j in pairwise(at):
        if digits[i] != digits[j]:
            other = digits.copy()
            other[i], other[j] = digits[j], digits[i]
            found.append(float("".join(other)))
    return found


class Mixture:
    """Densities on a grid of scale and probes' resistance."""

    def __init__(self, grid: Grid) -> None:
        self.grid = grid

    def of_pair(
        self,
        values: Sequence[Value],
        ratio: Array,
        width: Array,
        home: Sequence[Home],
        others: Sequence[float],
    ) -> tuple[Array, Array]:
        """Log density of one pair's readings, (ohm, hand-set range, meter) each, and the probability that the pair is
        misread: both (cases, points), for ``ratio`` units (inf: open) known within ``width`` on a motor where the
        values of ``home`` are at home and ``others`` is what its other pairs read."""
        groups = _groups(values)
        held = believed([ohm for ohm, _, _ in values])
        spread = np.hypot(width, math.hypot(COIL_SPREAD, DRIFT))
        each = [self._of_reading(middle(group), ratio, spread, home, len(group), others) for group in groups]
        again = [
            math.exp(sum(same_again(ohm, middle(group)[0], meter) for ohm, _, meter in group[1:])) for group in groups
        ]
        slips = [slip ** len(group) for (_, slip), group in zip(each, groups, strict=True)]
        # Open on a range set by hand says no more than "above": a value beyond it contradicts nothing.
        beside = [
            np.where(np.isfinite(ratio)[:, None], good + slip, slip) if middle(group)[1] < math.inf else slip
            for (good, _), slip, group in zip(each, slips, groups, strict=True)
        ]
        total = math.prod(slips, start=np.ones((len(ratio), len(self.grid.scale))))
        of_held = np.zeros_like(total)
        for k, (good, _) in enumerate(each):
            term = good * again[k]
            for other, density in enumerate(beside):
                if other != k:
                    term = term * density
            total = total + term
            if any(ohm == held for ohm, _, _ in groups[k]):
                of_held = term
        total = np.maximum(total, 1e-300)
        return np.log(total), 1 - of_held / total

    def _of_reading(
        self,
        value: Value,
        ratio: Array,
        spread: Array,
        home: Sequence[Home],
        times: int,
        others: Sequence[float],
    ) -> tuple[Array, Array]:
        """Densities of a value read so many times as it should be and as a slip: (cases, points) each."""
        ohm, reach, meter = value
        grid = self.grid
        joined = np.isfinite(ratio)[:, None]
        strange = (ratio < 0)[:, None]
        gaps = np.where(ratio == -_SENSOR_LEADS, _OPEN_WITHIN, _FALSE_OPEN)[:, None]
        units = np.where(np.isfinite(ratio) & (ratio > 0), ratio, 1.0)[:, None]
        probes, probes_sd = (grid.probes, grid.probes_sd) if meter.held else (CLIPS_OHM, CLIPS_SD_OHM)
        meant = units * grid.scale + probes
        if ohm == math.inf:
            beyond = np.zeros_like(meant)
            if reach < math.inf:
                beyond = 1 / (1 + np.exp(np.clip((reach - meant) / (0.6 * _RANGE_SD * reach), -500, 500)))
            good = np.where(joined, beyond * (1 - _FALSE_OPEN), 1 - _FALSE_JOIN)
            slip = np.where(joined, (1 - beyond) * _FALSE_OPEN, 0.0) + 1e-12
            return np.where(strange & (gaps > _FALSE_OPEN), gaps, good), slip
        noise = math.hypot(float(meter.noise_ohm(np.array(ohm))), probes_sd)
        sd = np.hypot(noise, spread[:, None] * ohm)
        contact = _POOR_CONTACT**times  # all of them
        usual = _normal(ohm - meant, sd)
        poor = _normal(ohm - meant - _CONTACT_OHM, np.hypot(sd, _CONTACT_SD_OHM))
        good = np.where(joined, (1 - _FALSE_OPEN - _FALSE_VALUE) * ((1 - contact) * usual + contact * poor), 0.0)
        elsewhere = self._at_home(ohm - probes, math.hypot(noise, math.hypot(COIL_SPREAD, DRIFT) * ohm), home)
        anything = math.exp(float(broad_log_density(np.array(ohm))))
        good = np.where(strange, (1 - gaps) * anything, good)
        touching = _normal(ohm - probes + 0 * grid.scale, math.hypot(noise, 0.06))
        point = 0.5 * (_normal(ohm - 10 * meant, 10 * sd) + _normal(ohm - meant / 10, np.hypot(sd, 0.03)))
        meanings = _swapped(ohm)
        swapped = sum((_normal(one - meant, sd) for one in meanings), np.zeros_like(meant)) / max(len(meanings), 1)
        of_value = _AS_READ * as_read(ohm, meter, others) + _ELSEWHERE * elsewhere + _POINT * point
        of_value = of_value + _SWAPPED * swapped + _TOUCHING * touching
        joins = np.array([sum(share for _, share in kind) for kind in home])[:, None]
        of_open = _ELSEWHERE_OPEN * elsewhere / joins + _TOUCHING_OPEN * touching + _ANYTHING_OPEN * anything
        slip = np.where(joined, _FALSE_VALUE * (of_value + _ANYTHING * anything), _FALSE_JOIN * of_open)
        return good + 1e-300, slip + 1e-300

    def _at_home(self, ohm: Array | float, sd: float, home: Sequence[Home]) -> Array:
        """Density of a value that belongs to another pair of the same motor: (cases, points)."""
        kinds = list(dict.fromkeys(home))
        density = np.array(
            [sum(share * _normal(ohm - each * self.grid.scale, sd) for each, share in kind) for kind in kinds]
        )
        return density[[kinds.index(kind) for kind in home]]
