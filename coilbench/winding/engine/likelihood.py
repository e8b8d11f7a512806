"""How well each case explains the readings.

A reading of a pair whose resistance is ``ratio`` coil units is ratio * scale + probes + noise: the scale (coil
resistance times the meter's gain) and the probes' resistance are shared by all readings and integrated out. With
the noise taken as Gaussian that integral is closed: a two-parameter linear model. One reading may be a gross slip;
readings that are open where the case conducts, or the other way round, are slips each.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coilbench.winding.engine.hypotheses import COLUMN_MARKS, Table
from coilbench.winding.readings.meter import Meter
from coilbench.winding.readings.reading import PROBES, Reading
from coilbench.winding.readings.repeats import OPEN_ABOVE_OHM, agree, believed

Array = NDArray[np.float64]

_SCALE_OHM = (0.3, 500.0)  # coil resistance, log-uniform
_PROBES_OHM = (0.2, 0.15)  # mean and standard deviation: hand-held leads and clips
_MEASURED_PROBES_SD_OHM = 1.0  # what is left of that once the probes were measured: next to nothing
_SPREAD = 0.012  # coil to coil; data sheets allow 10 %, the coils of one motor agree far better
_VALUE_SLIP = 0.01  # decimal point, swapped digits, bad contact: how often a value is grossly off
_FALSE_OPEN = 0.006  # probe not touching, or OL typed
_FALSE_VALUE = 0.002  # a value where there is no connection
_SLIP_SPAN = math.log(OPEN_ABOVE_OHM / 0.05)  # a slipped value may be anything, evenly by decades
_NEVER = -1e4


@dataclass(frozen=True)
class Evidence:
    """The readings as the engine uses them: one row per pair, the value that most readings of it agree on.

    ``column`` is the pair in the table, ``ohm`` its value (inf: open), ``times`` how many readings agree,
    ``range_ohm`` the hand-set range of an open reading (inf if none), ``probes_ohm`` those of the probes alone.
    """

    column: NDArray[np.intp]
    ohm: Array
    times: NDArray[np.intp]
    taken: NDArray[np.intp]
    range_ohm: Array
    probes_ohm: tuple[float, ...]


def _settled(values: Sequence[tuple[float, float]]) -> tuple[float, float, int]:
    """The readings of one pair that agree with the value believed: (mean ohm, range, how many)."""
    ohm = believed([value for value, _ in values])
    same = [value for value in values if agree(value[0], ohm)]
    if ohm < math.inf:
        return sum(value for value, _ in same) / len(same), math.inf, len(same)
    return ohm, max(reach for _, reach in same), len(same)


def evidence_from(table: Table, names: Sequence[str], readings: Sequence[Reading]) -> Evidence:
    """Sort the lead-to-lead and probe readings by pair; frame readings are not looked at here."""
    place = {name: k for k, name in enumerate(names)}
    by_pair: dict[int, list[tuple[float, float]]] = {}
    probes: list[float] = []
    for reading in readings:
        if reading.a in place and reading.b in place:
            ohm = reading.ohm if reading.ohm <= OPEN_ABOVE_OHM else math.inf
            reach = reading.range_ohm if reading.range_ohm and reading.ohm == math.inf else math.inf
            by_pair.setdefault(table.pair(place[reading.a], place[reading.b]), []).append((ohm, reach))
        elif reading.a == reading.b == PROBES and reading.ohm < math.inf:
            probes.append(reading.ohm)
    settled = [_settled(values) for values in by_pair.values()]
    held, _, agreeing = _settled([(ohm, math.inf) for ohm in probes]) if probes else (0.0, 0.0, 0)
    return Evidence(
        np.array(list(by_pair), dtype=np.intp),
        np.array([ohm for ohm, _, _ in settled], dtype=float),
        np.array([times for _, _, times in settled], dtype=np.intp),
        np.array([len(values) for values in by_pair.values()], dtype=np.intp),
        np.array([reach for _, reach, _ in settled], dtype=float),
        (held,) * agreeing,
    )


@dataclass(frozen=True)
class Fit:
    """For every case: its log likelihood, the scale and probes' resistance it implies (nan: not yet known), their
    standard deviations, and the probability that each reading is a slip."""

    log_likelihood: Array
    scale_ohm: Array
    scale_sd: Array
    probes_ohm: Array
    probes_sd: Array
    slip: Array


def _solve(a: Array, b: Array, c: Array, d: Array, e: Array, q: Array, log_weight: Array) -> tuple[Array, ...]:
    """Log evidence and estimate of y = ratio * scale + probes from weighted sums: a = sum w r r, b = sum w r,
    c = sum w, d = sum w r y, e = sum w y, q = sum w y y (the probes' prior included in c, e, q)."""
    known = a > 0
    determinant = np.where(known, a * c - b * b, 1.0)
    determinant = np.maximum(determinant, 1e-12 * np.maximum(a * c, 1e-300))
    scale = np.where(known, (c * d - b * e) / determinant, np.nan)
    probes = np.where(known, (a * e - b * d) / determinant, e / c)
    fit = np.where(known, d * np.nan_to_num(scale) + e * probes, e * e / c)
    lowest, highest = _SCALE_OHM
    inside = np.clip(np.nan_to_num(scale, nan=1.0), 0.1 * lowest, None)
    outside = np.maximum(np.log(lowest) - np.log(inside), 0) + np.maximum(np.log(inside) - np.log(highest), 0)
    log_prior = np.where(
        known, -np.log(inside) - math.log(math.log(highest / lowest)) - 0.5 * (outside / 0.3) ** 2, 0
    )
    normaliser = np.where(known, math.log(2 * math.pi) - 0.5 * np.log(determinant), 0.5 * np.log(2 * math.pi / c))
    below_zero = 0.5 * (np.minimum(probes, 0.0) / 0.05) ** 2
    log_evidence = log_weight - 0.5 * np.maximum(q - fit, 0) + normaliser + log_prior - below_zero
    return (
        log_evidence,
        scale,
        np.where(known, np.sqrt(c / determinant), np.nan),
        probes,
        np.where(known, np.sqrt(a / determinant), np.sqrt(1 / c)),
    )


def fit_to(table: Table, evidence: Evidence, meter: Meter) -> Fit:
    """Fit every case of the table. Cases alike on the measured pairs are fitted once."""
    seen = table.code[:, evidence.column]
    key = seen.astype(np.int64) @ COLUMN_MARKS[: seen.shape[1]]
    _, first, back = np.unique(key, return_index=True, return_inverse=True)
    fit = _fit_distinct(table, evidence, meter, seen[first])
    return Fit(*(getattr(fit, name)[back] for name in Fit.__dataclass_fields__))


def _fit_distinct(table: Table, evidence: Evidence, meter: Meter, code: NDArray[np.uint8]) -> Fit:
    ratio = table.ratio[code]
    conducts = code > 0
    finite = evidence.ohm < math.inf
    wrong_open = conducts & ~finite & (evidence.range_ohm == math.inf)
    wrong_value = ~conducts & finite
    times = evidence.times
    value_density = -np.log(np.where(finite, np.maximum(evidence.ohm, 0.05), 1.0)) - math.log(_SLIP_SPAN)
    log_mismatch = np.where(finite, times * math.log(_FALSE_VALUE) + value_density, times * math.log(_FALSE_OPEN))
    mismatch = wrong_open | wrong_value
    base = np.where(mismatch, log_mismatch, 0.0).sum(axis=1)

    used = conducts & finite
    y = np.where(finite, evidence.ohm, 0.0)
    noise = meter.noise_ohm(y) ** 2 / times + (_SPREAD * y) ** 2
    weight = np.where(used, 1 / (noise + (table.width[code] * y) ** 2), 0.0)
    r = np.where(used, np.where(conducts, ratio, 0.0), 0.0)
    log_weight = np.where(used, 0.5 * np.log(np.where(used, weight, 1.0) / (2 * math.pi)), 0.0)
    mean, sd = _PROBES_OHM
    if evidence.probes_ohm:
        sd = _MEASURED_PROBES_SD_OHM
    held = np.array([mean, *evidence.probes_ohm])
    # A reading of the probes alone also carries the session's offset and contact: no better than 0.03 ohm.
    held_weight = 1 / np.array([sd**2] + [float(meter.noise_ohm(np.array(ohm))) ** 2 + 0.03**2 for ohm in held[1:]])
    held_sums = held_weight.sum(), (held_weight * held).sum(), (held_weight * held**2).sum()
    held_log = 0.5 * np.log(held_weight / (2 * math.pi)).sum()
    parts = (weight * r * r, weight * r, weight, weight * r * y, weight * y, weight * y * y, log_weight)
    offsets = (0.0, 0.0, *held_sums[:1], 0.0, *held_sums[1:], held_log)
    totals = [part.sum(axis=1) + offset for part, offset in zip(parts, offsets, strict=True)]
    whole = _solve(*totals)
    # The same again without each reading in turn: that one slipped.
    without = _solve(*(total[:, None] - part for total, part in zip(totals, parts, strict=True)))
    log_slip = times * math.log(_VALUE_SLIP) + value_density
    slipped = np.where(used, without[0] + log_slip, _NEVER)
    stacked = np.concatenate([whole[0][:, None], slipped], axis=1)
    top = stacked.max(axis=1)
    share = np.exp(stacked - top[:, None])
    total = share.sum(axis=1)
    slip = np.where(mismatch, 1.0, share[:, 1:] / total[:, None])
    choice = np.argmax(stacked, axis=1)
    rows = np.arange(len(code))

    def best(index: int) -> Array:
        return np.asarray(np.concatenate([whole[index][:, None], without[index]], axis=1)[rows, choice])

    scale, scale_sd, probes, probes_sd = (best(index) for index in (1, 2, 3, 4))
    log_range = _beyond_range(conducts, ratio, evidence, scale, probes)
    return Fit(base + top + np.log(total) + log_range, scale, scale_sd, probes, probes_sd, slip)


def _beyond_range(
    conducts: NDArray[np.bool_], ratio: Array, evidence: Evidence, scale: Array, probes: Array
) -> Array:
    """Log probability that what conducts reads above the hand-set ranges on which it showed open."""
    if not np.any(np.isfinite(evidence.range_ohm)):
        return np.zeros(len(ratio))
    out_of_range = conducts & np.isfinite(evidence.range_ohm)
    reach = np.where(np.isfinite(evidence.range_ohm), evidence.range_ohm, 0.0)
    needed = np.where(out_of_range, reach / ratio, 0.0).max(axis=1)
    lowest, highest = _SCALE_OHM
    unknown = np.clip(np.log(highest / np.maximum(needed, lowest)) / math.log(highest / lowest), 1e-4, 1.0)
    margin = np.log(np.maximum(np.nan_to_num(scale, nan=1.0), 1e-3) / np.maximum(needed, 1e-3)) / 0.02
    known = 1 / (1 + np.exp(-np.clip(1.7 * margin, -700, 700)))
    floor = _FALSE_OPEN ** np.maximum(out_of_range.sum(axis=1), 1)
    return np.asarray(np.where(needed > 0, np.log(np.where(np.isnan(scale), unknown, known + floor)), 0.0))


def unlisted_log_likelihood(evidence: Evidence) -> float:
    """The same for a winding that is none of the catalogue's: any pair open or not, any value alike by decades."""
    finite = evidence.ohm < math.inf
    density = np.log(np.maximum(evidence.ohm[finite], 0.05)) + math.log(_SLIP_SPAN)
    return float(len(evidence.ohm) * math.log(0.5) - density.sum())
