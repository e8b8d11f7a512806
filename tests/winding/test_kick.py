"""Eight leads on clips: pairing and sense from the kicks, or said as not known."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import combinations

import pytest

from coilbench.winding.order.judging import judge_order
from coilbench.winding.order.types import OrderQuestion, OrderTest, OrderVerdict
from coilbench.winding.readings.clips import ClipMap
from coilbench.winding.readings.inductance import Kick, NotTimed, Timed
from coilbench.winding.readings.kick import KickLook, halves_of, kicks, kicks_of_five
from coilbench.winding.readings.reading import Reading
from coilbench.winding.readings.rise import CLOCK_HZ, LOOP_OHM

LEADS = tuple("abcdefgh")
HENRY, OHM = 8e-3, 12.0


def measured(halves: list[tuple[str, str]], untold: int = 0) -> ClipMap:
    """The resistances of four halves, and the inductances of all but the first few."""
    ends = {frozenset(half) for half in halves}
    readings = tuple(Reading(a, b, OHM if {a, b} in ends else math.inf) for a, b in combinations(LEADS, 2))
    told = [Timed(one.a, one.b, HENRY, 0.02 * HENRY) for one in readings if math.isfinite(one.ohm)]
    lost = [NotTimed(one.a, one.b, "too little for the jig") for one in told[:untold]]
    return ClipMap(readings, (), restless=False, inductances=(*lost, *told[untold:]))


def kicking(places: dict[str, int], rng: random.Random, shared: float = 0.95, apart: float = 0.1) -> KickLook:
    """Clips of a motor whose leads have these places: 0 and 2 are the ends of one phase's halves."""
    constant = HENRY / (OHM + LOOP_OHM)

    def look(high: int, low: int, hold: int, see: int, cycles: int) -> tuple[int, float]:
        across = LOOP_OHM / (OHM + LOOP_OHM) * math.exp(-cycles / CLOCK_HZ / constant)
        steps = (places[LEADS[see]] - places[LEADS[high]]) % 4
        volt = across * (shared if steps == 0 else -shared if steps == 2 else rng.uniform(-apart, apart))
        return cycles, max(volt, 0.0) + abs(rng.gauss(0.0, 0.002))

    return look


def a_motor(rng: random.Random) -> tuple[list[tuple[str, str]], dict[str, int]]:
    names = rng.sample(LEADS, 8)
    halves = [(names[k], names[k + 1]) for k in range(0, 8, 2)]
    phases = [0, 0, 1, 1]
    return halves, {
        lead: phase + 2 * end for half, phase in zip(halves, phases, strict=True) for end, lead in enumerate(half)
    }


def judged(halves: list[tuple[str, str]], seen: tuple[Kick, ...]) -> OrderVerdict:
    question = OrderQuestion(halves=tuple(tuple(sorted(half)) for half in halves))  # type: ignore[misc]
    return judge_order(question, [OrderTest("kick", k.reference, k.touched, k.answer) for k in seen], "clips")


def is_right(verdict: OrderVerdict, places: dict[str, int]) -> bool:
    """Whether each phase's two halves are of one phase, both from start to finish or both from finish to start."""
    phases = [halves for _, halves in verdict.phase_halves]
    return len(phases) == 2 and all(places[a] == places[c] and places[b] == places[d] for (a, b), (c, d) in phases)


def test_pairing_and_sense_of_any_motor() -> None:
    rng = random.Random(1)
    for _ in range(40):
        halves, places = a_motor(rng)
        found = measured(halves, untold=rng.randrange(2))
        seen = kicks(halves_of(found, LEADS), found, LEADS, kicking(places, rng, rng.uniform(0.8, 1.0)))
        verdict = judged(halves, seen)
        assert len(seen) == 6 and is_right(verdict, places) and verdict.confidence > 0.98
        assert verdict.done and not verdict.direction_known and verdict.next is None


@pytest.mark.parametrize(("shared", "apart"), [(0.4, 0.1), (0.02, 0.02)])
def test_a_kick_that_says_neither_is_no_answer_and_the_hand_is_asked(shared: float, apart: float) -> None:
    rng = random.Random(2)
    halves, places = a_motor(rng)
    found = measured(halves)
    verdict = judged(halves, kicks(halves_of(found, LEADS), found, LEADS, kicking(places, rng, shared, apart)))
    assert not verdict.done and verdict.confidence < 0.9
    assert verdict.next is not None and verdict.next.kind == "flick"


def test_halves_whose_inductance_is_not_told_kick_nobody() -> None:
    rng = random.Random(3)
    halves, places = a_motor(rng)
    counts = []
    for untold in range(5):
        found = measured(halves, untold)
        counts.append(len(kicks(halves_of(found, LEADS), found, LEADS, kicking(places, rng))))
    assert counts == [6, 6, 5, 3, 0]


def between_ends(phases: list[tuple[str, str]], rng: random.Random, shared: float) -> ClipMap:
    """Six pairs of four ends that meet in a common lead, each half of 8 mH but for its tolerance."""
    own = {end: HENRY * rng.uniform(0.97, 1.03) for phase in phases for end in phase}
    of_phase = {frozenset(phase) for phase in phases}
    told = []
    for a, b in combinations(sorted(own), 2):
        times = 1 + shared if {a, b} in of_phase else 1 + rng.uniform(-0.05, 0.05)
        told.append(Timed(a, b, (own[a] + own[b]) * times, 0.0))
    return ClipMap((), (), restless=False, inductances=tuple(told))


def test_which_ends_of_five_leads_share_a_phase() -> None:
    rng = random.Random(4)
    for _ in range(20):
        names = rng.sample("abcd", 4)
        phases = [(names[0], names[1]), (names[2], names[3])]
        seen = kicks_of_five(between_ends(phases, rng, rng.uniform(0.85, 1.0)))
        question = OrderQuestion(ends=("a", "b", "c", "d"), supply=("e",) * 4)
        tests = [OrderTest("kick", each.reference, each.touched, each.answer) for each in seen]
        verdict = judge_order(question, tests, "clips")
        assert {frozenset(phase) for phase in verdict.phases} == {frozenset(phase) for phase in phases}
        assert verdict.done and not verdict.direction_known and verdict.confidence > 0.98
    assert kicks_of_five(between_ends(phases, rng, 0.2)) == ()
    untold = judge_order(question, tests[:1], "clips")
    assert not untold.done and untold.next is not None and untold.next.kind == "twitch"


def test_only_four_separate_halves_are_asked() -> None:
    found = measured([("a", "b"), ("c", "d"), ("e", "f"), ("g", "h")])
    assert halves_of(found, LEADS) == [(0, 1), (2, 3), (4, 5), (6, 7)]
    joined = replace(found, readings=(*found.readings, Reading("a", "c", 24.0)))
    assert not halves_of(joined, LEADS) and not halves_of(replace(found, readings=found.readings[1:]), LEADS)
