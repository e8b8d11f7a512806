"""Which leads of a loom are joined, when one of the readings may be a slip."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from coilbench.winding.engine.partition import UNLISTED_SIZES, Partition, likeliest_partition
from coilbench.winding.engine.verdict import NAMED_FROM, TIE
from coilbench.winding.readings.repeats import OPEN_ABOVE_OHM, agree

Pair = tuple[int, int]

_LOG_SLIP = math.log(0.03)  # open for a value or the other way round
_ENOUGH = 0.985


@dataclass(frozen=True)
class Joining:
    """The likeliest sets with their probability; the pair to take next, and whether it was taken before."""

    sets: tuple[tuple[int, ...], ...]
    probability: float
    next_pair: Pair | None
    again: bool


@dataclass(frozen=True)
class _World:
    """One way to take the readings: all as they are, or one pair a slip."""

    slipped: Pair | None
    found: Partition
    weight: float


def likeliest_joining(leads: int, taken: Mapping[Pair, Sequence[float]]) -> Joining | None:
    """Compare all partings of the leads with the readings of each pair, and with all of them but one.

    None when no single slip makes them agree.
    """
    cost = {pair: _cost(ohms) for pair, ohms in taken.items()}
    believed = {pair: conducts <= opened for pair, (conducts, opened) in cost.items()}
    worlds = _worlds(leads, believed, {pair: abs(a - b) for pair, (a, b) in cost.items()})
    if not worlds:
        return None
    total = sum(world.weight for world in worlds)
    best = max(worlds, key=lambda world: round(world.weight * world.found.probability / total, TIE))
    right = sum(world.weight * world.found.probability for world in worlds if world.found.sets == best.found.sets)
    probability = right / total * (1 - UNLISTED_SIZES)
    if best.found.probability < NAMED_FROM and best.found.next_pair is not None:
        return Joining(best.found.sets, probability, best.found.next_pair, best.found.next_pair in taken)
    if right / total < _ENOUGH:
        doubtful = [world for world in worlds if world.slipped is not None and world.found.sets != best.found.sets]
        if best.slipped is not None:
            doubtful.append(best)
        if doubtful:
            worst = max(doubtful, key=lambda world: round(world.weight, TIE))
            new = _not_read(best, doubtful, taken)
            if new is not None and new[1] >= worst.weight:
                return Joining(best.found.sets, probability, new[0], False)
            return Joining(best.found.sets, probability, worst.slipped, True)
    return Joining(best.found.sets, probability, None, False)


def _not_read(
    best: _World, doubtful: Sequence[_World], taken: Mapping[Pair, Sequence[float]]
) -> tuple[Pair, float] | None:
    """The pair not read yet that most doubtful worlds hang on, as far as is known, and how much they weigh."""
    apart = {lead: leads for leads in best.found.sets for lead in leads}
    weight: dict[Pair, float] = {}
    for world in doubtful:
        for pair in (pair for leads in world.found.sets for pair in combinations(leads, 2)):
            if pair not in taken and pair[1] not in apart[pair[0]]:
                weight[pair] = weight.get(pair, 0.0) + world.weight * world.found.probability
    most = max(weight, key=lambda pair: (round(weight[pair], TIE), pair), default=None)
    return None if most is None else (most, weight[most])


def _cost(ohms: Sequence[float]) -> tuple[float, float]:
    """What it costs to say that a pair conducts, and that it is open, in nats."""
    values = [ohm for ohm in ohms if ohm <= OPEN_ABOVE_OHM]
    opened = len(ohms) - len(values)
    # Values that agree with none of their fellows hardly stand for a connection.
    return -_LOG_SLIP * opened, -_LOG_SLIP * (len(values) if len(values) < 2 else _most_agreeing(values) + 0.5)


def _most_agreeing(values: Sequence[float]) -> int:
    return max(sum(agree(one, other) for other in values) for one in values)


def _worlds(leads: int, believed: Mapping[Pair, bool], price: Mapping[Pair, float]) -> list[_World]:
    def world(slipped: Pair | None) -> _World | None:
        kept = {pair: joined for pair, joined in believed.items() if pair != slipped}
        if slipped is not None:
            kept[slipped] = not believed[slipped]
        joined = [pair for pair, conducts in kept.items() if conducts]
        found = likeliest_partition(leads, joined, [pair for pair, conducts in kept.items() if not conducts])
        if found is None:
            return None
        return _World(slipped, found, found.mass * math.exp(-price[slipped] if slipped is not None else 0.0))

    straight = world(None)
    if straight is not None and straight.found.probability < NAMED_FROM:
        return [straight]  # the sets are not known yet: slips are looked for once they are
    others = [world(pair) for pair in believed]
    return [one for one in (straight, *others) if one is not None]
