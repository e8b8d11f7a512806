"""More than eight leads: which leads are joined to one another at all, before any coil is named.

With so many leads the assignments are too many to list one by one. The joined sets are compared first, exactly,
over every way to part the leads into sets of the usual sizes; the inside of each set is then judged like a motor
of its own.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

Sizes = tuple[int, ...]

# How common, by the sizes of the joined sets (1: a lead joined to nothing). Five coils for ten leads is common
# practice; the rest, mostly two motors in one loom, are guesses.
_PRIOR: dict[int, dict[Sizes, float]] = {
    9: {
        (2, 2, 2, 2, 1): 0.60,
        (5, 2, 2): 0.17,
        (3, 3, 3): 0.05,
        (3, 3, 1, 1, 1): 0.10,
        (5, 1, 1, 1, 1): 0.06,
        (2, 2, 1, 1, 1, 1, 1): 0.02,
    },
    10: {
        (2, 2, 2, 2, 2): 0.85,
        (5, 5): 0.05,
        (3, 3, 2, 2): 0.07,
        (3, 3, 1, 1, 1, 1): 0.02,
        (2, 2, 1, 1, 1, 1, 1, 1): 0.03,
    },
    11: {(5, 3, 3): 0.50, (2, 2, 2, 2, 2, 1): 0.40, (2, 2, 2, 2, 1, 1, 1): 0.10},
    12: {
        (3, 3, 3, 3): 0.45,
        (2, 2, 2, 2, 2, 2): 0.35,
        (2, 2, 2, 2, 2, 1, 1): 0.10,
        (5, 5, 1, 1): 0.05,
        (3, 3, 2, 2, 1, 1): 0.05,
    },
}
_DEAD = 0.02  # a set that has lost a coil or half
_FEW_PIECES = 9  # with more, only the first piece is looked at for the next pair
UNLISTED_SIZES = 0.01  # other sizes than these: what looking at the usual sizes alone neglects


@lru_cache(maxsize=8)
def size_prior(leads: int) -> dict[Sizes, float]:
    """Prior of each way to part so many leads by size, single dead coils included."""
    prior: dict[Sizes, float] = {}
    for sizes, share in _PRIOR[leads].items():
        left = share
        for size, count in Counter(sizes).items():
            if size in (2, 3):
                broken = list(sizes)
                broken.remove(size)
                sizes_left = tuple(sorted((*broken, size - 1, 1), reverse=True))
                prior[sizes_left] = prior.get(sizes_left, 0.0) + share * _DEAD * count
                left -= share * _DEAD * count
        prior[sizes] = prior.get(sizes, 0.0) + left
    return prior


def _ways(leads: int, sizes: Sizes) -> float:
    """Number of ways to part the leads into sets of these sizes."""
    ways = math.factorial(leads)
    for size in sizes:
        ways //= math.factorial(size)
    for count in Counter(sizes).values():
        ways //= math.factorial(count)
    return ways


@dataclass(frozen=True)
class Partition:
    """The likeliest joined sets (of lead numbers) with their probability, and the pair of leads to measure next:
    the one whose outcome is least foreseeable, with the probability that it conducts. ``mass`` is the prior of all
    partings that agree with the readings."""

    sets: tuple[tuple[int, ...], ...]
    probability: float
    next_pair: tuple[int, int] | None
    next_conducts: float
    mass: float


class _Count:
    """Sums and maxima over all ways to complete the pieces into sets of the given sizes."""

    def __init__(self, weights: Sequence[int], apart: Sequence[int]) -> None:
        self.weights = weights
        self.apart = apart  # for each piece, mask of the pieces known to be separate from it
        self.sums: dict[tuple[int, Sizes], float] = {}
        self.bests: dict[tuple[int, Sizes], int] = {}

    def blocks(self, mask: int, sizes: Sizes) -> list[tuple[int, Sizes]]:
        """Sets that may hold the lowest piece of ``mask``, each with the sizes left."""
        low = (mask & -mask).bit_length() - 1
        others = [k for k in range(low + 1, len(self.weights)) if mask >> k & 1 and not self.apart[low] >> k & 1]
        found = []
        for size in dict.fromkeys(sizes):
            need = size - self.weights[low]
            if need < 0:
                continue
            rest = list(sizes)
            rest.remove(size)
            for chosen in self._fill(others, need):
                found.append((chosen | 1 << low, tuple(rest)))
        return found

    def _fill(self, others: list[int], need: int) -> list[int]:
        if need == 0:
            return [0]
        found = []
        for count in range(1, need + 1):
            for group in combinations(others, count):
                if sum(self.weights[k] for k in group) != need:
                    continue
                mask = sum(1 << k for k in group)
                if not any(self.apart[k] & mask for k in group):
                    found.append(mask)
        return found

    def ways(self, mask: int, sizes: Sizes) -> float:
        """Number of ways to part the pieces in ``mask``."""
        if not mask:
            return 1.0 if not sizes else 0.0
        key = (mask, sizes)
        if key not in self.sums:
            self.sums[key] = sum(self.ways(mask & ~block, rest) for block, rest in self.blocks(mask, sizes))
        return self.sums[key]

    def example(self, mask: int, sizes: Sizes) -> list[int]:
        """One way to part the pieces, as masks (all are equally likely); needs ``ways`` above zero."""
        found = []
        while mask:
            block, sizes = next(
                (block, rest) for block, rest in self.blocks(mask, sizes) if self.ways(mask & ~block, rest) > 0
            )
            found.append(block)
            mask &= ~block
        return found


def likeliest_partition(
    leads: int, joined: Sequence[tuple[int, int]], separate: Sequence[tuple[int, int]]
) -> Partition | None:
    """Compare all ways to part ``leads`` leads, given pairs that conduct and pairs that don't.

    None when the readings contradict one another or fit no usual sizes.
    """
    label = list(range(leads))
    for a, b in joined:
        label = [label[a] if mark == label[b] else mark for mark in label]
    pieces = [tuple(k for k in range(leads) if label[k] == mark) for mark in dict.fromkeys(label)]
    place = {lead: k for k, piece in enumerate(pieces) for lead in piece}
    if any(place[a] == place[b] for a, b in separate):
        return None
    known = Counter(place[lead] for pair in separate for lead in pair)
    cut = {tuple(sorted((place[a], place[b]))) for a, b in separate}
    # The piece that most is known of is the cheapest to finish.
    order = sorted(range(len(pieces)), key=lambda k: (-known[k], -len(pieces[k]), k))
    best: Partition | None = None
    for focus in order[: 1 if len(pieces) > _FEW_PIECES else None]:
        turned = [focus, *(k for k in order if k != focus)]
        counted = _counted(leads, [pieces[k] for k in turned], [(turned.index(a), turned.index(b)) for a, b in cut])
        if counted is None:
            return None
        if best is None or abs(counted.next_conducts - 0.5) < abs(best.next_conducts - 0.5) - 1e-9:
            best = counted
    return best


def _counted(leads: int, pieces: list[tuple[int, ...]], cut: list[tuple[int, int]]) -> Partition | None:
    apart = [0] * len(pieces)
    for a, b in cut:
        apart[a] |= 1 << b
        apart[b] |= 1 << a
    count = _Count([len(piece) for piece in pieces], apart)
    everything = (1 << len(pieces)) - 1
    share = {sizes: prior / _ways(leads, sizes) for sizes, prior in size_prior(leads).items()}
    total = 0.0
    possible: list[Sizes] = []
    belongs = [0.0] * len(pieces)
    for sizes, each in share.items():
        for block, rest in count.blocks(everything, sizes):
            mass = each * count.ways(everything & ~block, rest)
            total += mass
            for k in range(len(pieces)):
                belongs[k] += mass * (block >> k & 1)
        if count.ways(everything, sizes) > 0:
            possible.append(sizes)
    if total <= 0:
        return None
    likeliest = max(possible, key=lambda sizes: share[sizes])
    masks = count.example(everything, likeliest)
    sets = tuple(
        tuple(sorted(lead for k, piece in enumerate(pieces) if mask >> k & 1 for lead in piece)) for mask in masks
    )
    probability = share[likeliest] / total
    open_to = [k for k in range(1, len(pieces)) if not apart[0] >> k & 1]
    if not open_to:
        return Partition(tuple(sorted(sets)), probability, None, 0.0, total)
    other = min(open_to, key=lambda k: abs(belongs[k] / total - 0.5))
    return Partition(
        tuple(sorted(sets)), probability, (pieces[0][0], pieces[other][0]), belongs[other] / total, total
    )
