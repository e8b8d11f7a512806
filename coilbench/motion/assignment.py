"""Which motor goes where: the assignment of motors to axes that leaves the worst-off axis as well off as can be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
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


class _Search:
    """The places' choices, and what was found out about them."""

    def __init__(self, choices: Sequence[dict[Chosen, float]]) -> None:
        self._choices = choices
        self._levels = [0.0, *sorted({worth for each in choices for worth in each.values()})]
        self._found: dict[tuple[float | None, ...], tuple[list[float], list[Chosen]]] = {}

    def best(self) -> Assignment:
        if not self._choices:
            return Assignment((), ())
        _, chosen = self._raised((None,) * len(self._choices))
        worths = (each.get(motors, 0.0) for each, motors in zip(self._choices, chosen, strict=True))
        return Assignment(tuple(chosen), tuple(worths))

    def _raised(self, settled: tuple[float | None, ...]) -> tuple[list[float], list[Chosen]]:
        """The best from here: places that are settled keep at least their level, the others rise as far as they can.

        The worths in rising order, and who goes where.
        """
        if settled not in self._found:
            self._found[settled] = self._raise(settled)
        return self._found[settled]

    def _raise(self, settled: tuple[float | None, ...]) -> tuple[list[float], list[Chosen]]:
        free = [place for place, level in enumerate(settled) if level is None]
        if not free:
            chosen = self._filled([level or 0.0 for level in settled])
            assert chosen is not None
            return sorted(level or 0.0 for level in settled), chosen
        rank = self._highest(settled)
        level = self._levels[rank]
        for count in range(1, len(free) + 1):
            stays = [each for each in combinations(free, count) if self._others_rise(settled, each, rank)]
            if stays:
                raised = [self._raised(self._with(settled, each, level)) for each in stays]
                return max(raised, key=lambda each: each[0])
        raise AssertionError("all of the places can stay at the highest common level")

    def _highest(self, settled: tuple[float | None, ...]) -> int:
        """The rank of the highest level that all places can have that aren't settled."""
        low, high = 0, len(self._levels) - 1
        while low < high:
            middle = (low + high + 1) // 2
            needs = [self._levels[middle] if level is None else level for level in settled]
            low, high = (middle, high) if self._filled(needs) else (low, middle - 1)
        return low

    def _others_rise(self, settled: tuple[float | None, ...], staying: Chosen, rank: int) -> bool:
        """Whether all but ``staying`` can be above the level of that rank."""
        partly = self._with(settled, staying, self._levels[rank])
        if None not in partly:
            return True
        if rank + 1 == len(self._levels):
            return False
        return self._filled([self._levels[rank + 1] if level is None else level for level in partly]) is not None

    @staticmethod
    def _with(settled: tuple[float | None, ...], places: Chosen, level: float) -> tuple[float | None, ...]:
        return tuple(level if place in places else each for place, each in enumerate(settled))

    def _filled(self, needs: Sequence[float]) -> list[Chosen] | None:
        """Who goes where so that each place has at least its need; None where that can't be. A need of 0 is none."""
        wanted = {place: need for place, need in enumerate(needs) if need > 0}
        able = {
            place: [motors for motors, worth in self._choices[place].items() if worth >= need]
            for place, need in wanted.items()
        }
        singles = {place: [each[0] for each in able[place] if len(each) == 1] for place in able}
        pairs: dict[int, list[Chosen]] = {
            place: [each for each in able[place] if len(each) == 2] for place in able if self._of_two(place)
        }
        singles = {place: motors for place, motors in singles.items() if place not in pairs}
        at: dict[int, int] = {}
        if not all(_placed(place, singles, at, frozenset(), set()) for place in singles):
            return None
        found = next(_with_pairs(sorted(pairs, key=lambda place: len(pairs[place])), pairs, singles, at), None)
        if found is None:
            return None
        return [found.get(place, ()) for place in range(len(needs))]

    def _of_two(self, place: int) -> bool:
        return any(len(each) == 2 for each in self._choices[place])


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
    taken: frozenset[int] = frozenset(),
) -> Iterator[dict[int, Chosen]]:
    """Every way to give the places their pairs, the other places' motors moved out of the way."""
    if not places:
        yield {place: (motor,) for motor, place in at.items()}
        return
    place, rest = places[0], places[1:]
    stuck: set[tuple[int, frozenset[int]]] = set()
    for pair in sorted(pairs[place], key=lambda each: (each[0] in at) + (each[1] in at)):
        if taken.intersection(pair):
            continue
        moved = _without(pair, singles, at, taken, stuck)
        if moved is not None:
            for found in _with_pairs(rest, pairs, singles, moved, taken.union(pair)):
                yield found | {place: pair}


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
