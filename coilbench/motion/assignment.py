"""Which motor goes where: the assignment of motors to axes that leaves the worst-off axis as well off as can be."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

Chosen = tuple[int, ...]


@dataclass(frozen=True)
class Place:
    """One axis and what each motor would be worth on it. A worth of zero or less stands for one that can't be there.

    ``by_motor`` is for an axis with one motor, ``by_pair`` (the lower number first) for one with two.
    """

    by_motor: Mapping[int, float] = field(default_factory=dict)
    by_pair: Mapping[tuple[int, int], float] = field(default_factory=dict)

    @property
    def choices(self) -> dict[Chosen, float]:
        """All that can be there, with its worth."""
        singles: dict[Chosen, float] = {(motor,): worth for motor, worth in self.by_motor.items() if worth > 0}
        return singles | {pair: worth for pair, worth in self.by_pair.items() if worth > 0}


@dataclass(frozen=True)
class Assignment:
    """For each place the motors that go there, none where it stays empty, and what they are worth (0 for none)."""

    chosen: tuple[Chosen, ...]
    worths: tuple[float, ...]

    @property
    def worst(self) -> float:
        """Of the worst-off place."""
        return min(self.worths)


def assign(places: Sequence[Place]) -> Assignment:
    """Motors to places, each motor once: the best worst worth, then the fewest places at it, then the next worst.

    Exact. A bottleneck assignment by thresholds, each asked by augmenting paths; places with two motors are searched
    through. No place that could be filled stays empty for another's sake, unless that fills another one.
    """
    return _Search([each.choices for each in places]).best()


# A place's level where that is settled, None where it still rises; places that are alike stand in rising order.
_Settled = tuple[float | None, ...]


class _Search:
    """The places' choices, and what was found out about them."""

    def __init__(self, choices: Sequence[dict[Chosen, float]]) -> None:
        self._choices = choices
        self._levels = [0.0, *sorted({worth for each in choices for worth in each.values()})]
        best_first = [sorted(each, key=each.__getitem__, reverse=True) for each in choices]
        self._best_first = best_first
        self._falling = [
            [-each[motors] for motors in ordered] for each, ordered in zip(choices, best_first, strict=True)
        ]
        self._of_two = [any(len(motors) == 2 for motors in each) for each in choices]
        alike: dict[int, list[int]] = {}
        for place, each in enumerate(choices):
            alike.setdefault(choices.index(each), []).append(place)
        self._alike = [places for places in alike.values() if len(places) > 1]
        self._found: dict[_Settled, tuple[list[float], list[Chosen]]] = {}

    def best(self) -> Assignment:
        if not self._choices:
            return Assignment((), ())
        _, chosen = self._raised((None,) * len(self._choices))
        worths = (each.get(motors, 0.0) for each, motors in zip(self._choices, chosen, strict=True))
        return Assignment(tuple(chosen), tuple(worths))

    def _raised(self, settled: _Settled) -> tuple[list[float], list[Chosen]]:
        """The best from here: places that are settled keep at least their level, the others rise as far as they can.

        The worths in rising order, and who goes where.
        """
        if settled not in self._found:
            self._found[settled] = self._raise(settled)
        return self._found[settled]

    def _raise(self, settled: _Settled) -> tuple[list[float], list[Chosen]]:
        free = [place for place, level in enumerate(settled) if level is None]
        if not free:
            chosen = self._filled([level or 0.0 for level in settled])
            assert chosen is not None
            return sorted(level or 0.0 for level in settled), chosen
        rank = self._highest(settled)
        for count in range(1, len(free) + 1):
            ways = dict.fromkeys(self._with(settled, each, rank) for each in combinations(free, count))
            stays = [each for each in ways if self._others_rise(each, rank)]
            if stays:
                return max(map(self._raised, stays), key=lambda each: each[0])
        raise AssertionError("all of the places can stay at the highest common level")

    def _highest(self, settled: _Settled) -> int:
        """The rank of the highest level that all places that aren't settled can have: no lower than the others'."""
        low, high = bisect_left(self._levels, max(filter(None, settled), default=0.0)), len(self._levels) - 1
        while low < high:
            middle = (low + high + 1) // 2
            needs = [self._levels[middle] if level is None else level for level in settled]
            low, high = (middle, high) if self._filled(needs) else (low, middle - 1)
        return low

    def _others_rise(self, settled: _Settled, rank: int) -> bool:
        """Whether all that aren't settled can be above the level of that rank."""
        if None not in settled:
            return True
        if rank + 1 == len(self._levels):
            return False
        return self._filled([self._levels[rank + 1] if level is None else level for level in settled]) is not None

    def _with(self, settled: _Settled, places: Chosen, rank: int) -> _Settled:
        """Some places settled at the level of that rank. Which of those that are alike is all the same."""
        level = self._levels[rank]
        found = [level if place in places else each for place, each in enumerate(settled)]
        for alike in self._alike:
            levels = sorted((found[place] for place in alike), key=lambda each: math.inf if each is None else each)
            for place, each in zip(alike, levels, strict=True):
                found[place] = each
        return tuple(found)

    def _filled(self, needs: Sequence[float]) -> list[Chosen] | None:
        """Who goes where so that each place has at least its need; None where that can't be. A need of 0 is none."""
        singles: dict[int, list[int]] = {}
        pairs: dict[int, list[Chosen]] = {}
        for place, need in enumerate(needs):
            if need <= 0:
                continue
            able = self._best_first[place][: bisect_right(self._falling[place], -need)]
            if self._of_two[place]:
                pairs[place] = able
            else:
                singles[place] = [motor for (motor,) in able]
        at: dict[int, int] = {}
        if not all(_placed(place, singles, at, frozenset(), set()) for place in singles):
            return None
        if pairs and not _enough_motors(singles, pairs):
            return None
        order = sorted(pairs, key=lambda place: len(pairs[place]))
        found = _with_pairs(order, pairs, singles, at, frozenset(), set())
        return None if found is None else [found.get(place, ()) for place in range(len(needs))]


def _enough_motors(singles: Mapping[int, list[int]], pairs: Mapping[int, list[Chosen]]) -> bool:
    """Whether all places had their motors if any two of those that pair at a place would do there."""
    of_pairs = [list(dict.fromkeys(motor for pair in each for motor in pair)) for each in pairs.values()]
    slots = dict(enumerate([*singles.values(), *of_pairs, *of_pairs]))
    at: dict[int, int] = {}
    return all(_placed(slot, slots, at, frozenset(), set()) for slot in slots)


def _placed(
    place: int, singles: Mapping[int, list[int]], at: dict[int, int], taken: frozenset[int], seen: set[int]
) -> bool:
    """Find ``place`` a motor, moving others along (an augmenting path); ``at`` says which motor is at which place."""
    for motor in singles[place]:
        if motor in seen or motor in taken:
            continue
        seen.add(motor)
        if motor not in at or _placed(at[motor], singles, at, taken, seen):
            at[motor] = place
            return True
    return False


def _with_pairs(
    places: Sequence[int],
    pairs: Mapping[int, list[Chosen]],
    singles: Mapping[int, list[int]],
    at: dict[int, int],
    taken: frozenset[int],
    failed: set[frozenset[int]],
) -> dict[int, Chosen] | None:
    """The places with their pairs, the other places' motors moved out of the way; None where that can't be.
    ``failed`` are motors taken with which it couldn't: their number says how many places had theirs."""
    if not places:
        return {place: (motor,) for motor, place in at.items()}
    place, rest = places[0], places[1:]
    stuck: set[tuple[int, frozenset[int]]] = set()
    for pair in sorted(pairs[place], key=lambda each: (each[0] in at) + (each[1] in at)):
        if taken.intersection(pair) or (together := taken.union(pair)) in failed:
            continue
        moved = _without(pair, singles, at, taken, stuck)
        if moved is not None:
            found = _with_pairs(rest, pairs, singles, moved, together, failed)
            if found is not None:
                return found | {place: pair}
        failed.add(together)
    return None


def _without(
    motors: Chosen,
    singles: Mapping[int, list[int]],
    at: Mapping[int, int],
    taken: frozenset[int],
    stuck: set[tuple[int, frozenset[int]]],
) -> dict[int, int] | None:
    """``at`` with these motors set free; None where a place would stay without."""
    moved = dict(at)
    for motor in motors:
        taken = taken | {motor}
        if (motor, taken) in stuck:
            return None
        place = moved.pop(motor, None)
        if place is not None and not _placed(place, singles, moved, taken, set()):
            stuck.add((motor, taken))
            return None
    return moved
