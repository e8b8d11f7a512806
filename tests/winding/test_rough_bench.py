"""Slips, worn leads, uneven coils, shorted turns and strange things in the loom, on the rough bench.

With ``COILBENCH_LONG=1`` every arrangement, a hundred motors with a slip and fifty without; else a seeded sample.
"""

from __future__ import annotations

import os
import random

import pytest

from coilbench.winding.engine.fitness import fitness
from coilbench.winding.engine.network import Edge, resistance_matrix
from coilbench.winding.engine.sorting import judge
from coilbench.winding.engine.verdict import NAMED_FROM, Verdict
from coilbench.winding.engine.wording import TWO_MOTORS
from coilbench.winding.readings.reading import FRAME, Reading
from coilbench.winding.report import FINER, next_steps, warnings, what_it_is
from tests.support.more import some

from .rough_bench import ALL, SLIPS, RoughMotor, sort_out, tallied

LONG = bool(os.environ.get("COILBENCH_LONG"))
ALL_COILS = (
    *("bipolar-4", "unipolar-6", "split-8", "split-8/9", "unipolar-6/9", "five-phase-10", "five-phase-10/11"),
    *("unipolar-6+unipolar-5", "unipolar-6+unipolar-6"),
)
SAMPLE = ("single-coil-2", "bipolar-4", "unipolar-5", "three-phase-star-4")
OPEN = float("inf")


@pytest.mark.parametrize("what", ALL if LONG else SAMPLE)
def test_a_slip_of_any_kind_is_survived(what: str) -> None:
    tally = tallied(what, SLIPS * (15 if LONG else 1), seed=11)
    print(what, tally.line())
    assert tally.wrong <= (0.02 if LONG else 0.0) * tally.motors  # one in a hundred, and chance
    assert tally.unsure <= 0.05 * tally.motors
    assert tally.figures <= 0.02 * tally.motors


@pytest.mark.parametrize("what", ALL if LONG else SAMPLE)
def test_without_a_slip_named_right(what: str) -> None:
    tally = tallied(what, [None] * (50 if LONG else 3), seed=12)
    print(what, tally.line())
    assert tally.wrong <= 0.02 * tally.motors and tally.unsure <= 0.05 * tally.motors


def shorted(what: str, left: float | None, motors: int) -> list[Verdict]:
    return [sort_out(RoughMotor(random.Random(seed), what, shorted=left, least_ohm=5.0)) for seed in range(motors)]


@pytest.mark.parametrize("what", ["bipolar-4", "unipolar-6", "split-8", "five-phase-10"] if LONG else ["bipolar-4"])
def test_coils_eight_per_cent_apart_are_no_fault(what: str) -> None:
    faulty = sum(bool(verdict.faults) for verdict in shorted(what, None, 50 if LONG else 6))
    assert faulty <= (1 if LONG else 0)


@pytest.mark.parametrize(
    ("what", "motors"),
    some(
        [(what, 20) for what in ALL_COILS] + [("bipolar-4", 3), ("unipolar-6/9", 1)],
        of=[("bipolar-4", 3), ("unipolar-6/9", 1)],
        rows=True,
    ),
)
def test_half_of_a_coil_shorted_is_found(what: str, motors: int) -> None:
    found = [
        any(fault.kind == "shorted-turns" for fault in verdict.faults) for verdict in shorted(what, 0.55, motors)
    ]
    assert sum(found) >= 0.9 * len(found)


def test_a_coil_that_reads_a_little_low_is_uneven_perhaps_and_blocks_nothing() -> None:
    names = ("RD", "BU", "WH", "BK")
    twice = [Reading("RD", "BU", 20.0), Reading("WH", "BK", 17.2)] * 2
    verdict = judge(names, [*twice, Reading("RD", "WH", OPEN), Reading("BU", "BK", OPEN)])
    assert verdict.arrangement == "bipolar-4" and verdict.confidence >= NAMED_FROM
    assert not verdict.faults and fitness(verdict).usable
    assert "uneven, perhaps" in verdict.cannot_tell[0] and "WH BK" in verdict.cannot_tell[0]
    seven = judge(names, [Reading("RD", "BU", 20.0), Reading("WH", "BK", 18.6)] * 2)
    assert not seven.faults


# Coils of the motor and what else is in the loom, by resistors between terminals; what has to be spare.
BESIDE: dict[str, tuple[str, list[Edge], int, range]] = {
    "a thermistor": ("bipolar-4", [(0, 1, 24.0), (2, 3, 24.0), (4, 5, 22_000.0)], 6, range(4, 6)),
    "a brake coil": ("bipolar-4", [(0, 1, 2.4), (2, 3, 2.4), (4, 5, 85.0)], 6, range(4, 6)),
    "a three-wire sensor": (
        "unipolar-6",
        [(0, 1, 24.0), (1, 2, 24.0), (3, 4, 24.0), (4, 5, 24.0), (6, 7, 3300.0), (7, 8, 19_100.0)],
        9,
        range(6, 9),
    ),
    "a thermistor on eight leads": (
        "split-8",
        [(0, 1, 2.0), (2, 3, 2.0), (4, 5, 2.0), (6, 7, 2.0), (8, 9, 12_000.0)],
        10,
        range(8, 10),
    ),
    "a brake on six leads": (
        "unipolar-6",
        [(0, 1, 24.0), (1, 2, 24.0), (3, 4, 24.0), (4, 5, 24.0), (6, 7, 120.0)],
        8,
        range(6, 8),
    ),
    "a brake on eight leads": (
        "split-8",
        [(0, 1, 2.0), (2, 3, 2.0), (4, 5, 2.0), (6, 7, 2.0), (8, 9, 40.0)],
        10,
        range(8, 10),
    ),
    "six silent leads": ("bipolar-4", [(0, 1, 24.0), (2, 3, 24.0)], 10, range(4, 10)),
}


def sorted_network(edges: list[Edge], leads: int, seed: int = 0) -> tuple[RoughMotor, Verdict]:
    motor = RoughMotor(random.Random(seed), f"bipolar-4/{leads}")
    motor.matrix = resistance_matrix(leads, edges, leads)
    return motor, sort_out(motor)


@pytest.mark.parametrize("what", BESIDE)
def test_other_things_in_the_loom_are_no_fault_of_the_motor(what: str) -> None:
    arrangement, edges, leads, spare = BESIDE[what]
    motor, verdict = sorted_network(edges, leads)
    assert verdict.arrangement == arrangement and verdict.confidence >= NAMED_FROM and not verdict.faults
    assert set(verdict.spare) == {motor.lead[k] for k in spare}
    assert sum(FRAME not in (r.a, r.b) for r in motor.readings) <= leads * (leads - 1) / 2 + 3  # each pair about once
    if what != "six silent leads":
        told = "unlike the motor's own coils" if "brake" in what else "is no winding, but a"
        assert any(told in text for text in verdict.cannot_tell) and verdict.looks_like is None


def test_kilohms_read_once_may_be_a_slip_of_the_point() -> None:
    names = ("RD", "BU", "WH", "BK", "GN", "YE")
    taken = [("RD", "BU", 240.0), ("GN", "YE", 2400.0), ("WH", "BK", 241.0)]
    ask = asked_after(names, *taken).ask
    assert ask is not None and {ask.a, ask.b} == {"GN", "YE"} and "kilohms" in ask.why
    corrected = asked_after(names, *taken, ("GN", "YE", 240.0))
    assert "GN" not in corrected.spare
    insisted = asked_after(names, *taken, ("YE", "GN", 5100.0))  # a sensor reads otherwise with the probes turned
    assert insisted.spare == ("GN", "YE") and "2.4 kohm is no winding" in insisted.cannot_tell[0]


def test_a_fan_of_two_speeds_has_no_shorted_turns() -> None:
    motor = RoughMotor(random.Random(1), "tapped-coil-3")
    motor.matrix = resistance_matrix(3, [(0, 1, 40.0), (1, 2, 95.0)], 3)
    verdict = sort_out(motor)
    assert not verdict.faults and "two speeds" in str(verdict.looks_like)


@pytest.mark.parametrize(
    "edges", [[(0, 1, 60.0), (1, 2, 35.0), (2, 3, 90.0)], [(0, 1, 40.0), (0, 2, 65.0), (0, 3, 95.0)]]
)
def test_a_fan_of_four_unlike_leads_is_no_star_with_shorted_turns(edges: list[Edge]) -> None:
    for seed in range(3):
        _, verdict = sorted_network(edges, 4, seed)
        assert verdict.arrangement == "unknown" and not verdict.faults and "two speeds" in str(verdict.looks_like)


def test_two_motors_of_unlike_ohms_are_no_four_halves() -> None:
    motor, verdict = sorted_network([(0, 1, 19.4), (2, 3, 20.4), (4, 5, 4.1), (6, 7, 4.2)], 8)
    assert verdict.arrangement == "unknown" and verdict.looks_like == TWO_MOTORS and not verdict.faults
    assert verdict.confidence >= NAMED_FROM and len(motor.readings) <= 40
    ends = [{motor.terminal[end] for end in coil.ends} for coil in verdict.coils]
    assert sorted(map(sorted, ends)) == [[0, 1], [2, 3], [4, 5], [6, 7]]
    assert "two four-lead motors in one loom" in what_it_is(verdict) and "by itself" in next_steps(verdict)[0]
    assert not warnings(verdict)


def test_kilohms_of_a_fan_are_read_past_its_other_leads() -> None:
    names = ("RD", "BU", "WH", "BK")
    taken = [("WH", "BK", 2470.0), ("WH", "BK", 2480.0), ("RD", "BU", 561.0), ("RD", "BU", 561.0)]
    ask = asked_after(names, *taken).ask
    assert ask is not None and {ask.a, ask.b} & {"WH", "BK"} and {ask.a, ask.b} & {"RD", "BU"}
    joined = asked_after(names, *taken, ("RD", "WH", 1098.0), ("RD", "BK", 1377.0))
    assert joined.arrangement == "unknown" and not joined.spare


def test_a_star_whose_common_hangs_on_a_slip_is_asked_on() -> None:
    names = ("RD", "BU", "WH", "BK")
    # The tips were on the common, not on WH: RD to WH is two arms.
    taken = [Reading("RD", "BU", 13.8), Reading("WH", "BK", 7.0), Reading("RD", "WH", 7.0)]
    ask = judge(names, taken).ask
    assert ask is not None and ask.kind == "pair"


def test_a_silent_lead_is_read_to_the_frame_before_it_is_spare() -> None:
    motor, verdict = sorted_network([(0, 1, 24.0), (2, 3, 24.0)], 5)
    (spare,) = verdict.spare
    assert any({reading.a, reading.b} == {spare, FRAME} for reading in motor.readings)


def test_a_common_lead_has_been_read_to_two_of_its_ends() -> None:
    for seed in range(3):
        motor = RoughMotor(random.Random(seed), "unipolar-5")
        common = sort_out(motor).common
        ends = {lead for r in motor.readings if r.ohm < OPEN and common in (r.a, r.b) for lead in (r.a, r.b)}
        assert len(ends) >= 3


def test_a_ring_with_an_open_side_gives_that_side_no_ohms_and_a_sound_one_its_own() -> None:
    _, opened = sorted_network([(k, k + 1, 24.0) for k in range(4)], 5)
    assert opened.arrangement == "five-phase-ring-5" and [fault.kind for fault in opened.faults] == ["open"]
    assert [coil.ohm for coil in opened.coils if set(coil.ends) == set(opened.faults[0].leads)] == [None]
    _, sound = sorted_network([(k, (k + 1) % 5, 24.0) for k in range(5)], 5)
    # Beside a side of the ring lie the four others: between its ends a meter reads four fifths of it.
    assert all(coil.ohm == pytest.approx(24.0, rel=0.07) for coil in sound.coils)


def test_a_star_of_three_with_a_dead_arm() -> None:
    motor, verdict = sorted_network([(0, 1, 24.0), (0, 2, 24.0)], 4)
    if verdict.confidence >= NAMED_FROM:
        assert verdict.common == motor.lead[0] and [fault.kind for fault in verdict.faults] == ["open"]


def test_one_open_reading_of_ten_leads_is_no_dead_coil() -> None:
    motor = RoughMotor(random.Random(3), "five-phase-10", "OL for a value", 6, least_ohm=5.0)
    verdict = sort_out(motor)
    assert motor.slipped is not None and motor.is_named_by(verdict) and verdict.confidence >= NAMED_FROM


FIVE = ("RD", "BU", "WH", "BK", "GN")


def asked_after(names: tuple[str, ...], *taken: tuple[str, str, float]) -> Verdict:
    return judge(names, [Reading(*reading) for reading in taken])


def test_a_ring_hangs_on_no_single_reading() -> None:
    # The tips of the first one were on another pair: RD BU are a side, not across.
    taken = (("RD", "BU", 76.7), ("WH", "BK", 51.3), ("RD", "WH", 50.8), ("BU", "WH", 75.5), ("WH", "GN", 76.1))
    ask = asked_after(FIVE, *taken).ask
    assert ask is not None and ask.kind == "pair"


def test_one_low_side_of_a_ring_is_read_again_before_it_has_shorted_turns() -> None:
    taken = [("RD", "BU", 130.6), ("WH", "BK", 125.6), ("WH", "GN", 81.4), ("RD", "WH", 71.2), ("BU", "GN", 86.5)]
    more = [("RD", "BK", 88.2), ("RD", "GN", 124.7), ("BU", "WH", 128.2), ("BU", "BK", 88.6), ("BK", "GN", 130.3)]
    asks = [asked_after(FIVE, *taken, *more[:count]).ask for count in range(len(more) + 1)]
    assert {"RD", "WH"} in [{ask.a, ask.b} for ask in asks if ask is not None]


def test_a_ring_of_least_ohms_is_not_asked_without_end() -> None:
    motor = RoughMotor(random.Random("r1"), "five-phase-ring-5", ohm=0.3)
    verdict = sort_out(motor)
    assert verdict.confidence < NAMED_FROM and next_steps(verdict) == [
        FINER
    ]  # said as not known, and what would tell
    assert len(motor.readings) <= 33  # each of the ten pairs three times


def test_a_side_of_a_ring_known_by_its_fellows_alone_is_known_no_better_than_they_are_alike() -> None:
    _, verdict = sorted_network([(k, (k + 1) % 5, 24.0) for k in range(5)], 5)
    assert max(coil.ohm_sd or 0.0 for coil in verdict.coils) > 0.02 * 24.0


def test_a_value_that_is_just_that_of_another_pair_needs_another_to_agree() -> None:
    names = ("RD", "BU", "WH", "BK", "GN", "YE")
    taken = (("BU", "YE", 39.7), ("BU", "BK", 41.1), ("BK", "YE", 81.4), ("RD", "WH", 40.4))
    for value in (81.4, 81.3):  # typed again, and measured again
        again = asked_after(names, *taken, ("RD", "GN", value)).ask
        assert again is not None and again.kind == "pair"
    other = asked_after(names, *taken, ("RD", "GN", 79.8)).ask
    assert other is not None and other.kind == "frame"


def test_coils_all_alike_are_no_sign_that_one_was_read_for_another() -> None:
    names = ("RD", "BU", "WH", "BK", "GN", "YE")
    alike = (("BU", "YE", 40.0), ("BU", "BK", 40.0), ("RD", "WH", 40.0), ("BK", "YE", 80.0), ("RD", "GN", 80.0))
    unlike = (("BU", "YE", 41.5), ("BU", "BK", 38.5), ("RD", "WH", 39.3), ("BK", "YE", 80.0), ("RD", "GN", 80.0))
    assert asked_after(names, *alike).confidence > asked_after(names, *unlike).confidence


def test_the_common_lead_is_proved_by_the_reading_that_would_contradict_it() -> None:
    # RD is common: one reading to another of its ends is owed anyway.
    ask = asked_after(FIVE, ("BU", "WH", 48.2), ("BK", "GN", 49.1), ("RD", "WH", 24.6)).ask
    assert ask is not None and "RD" in (ask.a, ask.b)


def test_the_ohms_of_one_coil_alone_are_read_the_other_way_round_too() -> None:
    taken = [("RD", "BU", 24.3)]
    ask = asked_after(("RD", "BU"), *taken).ask
    assert ask is not None and (ask.a, ask.b) == ("BU", "RD")
    assert asked_after(("RD", "BU"), *taken, ("BU", "RD", 24.2)).sure is False  # the frame is left
    third = asked_after(("RD", "BU"), *taken, ("BU", "RD", 2.4)).ask
    assert third is not None and third.kind in ("pair", "probes-together")


def test_a_coil_further_from_its_fellow_than_they_are_made_is_read_again() -> None:
    four = ("RD", "BU", "WH", "BK")
    taken = (("RD", "BU", 68.2), ("WH", "BK", 76.3), ("RD", "WH", OPEN), ("BU", "BK", OPEN))
    ask = asked_after(four, *taken).ask
    assert ask is not None and {ask.a, ask.b} in ({"RD", "BU"}, {"WH", "BK"})
    near = asked_after(four, ("RD", "BU", 71.2), *taken[1:]).ask
    assert near is not None and near.kind == "frame"


def test_a_poor_contact_at_least_ohms_makes_no_brush_motor_of_a_coil() -> None:
    for own, *taken in ((0.5, 0.9, 1.1, 0.9, 1.1), (0.5, 1.8, 0.8, 1.0, 0.8), (0.4, 1.7, 1.8, 1.8, 1.8)):
        held = Reading("probes", "probes", own)
        verdict = judge(("RD", "BU"), [held, *(Reading("RD", "BU", ohm) for ohm in taken)])
        assert verdict.arrangement == "single-coil-2" and verdict.confidence >= NAMED_FROM
