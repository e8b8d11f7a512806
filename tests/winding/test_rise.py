"""The inductance of a winding from how its current rises: what is told, how well, and what is refused."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest

from coilbench.board.virtual.circuit import Circuit
from coilbench.board.virtual.inductances import TIME_CONSTANT_S, inductance_henry
from coilbench.board.virtual.jig import RISES, SAMPLES, VirtualJig
from coilbench.board.virtual.windings import Windings
from coilbench.winding.engine.catalogue import CATALOGUE
from coilbench.winding.readings.clips import BLEED_OHM, DRIVE_OHM, clip_map, next_pair
from coilbench.winding.readings.inductance import NotTimed, Timed, of_coils
from coilbench.winding.readings.rise import CLOCK_HZ, Look, Untellable, pairs_to_time, timed

HELD_OHM = 1 / (1 / DRIVE_OHM + 1 / BLEED_OHM)


def rising(henry: float, ohm: float, rng: random.Random, late_s: float = 0.3e-6) -> tuple[Look, float]:
    """A winding alone, as the jig's parts are by their values: how it is looked at, and what stands in the end."""
    loop_ohm = ohm + 2 * HELD_OHM
    stands = HELD_OHM / loop_ohm

    def look(cycles: int) -> tuple[int, float]:
        second, constant = cycles / CLOCK_HZ, henry / loop_ohm
        rises = 1 - (constant * math.exp(-second / constant) - late_s * math.exp(-second / late_s)) / (
            constant - late_s
        )
        return cycles, stands * rises + rng.gauss(0.0, 0.1) / 1024 + rng.uniform(-0.4, 0.4) / 1024

    return look, stands


def test_inductances_are_within_their_error() -> None:
    rng, within = random.Random(1), 0
    for _ in range(100):
        henry = math.exp(rng.uniform(math.log(1e-3), math.log(0.1)))
        ohm = henry / math.exp(rng.uniform(math.log(0.4e-3), math.log(4e-3)))
        late_s = rng.uniform(0.15e-6, 0.5e-6)
        told = timed(("a", "b"), ohm, [rising(henry, ohm, rng, late_s) for _ in range(2)])
        assert isinstance(told, Timed) and told.henry_sd > 0.07 * told.henry  # the iron is in it
        within += abs(told.henry - henry) <= 2 * told.jig_sd
        assert told.jig_sd < 0.03 * henry
    assert within >= 95


@pytest.mark.parametrize(
    ("henry", "ohm", "why"),
    [(0.2e-3, 1.0, "too little"), (2.0, 100.0, "too much"), (0.5, 6000.0, "too many ohms"), (40.0, 3.0, "too much")],
)
def test_what_the_jig_cannot_tell_is_refused_in_words(henry: float, ohm: float, why: str) -> None:
    told = timed(("a", "b"), ohm, [rising(henry, ohm, random.Random(2))])
    assert isinstance(told, NotTimed) and told.why.startswith(why)


def test_a_shaft_that_moves_meanwhile_is_refused() -> None:
    rng = random.Random(3)
    (there, stands), (back, _) = rising(0.01, 8.0, rng), rising(0.013, 8.0, rng)
    told = timed(("a", "b"), 8.0, [(there, stands), (back, stands)])
    assert isinstance(told, NotTimed) and "hold the shaft still" in told.why


def test_a_board_that_would_not_drive_costs_that_inductance_alone() -> None:
    def look(cycles: int) -> tuple[int, float]:
        raise Untellable("something moved meanwhile")

    told = timed(("a", "b"), 8.0, [(look, 0.4)])
    assert isinstance(told, NotTimed) and told.why == "something moved meanwhile"


def on_jig(windings: Windings, rng: random.Random) -> list[Timed]:
    """All that the virtual jig tells of a motor's inductances."""
    names, jig = windings.leads, VirtualJig(windings, tuple(range(len(windings.leads))))
    shares: dict[tuple[int, int], list[float]] = {}
    while (pair := next_pair(shares, len(names))) is not None:
        sums = jig.measure(8, *pair, rng)
        assert isinstance(sums, list)
        shares[pair] = [each / (1024 * SAMPLES) for each in sums]
    found = clip_map(shares, names)
    ohms = {(one.a, one.b): one.ohm for one in found.readings}

    def looking(high: int, low: int) -> Look:
        def look(cycles: int) -> tuple[int, float]:
            seen = jig.rise(8, {low: 0.0, high: 1.0}, low, cycles / CLOCK_HZ, rng)
            assert isinstance(seen, int)
            return cycles, seen / (1024 * RISES)

        return look

    told = []
    for (a, b), ways in pairs_to_time(found, names).items():
        one = timed((names[a], names[b]), ohms[names[a], names[b]], [(looking(*w), shares[w][w[1]]) for w in ways])
        assert isinstance(one, Timed), one
        told.append(one)
    return told


# How many pairs tell it, and how often a part's inductance a coil has: twice 0.97 of it is shared by two halves.
@pytest.mark.parametrize(
    ("kind", "pairs", "times"),
    [("bipolar-4", 2, 1.0), ("unipolar-5", 6, 1.0), ("unipolar-6", 2, 2 + 2 * 0.97), ("split-8", 4, 1.0)],
)
def test_the_coils_of_a_motor_each_get_theirs(kind: str, pairs: int, times: float) -> None:
    arrangement = CATALOGUE[kind]
    windings = Windings(kind, tuple("abcdefgh"[: arrangement.terminals]), 8.0)
    told = on_jig(windings, random.Random(4))
    assert len(told) == pairs
    coils = [(windings.leads[u], windings.leads[v]) for u, v, _ in arrangement.coils]
    common = None if arrangement.common is None else windings.leads[arrangement.common]
    henries = of_coils(coils, common, told)
    assert set(henries) == set(coils)
    for one in henries.values():
        assert one.henry == pytest.approx(times * 8 * TIME_CONSTANT_S, rel=0.02)


def test_a_ring_is_not_timed_and_five_that_fit_no_phases_tell_nothing() -> None:
    assert on_jig(Windings("five-phase-ring-5", tuple("abcde"), 3.0), random.Random(5)) == []
    five = on_jig(Windings("unipolar-5", tuple("abcde"), 8.0), random.Random(6))
    coils = [("a", end) for end in "bcde"]
    assert of_coils(coils, "a", five) and not of_coils(coils, "a", five[1:])
    alike = [Timed(one.a, one.b, 0.01, 0.0) for one in five]
    assert not of_coils(coils, "a", alike)


def in_iron(henry: float, ohm: float, share: float, second: float) -> tuple[Look, float]:
    """A winding round a core with a loop of its own, which takes this share, with its time constant."""
    incidence = np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 0.0]])
    mutual = math.sqrt(share * henry * henry)
    circuit = Circuit(
        incidence,
        np.diag([ohm, henry / second]),
        np.array([[henry, mutual], [mutual, henry]]),
        [*((clip, BLEED_OHM, 0.0) for clip in (0, 1)), (0, DRIVE_OHM, 1.0), (1, DRIVE_OHM, 0.0)],
        [],
    )

    def look(cycles: int) -> tuple[int, float]:
        whole_s, steps, flows = cycles / CLOCK_HZ, 24, None
        for step in range(steps):
            volts, flows = circuit.after(whole_s * (2 * step + 1) / steps**2, flows)
        return cycles, float(volts[1])

    return look, float(circuit.stands()[1])


@pytest.mark.parametrize("second", [2e-6, 20e-6, 100e-6])
@pytest.mark.parametrize(("henry", "ohm"), [(3e-3, 3.0), (30e-3, 20.0)])
def test_a_core_that_takes_a_tenth_is_within_the_error(henry: float, ohm: float, second: float) -> None:
    told = timed(("a", "b"), ohm, [in_iron(henry, ohm, 0.1, second)])
    assert isinstance(told, Timed) and -0.10 < told.henry / henry - 1 < 0.04
    assert abs(told.henry - henry) < 2 * told.henry_sd


def test_shorted_turns_show_as_little_inductance() -> None:
    whole = inductance_henry(Windings("bipolar-4", tuple("abcd"), 5.0))
    shorted = inductance_henry(Windings("bipolar-4", tuple("abcd"), 5.0, shorted=(1,)))
    assert shorted[0, 0] == whole[0, 0] and shorted[1, 1] < 0.5 * whole[1, 1]
