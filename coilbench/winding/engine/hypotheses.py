"""Every way the leads may be wired: each template of the catalogue under each distinct assignment of leads.

A hypothesis is a template and an assignment (which terminal each lead is). Two hypotheses with the same resistance
between every two leads are electrically one case: no meter tells them apart. They are kept as one row here, named
after the likelier of them, and the others can be looked up.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from itertools import combinations, permutations

import numpy as np
from numpy.typing import NDArray

from coilbench.winding.engine.arrangements import PRIOR, Template, healthy, nothing_conducts, with_faults

EXACT_LEADS = 8  # up to here every assignment is listed

# Random weights turn a row of codes into one number; two rows meet by chance about once in 10^11 tables.
COLUMN_MARKS = np.random.default_rng(60757).integers(1, 2**62, size=128, dtype=np.int64)


@dataclass(frozen=True)
class Table:
    """All distinct cases for one number of leads.

    ``code`` (cases, pairs) points into ``ratio``/``width``: the resistance of that pair in coil units (code 0:
    open) and how vaguely it is known. ``perm`` (cases, leads) is the terminal of each lead. ``group`` marks cases
    that give the leads the same names, whether or not a coil has shorted turns.
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
    group: NDArray[np.intp]
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
            shorted = template.fault_width > 0 and template.crossed[a, b] >> template.fault_edge & 1
            width = round(template.fault_width / template.unit / ratio, 4) if shorted and ratio < np.inf else 0.0
            number = self.known.setdefault((ratio if ratio < np.inf else np.inf, width), len(self.known))
            code[a, b] = code[b, a] = number
        return code


def _signature(code: NDArray[np.uint8]) -> tuple[tuple[int, ...], ...]:
    """The same for templates that are one another's relabelling (small networks: sorted rows settle it)."""
    return tuple(sorted(tuple(sorted(row.tolist())) for row in code))


@lru_cache(maxsize=8)
def _assignments(leads: int) -> NDArray[np.uint8]:
    return np.array(list(permutations(range(leads))), dtype=np.uint8)


def build_table(leads: int, templates: list[Template]) -> Table:
    """List every distinct assignment of each template; equal cases are merged, their priors added."""
    pairs = tuple(combinations(range(leads), 2))
    first = np.array([a for a, _ in pairs])
    second = np.array([b for _, b in pairs])
    marks = COLUMN_MARKS[: len(pairs)]
    perms = _assignments(leads)
    codes = _Codes()
    kept: dict[tuple[object, ...], int] = {}
    chosen: list[Template] = []
    share: list[float] = []
    blocks = []
    for template in templates:
        code = codes.of(template)
        sound = template.fault_edge is not None and template.fault_width > 0
        twin = kept.setdefault((template.arrangement, template.fault, _signature(code)), len(chosen))
        if twin < len(chosen):
            share[twin] += template.prior
            continue
        by_pair = code[perms[:, first], perms[:, second]]
        key = by_pair.astype(np.int64) @ marks
        distinct, where = np.unique(key, return_index=True)
        name_key = distinct
        if sound:
            plain = codes.of(healthy(template.arrangement, leads, 0.0))
            name_key = plain[perms[where][:, first], perms[where][:, second]].astype(np.int64) @ marks
        blocks.append((len(chosen), distinct, by_pair[where], perms[where], name_key))
        chosen.append(template)
        share.append(template.prior)
    number = np.concatenate([np.full(len(key), k) for k, key, *_ in blocks])
    key = np.concatenate([block[1] for block in blocks])
    by_pair = np.concatenate([block[2] for block in blocks])
    perm = np.concatenate([block[3] for block in blocks])
    name = np.concatenate([block[4] for block in blocks])
    prior = np.concatenate([np.full(len(block[1]), share[block[0]] / len(block[1])) for block in blocks])
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
    return Table(
        leads,
        pairs,
        tuple(chosen),
        known[:, 0],
        known[:, 1],
        np.ascontiguousarray(by_pair[heads]),
        number[heads],
        perm[heads],
        np.log(total / total.sum()),
        np.unique(name[heads], return_inverse=True)[1],
        twins,
    )


@lru_cache(maxsize=8)
def table_for(leads: int) -> Table:
    """The table of all cases for two to eight leads (built once)."""
    templates = [nothing_conducts(leads)]
    for name, prior in PRIOR[leads].items():
        sound = healthy(name, leads, prior)
        rare = prior < 0.05 and leads > 6
        templates += [sound] if rare else with_faults(sound)
    return build_table(leads, templates)
