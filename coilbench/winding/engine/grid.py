"""The grid of coil and probe resistances on which readings are explained."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from coilbench.winding.readings.meter import Meter

Array = NDArray[np.float64]

SCALE_OHM = (0.3, 500.0)  # the least resistance between two leads, log-uniform
# Leads and clips of hand-held probes, contact included: 0.1 to 0.3 ohm new, half an ohm worn; common practice.
_PROBES_PRIOR = {0.05: 0.17, 0.15: 0.28, 0.25: 0.22, 0.35: 0.13, 0.45: 0.10, 0.55: 0.06, 0.7: 0.03, 0.95: 0.01}
_WHATEVER_PROBES_ABOVE_OHM = 12.0  # a lowest reading above this hides them
_USUAL_PROBES_OHM, _USUAL_PROBES_SD_OHM = 0.23, 0.17
_STEP = 0.03  # of the scale, and not less than:
_LEAST_STEP_OHM = 0.05
_RATIOS = (1.0, 1.5, 2.0)  # what a reading is in units of the least; others are explained from their neighbours
_NEAR = 0.16  # around the scales that a reading points to
_NEAR_OHM = 0.25
_THIN = 8  # elsewhere one point of so many stands for its fellows
_PROBES_READ_SD_OHM = 0.05  # the probes alone read again: contact and rounding


@dataclass(frozen=True)
class Grid:
    """Points (scale and probes in ohm) with their log prior weight; ``probes_sd`` is what one probe level hides."""

    scale: Array
    probes: Array
    log_weight: Array
    probes_sd: float


@lru_cache(maxsize=1)
def _scales() -> tuple[Array, Array]:
    """All scales, and the log of their prior weights: log-uniform, running out softly at both ends."""
    points = [0.5 * SCALE_OHM[0]]
    while points[-1] < 2 * SCALE_OHM[1]:
        points.append(points[-1] + max(_STEP * points[-1], _LEAST_STEP_OHM))
    scale = np.array(points)
    width = np.gradient(np.log(scale))
    lowest, highest = (math.log(end) for end in SCALE_OHM)
    outside = np.maximum(lowest - np.log(scale), 0) + np.maximum(np.log(scale) - highest, 0)
    return scale, np.log(width / (highest - lowest)) - 0.5 * (outside / 0.3) ** 2


def grid_for(ohm: Array, probes_ohm: Sequence[float], meter: Meter) -> Grid:
    """The points for readings of these pairs and of the probes alone (held together)."""
    scale, log_prior = _scales()
    finite = ohm[np.isfinite(ohm)]
    fine = bool(len(finite)) and float(finite.min()) < _WHATEVER_PROBES_ABOVE_OHM
    prior = _PROBES_PRIOR if fine else {_USUAL_PROBES_OHM: 1.0}
    everywhere = np.arange(len(scale)) % _THIN == _THIN // 2
    parts = []
    for probes, share in prior.items():
        near = np.zeros(len(scale), dtype=bool)
        for one in np.unique(np.round(finite, 2)):
            for ratio in _RATIOS:
                centre = (one - probes) / ratio
                near |= np.abs(scale - centre) < max(_NEAR * centre, _NEAR_OHM)
        keep = near | everywhere
        weight = log_prior + np.where(near, 0.0, math.log(_THIN)) + math.log(share) + _of_probes(probes, probes_ohm)
        parts.append((scale[keep], np.full(keep.sum(), probes), weight[keep]))
    scales, levels, weights = (np.concatenate(part) for part in zip(*parts, strict=True))
    return Grid(scales, levels, weights, 0.03 if fine else _USUAL_PROBES_SD_OHM)


def _of_probes(probes: float, read: Sequence[float]) -> float:
    """Log density of what the probes read by themselves: as they are, or with a bad contact."""
    total = 0.0
    for ohm in read:
        usual = math.exp(-0.5 * ((ohm - probes) / _PROBES_READ_SD_OHM) ** 2)
        poor = math.exp(-0.5 * ((ohm - probes - 0.2) / 0.12) ** 2) * _PROBES_READ_SD_OHM / 0.12
        total += math.log(0.88 * usual + 0.1 * poor + 0.02 * 0.01)
    return total
