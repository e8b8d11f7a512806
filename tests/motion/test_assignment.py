"""Which motor goes where, against trying everything."""

from __future__ import annotations

import random
from collections.abc import Iterator

import pytest

from coilbench.motion.assignment import Place, assign


def every_way(places: list[Place], taken: frozenset[int] = frozenset()) -> Iterator[list[float]]:
    """The worths of every assignment there is, places left empty included."""
    if not places:
        yield []
        return
    for motors, worth in ({(): 0.0} | places[0].choices).items():
        if not taken.intersection(motors):
            for rest in every_way(places[1:], taken.union(motors)):
                yield [worth, *rest]


def some_places(rng: random.Random) -> list[Place]:
    """One to four axes, some with two motors, some alike, for one to six motors; worths with ties and with some that
    can't be."""
    count = rng.randint(1, 6)

    def worth() -> float:
        return rng.choice([0.0, -1.0, 0.5, 1.0, 2.0, rng.uniform(0, 4)])

    places = []
    for _ in range(rng.randint(1, 4)):
        if places and rng.random() < 0.25:
            places.append(rng.choice(places))
        elif rng.random() < 0.35:
            pairs = [(i, j) for i in range(count) for j in range(i + 1, count)]
            places.append(Place(by_pair={pair: worth() for pair in pairs if rng.random() < 0.7}))
        else:
            places.append(Place(by_motor={motor: worth() for motor in range(count) if rng.random() < 0.9}))
    return places


@pytest.mark.parametrize("seed", range(200))
def test_it_is_the_best_there_is(seed: int) -> None:
    places = some_places(random.Random(seed))
    found = assign(places)
    tried = [sorted(each) for each in every_way(places)]
    assert found.worst == max(each[0] for each in tried)
    assert sorted(found.worths) == max(tried), "and the next worst after it, and so on"
    used = [motor for motors in found.chosen for motor in motors]
    assert len(used) == len(set(used)), "each motor once"
    for place, motors, worth in zip(places, found.chosen, found.worths, strict=True):
        assert place.choices.get(motors, 0.0) == worth


def test_no_axis_and_no_motor() -> None:
    assert assign([]).chosen == ()
    assert assign([Place(), Place()]).chosen == ((), ())


def test_the_strong_motor_goes_where_it_is_needed() -> None:
    both_do = Place(by_motor={0: 9.0, 1: 3.0})
    one_does = Place(by_motor={0: 2.5, 1: 0.4})
    assert assign([both_do, one_does]).chosen == ((1,), (0,))


@pytest.mark.parametrize(("places", "groups"), [(6, 5), (4, 10)])
def test_of_three_that_match_two_make_a_pair(places: int, groups: int) -> None:
    """And no third one, however many axes that are alike ask for one."""
    worths = {(3 * g + i, 3 * g + j): 1.0 + g + i + j for g in range(groups) for i in (0, 1) for j in range(i + 1, 3)}
    found = assign([Place(by_pair=worths)] * places)
    ranks = sorted((max(worths[p] for p in worths if p[0] // 3 == g) for g in range(groups)), reverse=True)
    best = [*ranks, *[0.0] * places][:places]
    assert sorted(found.worths, reverse=True) == best
