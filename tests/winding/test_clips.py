"""Resistances from the voltages of a board's clips, and what they are worth beside a meter's readings."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from types import SimpleNamespace

import pytest

from coilbench.board.virtual.jig import SAMPLES, VirtualJig
from coilbench.board.virtual.windings import Windings
from coilbench.winding.engine.catalogue import CATALOGUE
from coilbench.winding.engine.sorting import judge
from coilbench.winding.readings.clips import CLIPS, ClipMap, clip_map, next_pair, to_repeat
from coilbench.winding.readings.reading import Reading

Driven = dict[tuple[int, int], list[float]]


def driven(jig: VirtualJig, leads: int, rng: random.Random) -> Driven:
    """All pairs that are asked for, driven."""
    shares: Driven = {}
    while (pair := next_pair(shares, leads)) is not None:
        sums = jig.measure(8, *pair, rng)
        assert isinstance(sums, list)
        shares[pair] = [each / (1024 * SAMPLES) for each in sums]
    return shares


def on_clips(
    kind: str, ohm: float, rng: random.Random, off: int | None = None
) -> tuple[Windings, list[str], VirtualJig]:
    leads = tuple(f"L{k}" for k in range(CATALOGUE[kind].terminals))
    order = rng.sample(range(len(leads)), len(leads))
    windings = Windings(kind, leads, ohm)
    hung = tuple(None if k == off else lead for k, lead in enumerate(order))
    return windings, [leads[lead] for lead in order], VirtualJig(windings, hung)


def true_ohm(windings: Windings, reading: Reading) -> float:
    return float(windings.resistance_ohm[windings.leads.index(reading.a), windings.leads.index(reading.b)])


@pytest.mark.parametrize(
    ("kind", "most"),
    [
        ("bipolar-4", 6),
        ("unipolar-5", 20),
        ("five-phase-ring-5", 20),
        ("unipolar-6", 14),
        ("three-phase-6", 9),
        ("split-8", 12),
    ],
)
def test_every_resistance_from_few_pairs(kind: str, most: int) -> None:
    rng = random.Random(kind)
    for ohm in (2.0, 30.0, 200.0):
        windings, names, jig = on_clips(kind, ohm, rng)
        shares = driven(jig, len(names), rng)
        found = clip_map(shares, names)
        assert len(shares) <= most and not found.alone and not found.restless
        assert len(found.readings) == len(names) * (len(names) - 1) // 2
        for reading in found.readings:
            true = true_ohm(windings, reading)
            assert reading.ohm == (true if true == math.inf else pytest.approx(true + 0.1, rel=0.002, abs=0.25))


def test_a_taps_voltage_is_evidence_of_its_own() -> None:
    """One end to its tap wasn't driven: the tap's voltage, end against end, tells what lies between them."""
    windings, names, jig = on_clips("unipolar-6", 24.0, random.Random(1))
    shares = driven(jig, 6, random.Random(2))
    tap, end = names.index("L1"), names.index("L2")
    less = {pair: volts for pair, volts in shares.items() if set(pair) != {tap, end}}
    assert len(less) == len(shares) - 2
    for reading in clip_map(less, names).readings:
        true = true_ohm(windings, reading)
        assert reading.ohm == (true if true == math.inf else pytest.approx(true, rel=0.03))


def test_eight_joined_leads_are_not_all_driven() -> None:
    """No motor of the catalogue, but a loom may have such: twice as long, were every pair driven."""
    row = SimpleNamespace(network=(8, [(k, k + 1, 10.0) for k in range(7)]))
    jig = VirtualJig(row, tuple(range(8)))  # type: ignore[arg-type]
    shares = driven(jig, 8, random.Random(4))
    assert len(shares) <= 33
    for reading in clip_map(shares, [str(k) for k in range(8)]).readings:
        assert reading.ohm == pytest.approx(10 * abs(int(reading.a) - int(reading.b)) + 0.1, rel=0.01, abs=0.15)


def test_leads_that_conduct_to_none_and_what_moved_meanwhile() -> None:
    rng = random.Random(5)
    _, names, jig = on_clips("unipolar-5", 40.0, rng, off=2)
    assert names[2] in clip_map(driven(jig, 5, rng), names).alone
    _, names, jig = on_clips("unipolar-5", 40.0, rng)
    shares = driven(jig, 5, rng)
    assert not clip_map(shares, names).restless
    (high, low) = next(pair for pair, volts in shares.items() if volts[pair[0]] - volts[pair[1]] < 0.5)
    shares[high, low][low] += 0.05  # a shaft that turned for a moment
    assert clip_map(shares, names).restless
    _, names, jig = on_clips("bipolar-4", 10.0, rng)
    shares = driven(jig, 4, rng)
    again = {pair: list(shares[pair]) for pair in to_repeat(shares, 4)}
    assert len(again) == 4 and not clip_map(shares, names, again).restless
    again[next(iter(again))][next(iter(again))[0]] += 0.004
    assert clip_map(shares, names, again).restless


def map_of(kind: str, ohm: float, seed: int) -> tuple[Windings, list[str], ClipMap]:
    rng = random.Random(seed)
    windings, names, jig = on_clips(kind, ohm, rng)
    return windings, names, clip_map(driven(jig, len(names), rng), names)


def test_few_ohms_are_asked_for_by_hand_and_the_hand_is_believed() -> None:
    _, names, found = map_of("bipolar-4", 0.6, 6)
    verdict = judge(names, found.readings)
    assert verdict.arrangement == "bipolar-4" and verdict.confidence > 0.99
    assert verdict.probes_ohm is None  # there were none
    ask = verdict.ask
    assert ask is not None and "by hand" in ask.why
    readings = [*found.readings, Reading(ask.a, ask.b, 0.8), Reading("probes", "probes", 0.2)]
    coil = next(coil for coil in judge(names, readings).coils if set(coil.ends) == {ask.a, ask.b})
    assert coil.ohm == pytest.approx(0.6, abs=0.06) and coil.ohm_sd is not None and coil.ohm_sd < 0.1


def test_a_boards_readings_are_not_taken_for_a_meters() -> None:
    """4 % off, all of them: within the board's error, and the coils' doubt says so."""
    _, names, found = map_of("unipolar-6", 50.0, 7)
    off = [replace(each, ohm=each.ohm * 1.04) for each in found.readings]
    verdict = judge(names, off)
    assert verdict.arrangement == "unipolar-6" and verdict.confidence > 0.99
    coil = verdict.coils[0]
    assert coil.ohm is not None and coil.ohm_sd is not None and coil.ohm_sd > 0.02 * coil.ohm
    by_hand = judge(names, [replace(each, meter=None) for each in found.readings]).coils[0]
    assert by_hand.ohm_sd is not None and by_hand.ohm_sd < coil.ohm_sd
    assert all(each.meter is CLIPS for each in found.readings)
