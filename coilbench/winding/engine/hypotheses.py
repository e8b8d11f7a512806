"""Every way the leads may be wired: each template of the catalogue under each distinct assignment of leads.

A hypothesis is a template and an assignment (which terminal each lead is). Two hypotheses with the same resistance
between every two leads are electrically one case: no meter tells them apart. They are kept as one row here, named
after the likelier of them, and the others can be looked up.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from coilbench.winding.engine.catalogue import Arrangement, Catalogue
from coilbench.winding.engine.symmetry import distinct_assignments
from coilbench.winding.engine.templates import (
    Template,
    beside_others,
    healthy,
    nothing_conducts,
    two_motors,
    unlike_windings,
    with_faults,
)

EXACT_LEADS = 8  # up to here every assignment is listed
_RARE = 0.05  # of a motor with many leads, an arrangement less likely than this is looked for without faults only
_MANY_LEADS = 7
_EVENED = 0.75  # exponent by which priors of arrangements are evened where care is asked for
# What else comes out of the same hole, by number of leads: the motor, the leads of each other thing, how often; all
# guesses. Two leads are a thermistor, a brake coil or another coil, three a sensor.
_BESIDE = {
    6: (("bipolar-4", (2,), 0.02),),
    7: (("bipolar-4", (3,), 0.02), ("unipolar-5", (2,), 0.02)),
    8: (("unipolar-6", (2,), 0.02), ("unipolar-5", (3,), 0.01)),
}
_FOUR_COILS, _TWO_MOTORS = 8, 0.004
_FAN_LEADS, _FAN = 4, 0.005  # a fan's common, start and two speeds; a guess
_RAREST = 0.01  # rarer ones are not lifted further

Home = tuple[tuple[float, float], ...]

# Random weights turn a row of codes into one number; two rows meet by chance about once in 10^11 tables.
COLUMN_MARKS = np.random.default_rng(60757).integers(1, 2**62, size=128, dtype=np.int64)


@dataclass(frozen=True)
class Table:
    """All distinct cases for one number of leads.

    ``code`` (cases, pairs) points into ``ratio``/``width``: the resistance of that pair in coil units (code 0: open;
    below 0: any value, of something that has so many leads) and how vaguely it is known. ``perm`` (cases, leads) is
    the terminal of each lead. ``group`` marks cases that give the leads the same names, whether or not a coil has
    shorted turns. ``home`` points into ``homes``: the resistances between two leads that such a motor has, in units,
    each with its share. ``log_careful`` is the prior of somebody who has been told that any arrangement may lie on
    the bench: rare ones are hardly rarer than the rest.
    """

    leads: int
    pairs: tuple[tuple[int, int], ...]
    templates: tuple[Template, ...]
    ratio: NDArray[np.float64]
    width: NDArray[np.float64]
    code: NDArray[np.uint8]
    template: NDArray[np.intp]
    perm: NDArray[np.uint8]
    log_prior: NDArray[np.float64]
    log_careful: NDArray[np.float64]
    group: NDArray[np.intp]
    home: NDArray[np.intp]
    homes: tuple[Home, ...]
    twins: dict[int, list[tuple[int, NDArray[np.uint8], float]]] = field(default_factory=dict)

    def pair(self, a: int, b: int) -> int:
        """Column of a pair of leads."""
        low, high = sorted((a, b))
        return low * self.leads - low * (low + 1) // 2 + high - low - 1


class _Codes:
    """Numbers the distinct (ratio, width) values; 0 is open."""

    def __init__(self) -> None:
        self.known: dict[tuple[float, float], int] = {(np.inf, 0.0): 0}

    def of(self, template: Template) -> NDArray[np.uint8]:
        size = template.terminals
        code = np.zeros((size, size), dtype=np.uint8)
        for a, b in combinations(range(size), 2):
            ratio = round(float(template.ratio[a, b]), 6)
            if leads := template.strange(a, b):
                ratio = float(-leads)  # any value will do
            shorted = template.fault_width > 0 and template.crossed[a, b] >> template.fault_edge & 1
            width = round(template.fault_width / template.unit / ratio, 4) if shorted and 0 < ratio < np.inf else 0.0
            number = self.known.setdefault((ratio if ratio < np.inf else np.inf, width), len(self.known))
            code[a, b] = code[b, a] = number
        return code


def build_table(leads: int, templates: list[Template]) -> Table:
    """List every distinct assignment of each template; equal cases are merged, their priors added."""
    pairs = tuple(combinations(range(leads), 2))
    first = np.array([a for a, _ in pairs])
    second = np.array([b for _, b in pairs])
    marks = COLUMN_MARKS[: len(pairs)]
    codes = _Codes()
    blocks = []
    for place, template in enumerate(templates):
        code = codes.of(template)
        perm = distinct_assignments(code)
        by_pair = code[perm[:, first], perm[:, second]]
        key = by_pair.astype(np.int64) @ marks
        name = key
        if template.same_names or template.several_motors:
            plain = codes.of(healthy(template.arrangement, leads, 0.0))
            name = plain[perm[:, first], perm[:, second]].astype(np.int64) @ marks + template.several_motors
        blocks.append((key, np.full(len(perm), place), by_pair, perm, name))
    key, number, by_pair, perm, name = (np.concatenate(parts) for parts in zip(*blocks, strict=True))
    prior = np.concatenate([np.full(len(b[0]), t.prior / len(b[0])) for t, b in zip(templates, blocks, strict=True)])
    order = np.lexsort((-prior, key))
    key, number, prior = key[order], number[order], prior[order]
    by_pair, perm, name = by_pair[order], perm[order], name[order]
    heads = np.flatnonzero(np.r_[True, key[1:] != key[:-1]])
    total = np.add.reduceat(prior, heads)
    twins: dict[int, list[tuple[int, NDArray[np.uint8], float]]] = {}
    sizes = np.diff(np.r_[heads, len(key)])
    for row in np.flatnonzero(sizes > 1):
        members = range(heads[row], heads[row] + sizes[row])
        twins[int(row)] = [(int(number[k]), perm[k], float(prior[k] / total[row])) for k in members]
    known = np.array(list(codes.known))
    home_of = [_home(template.arrangement) for template in templates]
    homes = tuple(sorted(set(home_of)))
    return Table(
        leads,
        pairs,
        tuple(templates),
        known[:, 0],
        known[:, 1],
        np.ascontiguousarray(by_pair[heads]),
        number[heads],
        perm[heads],
        np.log(total / total.sum()),
        _careful(np.log(total / total.sum()), number[heads], templates),
        np.unique(name[heads], return_inverse=True)[1],
        np.array([homes.index(home) for home in home_of])[number[heads]],
        homes,
        twins,
    )


@lru_cache(maxsize=64)
def _home(arrangement: Arrangement) -> Home:
    """The resistances between two leads of a sound motor, in units, each with its share of all pairs."""
    ratio = healthy(arrangement, arrangement.terminals, 0.0).ratio if arrangement.edges else np.ones((2, 2))
    between = ratio[np.triu_indices(len(ratio), 1)].round(2)
    units, count = np.unique(between[np.isfinite(between)], return_counts=True)
    return tuple(zip(units.tolist(), (count / len(between)).round(3).tolist(), strict=True))


def _careful(
    log_prior: NDArray[np.float64], number: NDArray[np.intp], templates: list[Template]
) -> NDArray[np.float64]:
    """The prior with what makes one arrangement commoner than another mostly taken out."""
    common: dict[Arrangement, float] = {}
    for template in templates:
        common[template.arrangement] = common.get(template.arrangement, 0.0) + template.prior
    evened = [_EVENED * np.log(max(common[template.arrangement], _RAREST)) for template in templates]
    return np.asarray(log_prior - np.array(evened)[number])


@lru_cache(maxsize=16)
def table_for(leads: int, catalogue: Catalogue) -> Table:
    """The table of all cases for two to eight leads (built once)."""
    templates = [nothing_conducts(leads)]
    for arrangement, prior in catalogue.prior(leads).items():
        sound = healthy(arrangement, leads, prior)
        templates += [sound] if prior < _RARE and leads >= _MANY_LEADS else with_faults(sound)
    for name, sizes, prior in _BESIDE.get(leads, ()):
        if any(arrangement.name == name for arrangement in catalogue):
            templates.append(beside_others(healthy(catalogue[name], leads, 0.0), sizes, prior))
    if leads == _FOUR_COILS and any(arrangement.name == "split-8" for arrangement in catalogue):
        templates.append(two_motors(healthy(catalogue["split-8"], leads, 0.0), _TWO_MOTORS))
    if leads == _FAN_LEADS:
        templates.append(unlike_windings(leads, _FAN))
    return build_table(leads, templates)
