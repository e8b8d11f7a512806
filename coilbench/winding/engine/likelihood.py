"""How well each case explains the readings.

Given the resistance of one coil and of the probes, the readings of different pairs are independent of one another. So
both are laid on a grid, dense where the readings point to and thin elsewhere, and each reading's density is a mixture
there: the meter and the winding at their usual, a bad contact, or a slip of the hand (see ``mixture``). A case's
likelihood is the sum over the grid of the product over the pairs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coilbench.winding.engine.grid import Grid, grid_for
from coilbench.winding.engine.hypotheses import COLUMN_MARKS, Table
from coilbench.winding.engine.mixture import Mixture, Value, broad_log_density, finest, middle, same_again
from coilbench.winding.readings.meter import Meter
from coilbench.winding.readings.reading import PROBES, Reading
from coilbench.winding.readings.repeats import OPEN_ABOVE_OHM, agree, believed

Array = NDArray[np.float64]
Single = NDArray[np.float32]

_HOPELESS = 25.0  # nats that a case may lie behind by open and conducting alone and still be looked at
_LIKELY = 9.0  # nats behind the best up to which slips are looked for
_NEVER = -1e3
_LEAST_SHARE = -40.0  # log; no point of the grid weighs less beside the heaviest: the least numbers are slow
_OUT_OF_REACH = 20.0  # nats behind the likeliest from which a case weighs nothing
_LOOKED_AT = 16.0  # nats behind the likeliest up to which a case's scale is asked for
_LOG_SLIP = math.log(0.02)


@dataclass(frozen=True)
class Evidence:
    """The readings as the engine uses them: one row per pair, the value that most readings of it agree on.

    ``column`` is the pair in the table, ``ohm`` its value (inf: open), ``times`` how many readings agree and
    ``taken`` how many there are, ``range_ohm`` the hand-set range of an open reading (inf if none), ``meters`` the
    finest that the value was read with, ``probes_ohm`` the readings of the probes alone; ``values`` are all readings
    of each pair as (ohm, range, meter).
    """

    column: NDArray[np.intp]
    ohm: Array
    times: NDArray[np.intp]
    taken: NDArray[np.intp]
    range_ohm: Array
    meters: tuple[Meter, ...]
    probes_ohm: tuple[float, ...]
    values: tuple[tuple[Value, ...], ...]


def _settled(values: Sequence[Value]) -> tuple[float, float, int, Meter]:
    """The readings of one pair that agree with the value believed: (mean ohm, range, how many, meter)."""
    ohm = believed([value[0] for value in values])
    same = [value for value in values if agree(value[0], ohm)]
    if ohm < math.inf:
        fine = finest(same)
        return sum(value[0] for value in fine) / len(fine), math.inf, len(same), fine[0][2]
    return ohm, max(reach for _, reach, _ in same), len(same), same[0][2]


def evidence_from(table: Table, names: Sequence[str], readings: Sequence[Reading], meter: Meter) -> Evidence:
    """Sort the lead-to-lead and probe readings by pair; frame readings are not looked at here."""
    place = {name: k for k, name in enumerate(names)}
    by_pair: dict[int, list[Value]] = {}
    probes: list[float] = []
    for reading in readings:
        if reading.a in place and reading.b in place:
            ohm = reading.ohm if reading.ohm <= OPEN_ABOVE_OHM else math.inf
            reach = reading.range_ohm if reading.range_ohm and reading.ohm == math.inf else math.inf
            by_pair.setdefault(table.pair(place[reading.a], place[reading.b]), []).append(
                (ohm, reach, reading.meter or meter)
            )
        elif reading.a == reading.b == PROBES and reading.ohm < math.inf:
            probes.append(reading.ohm)
    settled = [_settled(values) for values in by_pair.values()]
    held, _, agreeing, _ = _settled([(ohm, math.inf, meter) for ohm in probes]) if probes else (0.0, 0.0, 0, meter)
    return Evidence(
        np.array(list(by_pair), dtype=np.intp),
        np.array([ohm for ohm, _, _, _ in settled], dtype=float),
        np.array([times for _, _, times, _ in settled], dtype=np.intp),
        np.array([len(values) for values in by_pair.values()], dtype=np.intp),
        np.array([reach for _, reach, _, _ in settled], dtype=float),
        tuple(each for _, _, _, each in settled),
        (held,) * agreeing,
        tuple(tuple(values) for values in by_pair.values()),
    )


@dataclass(frozen=True)
class Fit:
    """For every case: its log likelihood, the scale and probes' resistance it implies (nan: not yet known), their
    standard deviations, and, for likely cases, the probability that each pair's reading is a slip."""

    log_likelihood: Array
    scale_ohm: Array
    scale_sd: Array
    probes_ohm: Array
    probes_sd: Array
    slip: Array


def fit_to(table: Table, evidence: Evidence, meter: Meter) -> Fit:
    """Fit every case of the table. Cases alike on the measured pairs are fitted once."""
    seen = table.code[:, evidence.column] + table.home[:, None] * len(table.ratio)
    seen = np.column_stack([seen, table.home])
    key = seen.astype(np.int64) @ COLUMN_MARKS[: seen.shape[1]]
    _, first, back = np.unique(key, return_index=True, return_inverse=True)
    grid = grid_for(evidence.ohm, evidence.probes_ohm, meter)
    log_prior = np.full(len(first), -np.inf)
    np.maximum.at(log_prior, back, table.log_prior)
    fit = _fit_distinct(table, evidence, Mixture(grid), seen[first, :-1], log_prior)
    return Fit(*(getattr(fit, name)[back] for name in Fit.__dataclass_fields__))


def _fit_distinct(
    table: Table, evidence: Evidence, mixture: Mixture, mark: NDArray[np.intp], log_prior: Array
) -> Fit:
    """``mark`` (cases, pairs) is the code of each pair, and above it what is at home on such a motor."""
    kinds = len(table.ratio)
    code = mark % kinds
    grid: Grid = mixture.grid
    finite = evidence.ohm < math.inf
    conducts = code > 0
    against = ((conducts != finite) * evidence.times).sum(axis=1) * -_LOG_SLIP - log_prior
    alive = np.flatnonzero(against <= against.min() + _HOPELESS)
    tables, places, slips_of = [], [], []
    for k, values in enumerate(evidence.values):
        marks, place = _numbered(mark[alive, k])
        codes, homes = marks % kinds, [table.homes[number] for number in marks // kinds]
        others = np.delete(evidence.ohm, k)
        others = others[others < math.inf]
        log_density, slip = mixture.of_pair(values, table.ratio[codes], table.width[codes], homes, others.tolist())
        tables.append(log_density.astype(np.float32))
        places.append(place)
        slips_of.append(slip)
    total = _total(grid.log_weight.astype(np.float32), tables, places, mark[alive])
    top = total.max(axis=1)
    most = top + log_prior[alive] + math.log(len(grid.scale))
    kept = np.flatnonzero(most > most.max() - math.log(len(grid.scale)) - _OUT_OF_REACH)
    alive, total, top = alive[kept], total[kept], top[kept]
    share = np.exp(np.maximum(total - top[:, None], _LEAST_SHARE))
    mass = share.sum(axis=1)
    log_likelihood = np.full(len(code), _NEVER)
    log_likelihood[alive] = top + np.log(mass)
    posterior = log_likelihood[alive] + log_prior[alive]
    near = np.flatnonzero(posterior > posterior.max() - _LOOKED_AT)
    kept, alive, posterior = kept[near], alive[near], posterior[near]
    share = share[near] / mass[near, None]

    def moments(values: Array) -> tuple[Array, Array]:
        # A product so small is only slower on several processors, which einsum leaves alone.
        about = (values - values[0]).astype(np.float32)
        mean = np.einsum("cg,g->c", share, about).astype(float)
        square = np.einsum("cg,g->c", share, about**2).astype(float)
        return mean + values[0], np.sqrt(np.maximum(square - mean**2, 0.0))

    used = (conducts & finite)[alive].any(axis=1)
    log_scale, log_scale_sd = moments(np.log(grid.scale))
    scale, scale_sd, probes, probes_sd = (np.full(len(code), np.nan) for _ in range(4))
    scale[alive] = np.where(used, np.exp(log_scale), np.nan)
    scale_sd[alive] = np.where(used, np.exp(log_scale) * log_scale_sd, np.nan)
    probes[alive], probes_sd[alive] = moments(grid.probes)
    slips = np.zeros(code.shape)
    likely = np.flatnonzero(posterior > posterior.max() - _LIKELY)
    for k, (place, slip) in enumerate(zip(places, slips_of, strict=True)):
        slips[alive[likely], k] = (share[likely] * slip[place[kept[likely]]]).sum(axis=1)
    return Fit(log_likelihood, scale, scale_sd, probes, probes_sd, slips)


def _numbered(column: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The marks in a column, in ascending order, and for each entry which of them it is."""
    count = np.bincount(column)
    marks = np.flatnonzero(count)
    number = np.zeros(len(count), dtype=np.intp)
    number[marks] = np.arange(len(marks))
    return marks, number[column]


def _total(
    log_weight: Single, tables: Sequence[Single], places: Sequence[NDArray[np.intp]], mark: NDArray[np.intp]
) -> Single:
    """Log density of all readings at each point of the grid: (cases, points).

    Many cases agree on the first half of the readings, many on the second: each half is added up once.
    """
    half = len(tables) // 2
    parts = []
    for columns in (range(half), range(half, len(tables))):
        key = mark[:, columns.start : columns.stop].astype(np.int64) @ COLUMN_MARKS[: len(columns)]
        _, first, back = np.unique(key, return_index=True, return_inverse=True)
        part = np.zeros((len(first), len(log_weight)), dtype=np.float32)
        for k in columns:
            part += tables[k][places[k][first]]
        parts.append((part, back))
    (early, of_early), (late, of_late) = parts
    total = (early + log_weight)[of_early]
    total += late[of_late]
    return np.asarray(total)


def unlisted_log_likelihood(evidence: Evidence) -> float:
    """The same for a winding that is none of the catalogue's: any pair open or not, any value alike by decades.

    Readings of one pair agree with one another there, too, or are slips.
    """
    total = len(evidence.ohm) * math.log(0.5)
    for held, values in zip(evidence.ohm, evidence.values, strict=True):
        usual = middle([value for value in values if agree(value[0], held)])[0]  # as for the windings listed
        first = True
        for ohm, _, meter in values:
            if not agree(ohm, held):
                total += _LOG_SLIP
                first_of_its_kind = True
            else:
                first_of_its_kind, first = first, False
            if ohm < math.inf and first_of_its_kind:
                total += float(broad_log_density(np.array(ohm)))
            elif ohm < math.inf:
                total += same_again(ohm, usual, meter)
    return total
