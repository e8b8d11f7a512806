"""Which pair of leads to measure next: the one that is expected to save most readings."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from coilbench.winding.engine.hypotheses import Table
from coilbench.winding.engine.likelihood import Evidence, Fit
from coilbench.winding.engine.mixture import Value
from coilbench.winding.engine.templates import Template
from coilbench.winding.engine.verdict import TIE
from coilbench.winding.readings.meter import Meter

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

_CASES = 300  # most likely cases looked at; the rest is left to later readings
_LIKELY = 1e-4  # of the likeliest
_SAME_VALUE = 0.06  # predictions closer than this (log) can't be told apart
_READINGS_PER_NAT = 0.95  # what a nat of doubt costs in further readings
_MOVE_BOTH_PROBES = 0.02  # effort, in readings
_LOOKED_AHEAD = 6  # pairs whose next step is looked at too
_MOST_REPEATS = 4
_SAME_DIGITS = 2
_REPEATS_TO_SETTLE = 3
_SMALL = 0.01  # of the likeliest
_TOLD_APART = 0.3  # of the noise of a reading
_AGAIN = 0.1  # what makes a pair taken already less welcome than a new one, in readings, and at most
_AGAIN_OF_LEFT = 0.2  # of what is left to do: near the end only what tells most counts
_ANY_OHM = 1e6  # stands for what can't be foretold: a value like no other
_TELLS_NOTHING = 0.002  # doubt less reduced than this, in readings, is not worth one


@dataclass(frozen=True)
class Plan:
    """The next pair of lead numbers and the readings expected to be left, that one included."""

    pair: tuple[int, int]
    to_go: float


@lru_cache(maxsize=512)
def _fewest_proofs(crossed: tuple[int, ...], live: int, edges: int) -> NDArray[np.int8]:
    """Fewest readings that prove every live edge, for each set of edges already proved."""
    known = np.zeros(1 << edges, dtype=np.int8)
    for done in range((1 << edges) - 1, -1, -1):  # a reading only ever adds edges, so the fuller sets come first
        if live & ~done:
            known[done] = 1 + min(int(known[done | mask]) for mask in crossed if mask & ~done)
    return known


def proofs_left(template: Template) -> NDArray[np.int8]:
    """Fewest readings that prove the rest of the template's coils, by the mask of edges proved already."""
    masks = tuple(sorted({int(mask) for mask in template.crossed.ravel() if mask}))
    return _fewest_proofs(masks, template.live, len(template.edges))


def proved_mask(template: Template, perm: NDArray[np.uint8], table: Table, evidence: Evidence) -> int:
    """Edges that conducting readings have crossed, as a bit mask."""
    mask = 0
    for column, ohm in zip(evidence.column, evidence.ohm, strict=True):
        if ohm < math.inf:
            a, b = table.pairs[column]
            mask |= int(template.crossed[perm[a], perm[b]])
    return mask


def crossed_alone(
    table: Table, evidence: Evidence, template: Template, perm: NDArray[np.uint8], ends: tuple[int, int]
) -> list[tuple[int, int, int]]:
    """The conducting readings whose current stays within the coil between two terminals: (reading, terminals)."""
    coil = int(template.crossed[ends])
    found = []
    for k, (column, ohm) in enumerate(zip(evidence.column, evidence.ohm, strict=True)):
        a, b = (int(perm[lead]) for lead in table.pairs[column])
        mask = int(template.crossed[a, b])
        if ohm < math.inf and mask and mask & ~coil == 0:
            found.append((k, a, b))
    return found


def _classes(prediction: Array) -> NDArray[np.intp]:
    """Number predicted values so that those a meter can't separate share a number; open is 0."""
    flat = prediction.ravel()
    order = np.argsort(flat)
    with np.errstate(invalid="ignore"):
        jump = np.diff(np.log(np.maximum(flat[order], 1e-3))) > _SAME_VALUE
    result = np.empty(len(flat), dtype=np.intp)
    result[order] = np.r_[0, np.cumsum(jump)] + 1
    result[~np.isfinite(flat)] = 0
    return result.reshape(prediction.shape)


@dataclass(frozen=True)
class _View:
    """The likely cases: weight, the class each pair's reading falls in, edges proved and newly proved by each pair,
    and the proofs left for each set of proved edges."""

    weight: Array
    outcome: NDArray[np.intp]
    proved: NDArray[np.int64]
    crossed: NDArray[np.int64]
    left: NDArray[np.int8]

    def after(self, column: int, rows: Flags) -> _View:
        """What remains once ``column`` was measured and these cases fit its reading."""
        proved = self.proved | self.crossed[:, column]
        return _View(self.weight[rows], self.outcome[rows], proved[rows], self.crossed[rows], self.left[rows])

    def _proofs(self, proved: NDArray[np.int64]) -> Array:
        rows = np.arange(len(self.weight)).reshape(-1, *(1,) * (proved.ndim - 1))
        return np.asarray(self.left[rows, proved], dtype=float)

    def settled(self) -> float:
        """Expected readings left if no more are chosen for what they tell."""
        weight = self.weight / self.weight.sum()
        doubt = -(weight * np.log(weight)).sum()
        return float(weight @ self._proofs(self.proved) + _READINGS_PER_NAT * doubt)

    def cost(self) -> Array:
        """The same after each pair's reading, that reading not counted."""
        weight = self.weight / self.weight.sum()
        cost = weight @ self._proofs(self.proved[:, None] | self.crossed)
        doubt = np.zeros(self.outcome.shape[1])
        for number in np.flatnonzero(np.bincount(self.outcome.ravel())):
            share = weight @ (self.outcome == number)
            doubt += share * np.log(np.where(share > 0, share, 1.0))
        doubt -= (weight * np.log(weight)).sum()
        return np.asarray(cost + _READINGS_PER_NAT * np.maximum(doubt, 0))

    def two_ahead(self, column: int, free: Flags) -> float:
        """The same after ``column`` when the best pair follows each of its outcomes."""
        then = free.copy()
        then[column] = False
        expected = 0.0
        for number in np.flatnonzero(np.bincount(self.outcome[:, column])):
            part = self.after(column, self.outcome[:, column] == number)
            left = part.settled()
            if left > 0.05 and then.any():
                left = min(left, 1 + float(part.cost()[then].min()))
            expected += left * part.weight.sum() / self.weight.sum()
        return float(expected)


def _predicted(table: Table, fit: Fit, rows: NDArray[np.intp]) -> Array:
    """What each pair should read in these cases, in ohm; inf where it is open."""
    code = table.code[rows]
    scale = fit.scale_ohm[rows][:, None]
    known = np.isfinite(scale)
    # Until something has conducted the scale is unknown, and a value tells nothing but that it conducts.
    ratio = np.where(known, table.ratio[code], np.where(code > 0, 1.0, np.inf))
    return np.asarray(np.where(known, scale, 1.0) * ratio + fit.probes_ohm[rows][:, None])


def _view(table: Table, fit: Fit, posterior: Array, evidence: Evidence) -> _View:
    shorted = np.array([template.fault == "shorted-turns" for template in table.templates])
    weight = np.where(shorted[table.template], 0.0, posterior)
    if weight.sum() < 0.5 * posterior.sum():
        weight = posterior
    rows = np.argsort(-weight, kind="stable")[:_CASES]
    rows = rows[weight[rows] > _LIKELY * weight[rows[0]]]
    prediction = _predicted(table, fit, rows)
    code = table.code[rows]
    # What something else reads can't be foretold, but it reads the same again.
    again = np.full(len(table.pairs), _ANY_OHM)
    again[evidence.column] = np.where(np.isfinite(evidence.ohm), evidence.ohm, _ANY_OHM)
    prediction = np.where(table.ratio[code] < 0, again, prediction)
    first, second = (np.array(leads) for leads in zip(*table.pairs, strict=True))
    number = table.template[rows]
    perm = table.perm[rows]
    needed = np.flatnonzero(np.bincount(number))
    size = max(len(table.templates[k].edges) for k in needed)
    left = np.zeros((len(table.templates), 1 << size), dtype=np.int8)
    crossing = np.zeros((len(table.templates), table.leads, table.leads), dtype=np.int64)
    for k in needed:
        proofs = proofs_left(table.templates[k])
        left[k, : len(proofs)] = proofs
        crossing[k] = table.templates[k].crossed
    crossed = crossing[number[:, None], perm[:, first], perm[:, second]]
    conducting = evidence.column[np.isfinite(evidence.ohm)]
    proved = np.bitwise_or.reduce(crossed[:, conducting], axis=1)
    return _View(weight[rows], _classes(prediction), proved, crossed, left[number])


def next_pair(
    table: Table,
    fit: Fit,
    posterior: Array,
    evidence: Evidence,
    *,
    excluded: frozenset[int] = frozenset(),
    last: tuple[int, int] | None = None,
) -> Plan | None:
    """The pair with the least expected readings to the end, two steps ahead among the best few.

    A pair taken already is one of them where the likely cases differ on it: one of them calls its reading a slip.
    ``excluded`` are columns not to ask (skipped by the person); ``last`` the leads the probes are on. None when no
    pair is left that could tell anything.
    """
    free = np.ones(len(table.pairs), dtype=bool)
    free[evidence.column[evidence.taken >= _MOST_REPEATS]] = False
    free[evidence.column[[_settled(values) for values in evidence.values]]] = False
    free[list(excluded)] = False
    view = _view(table, fit, posterior, evidence)
    taken = np.zeros(len(table.pairs))
    taken[evidence.column] = evidence.taken
    cost, left = view.cost(), view.settled()
    told = cost < left - _TELLS_NOTHING
    free &= (taken == 0) | told
    if not free.any():
        return None
    moved = np.array([last is not None and not set(pair) & set(last) for pair in table.pairs])
    effort = _MOVE_BOTH_PROBES * moved + min(_AGAIN, _AGAIN_OF_LEFT * left) * taken
    near = np.where(free, np.round(cost + effort, TIE), math.inf)
    columns = [int(column) for column in np.argsort(near, kind="stable")[:_LOOKED_AHEAD] if near[column] < math.inf]
    far = {column: view.two_ahead(column, free) for column in columns}
    best = min(columns, key=lambda column: round(float(far[column] + effort[column]), TIE))
    return Plan(table.pairs[best], 1 + far[best])


def _settled(values: Sequence[Value]) -> bool:
    """Whether the same digits were read so often that once more tells nothing: rounding comes out the same again."""
    return max(Counter(ohm for ohm, _, _ in values if ohm < math.inf).values(), default=0) >= _SAME_DIGITS


def least_settled(
    table: Table, fit: Fit, posterior: Array, evidence: Evidence, meter: Meter, excluded: frozenset[int]
) -> Plan | None:
    """The pair read already on whose value the likely cases differ most beside the meter's own noise.

    Of the least ohms a display tells so little that only the same reading again helps. None where they differ by too
    little for that, or all have been repeated.
    """
    rows = np.argsort(-posterior, kind="stable")[:_CASES]
    rows = rows[posterior[rows] > _SMALL * posterior[rows[0]]]
    columns = [
        k
        for k, taken in enumerate(evidence.taken)
        if taken < _REPEATS_TO_SETTLE and int(evidence.column[k]) not in excluded and evidence.ohm[k] < math.inf
    ]
    if not columns:
        return None
    ohm = _predicted(table, fit, rows)[:, evidence.column[columns]]
    weight = np.where(np.isfinite(ohm), posterior[rows][:, None], 0.0)
    ohm = np.where(np.isfinite(ohm), ohm, 0.0)
    total = np.maximum(weight.sum(axis=0), 1e-12)
    mean = (weight * ohm).sum(axis=0) / total
    apart = np.sqrt((weight * (ohm - mean) ** 2).sum(axis=0) / total) / meter.noise_ohm(evidence.ohm[columns])
    apart /= evidence.taken[columns]
    best = int(np.argmax(np.round(apart, TIE)))
    if apart[best] < _TOLD_APART:
        return None
    return Plan(table.pairs[evidence.column[columns[best]]], 1.0)
