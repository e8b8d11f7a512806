"""The judge on single cases, and what must not change its mind."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilbench.errors import InputProblem
from coilbench.winding.engine.catalogue import CATALOGUE
from coilbench.winding.engine.hypotheses import table_for
from coilbench.winding.engine.judged import weighed
from coilbench.winding.engine.likelihood import Fit, fit_to
from coilbench.winding.engine.sorting import judge, verdict_on
from coilbench.winding.engine.verdict import Verdict
from coilbench.winding.readings.meter import DEFAULT_METER
from coilbench.winding.readings.reading import FRAME, PROBES, Reading
from coilbench.winding.report import next_steps

from .hidden import HiddenMotor, Judge, sort_out

OPEN = math.inf


@pytest.mark.parametrize(
    ("leads", "arrangement", "assignments"),
    [(4, "bipolar-4", 3), (5, "unipolar-5", 5), (6, "unipolar-6", 90), (8, "split-8", 105)],
)
def test_every_distinct_assignment_is_listed_once(leads, arrangement, assignments) -> None:
    """By counting: 3 pairings; 5 commons; (6 choose 3) / 2 * 3 * 3; 8! / (2^4 4!)."""
    table = table_for(leads, CATALOGUE)
    sound = [
        k
        for k, t in enumerate(table.templates)
        if t.arrangement.name == arrangement and t.fault is None and not t.strangers
    ]
    assert sum(int(number) in sound for number in table.template) == assignments


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from(["bipolar-4", "unipolar-5", "unipolar-6"]))
def test_names_and_order_do_not_matter(seed, arrangement) -> None:
    """Other lead names, a reading turned round, another order of entry: the same confidence in the same winding."""
    rng = random.Random(seed)
    motor = HiddenMotor(rng, arrangement)
    pairs = [(a, b) for k, a in enumerate(motor.names) for b in motor.names[k + 1 :]]
    readings = [Reading(a, b, motor.read(a, b)) for a, b in rng.sample(pairs, 5)]
    before = judge(motor.names, readings)
    turned = [Reading(r.b, r.a, r.ohm) for r in reversed(readings)]
    assert judge(motor.names, turned).confidence == pytest.approx(before.confidence, rel=1e-6)
    shuffled = dict(zip(motor.names, rng.sample(motor.names, len(motor.names)), strict=True))
    renamed = judge(motor.names, [Reading(shuffled[r.a], shuffled[r.b], r.ohm) for r in readings])
    assert renamed.arrangement == before.arrangement
    assert renamed.confidence == pytest.approx(before.confidence, rel=1e-6)


def test_a_low_winding_asks_for_the_probes() -> None:
    """A 0.6 ohm half behind 0.3 ohm of leads on a 0.1 ohm display."""
    motor = HiddenMotor(random.Random(4), "unipolar-6", ohm=0.6)
    motor.probes = 0.3
    course = sort_out(motor)
    assert motor.is_named_by(course.verdict)
    assert any(reading.a == PROBES for reading in course.readings)
    coil = course.verdict.coils[0]
    assert coil.ohm is not None and coil.ohm_sd is not None
    assert abs(coil.ohm - 1.2) < 3 * coil.ohm_sd + 0.02


def test_fingers_are_no_connection() -> None:
    verdict = judge(("RD", "BU", "WH", "BK"), [Reading("RD", "BU", 12.0), Reading("RD", "WH", 2e6)])
    plain = judge(("RD", "BU", "WH", "BK"), [Reading("RD", "BU", 12.0), Reading("RD", "WH", OPEN)])
    assert verdict.confidence == pytest.approx(plain.confidence)


def test_a_finger_reading_to_the_frame_is_asked_again() -> None:
    readings = [
        Reading("RD", "BU", 12.0),
        Reading("WH", "BK", 12.1),
        Reading("RD", "WH", OPEN),
        Reading("RD", FRAME, 3e6),
    ]
    ask = judge(("RD", "BU", "WH", "BK"), readings).ask
    assert ask is not None and (ask.a, ask.b, ask.kind) == ("RD", FRAME, "frame")


def test_open_on_a_low_range_may_be_a_high_coil() -> None:
    names = ("RD", "BU", "WH", "BK")
    readings = [Reading("RD", "BU", OPEN, range_ohm=200.0), Reading("RD", "WH", OPEN), Reading("RD", "BK", OPEN)]
    ask = judge(names, readings).ask
    assert ask is not None and ask.kind == "range" and {ask.a, ask.b} == {"RD", "BU"}
    settled = judge(names, [*readings, Reading("RD", "BU", 400.0), Reading("WH", "BK", 401.0)])
    assert settled.arrangement == "bipolar-4" and settled.confidence > 0.95


def test_a_slip_is_named_and_a_repeat_settles_it() -> None:
    names = ("RD", "BU", "WH", "BK")
    readings = [Reading("RD", "BU", 12.3), Reading("WH", "BK", 123.0), Reading("RD", "WH", OPEN)]
    doubtful = judge(names, readings)
    assert doubtful.ask is not None and {doubtful.ask.a, doubtful.ask.b} in ({"RD", "BU"}, {"WH", "BK"})
    settled = judge(names, [*readings, Reading("WH", "BK", 12.3)])
    assert settled.confidence > 0.99 and not settled.repeat


def test_shorted_turns() -> None:
    names = ("RD", "BU", "WH", "BK")
    twice = [Reading("RD", "BU", 20.0), Reading("WH", "BK", 12.0)] * 2
    verdict = judge(names, [*twice, Reading("RD", "WH", OPEN)])
    assert verdict.arrangement == "bipolar-4"
    assert [(fault.kind, fault.leads) for fault in verdict.faults] == [("shorted-turns", ("WH", "BK"))]


def test_what_resistance_never_tells_is_said() -> None:
    for arrangement, word in (
        ("split-8", "share a phase"),
        ("unipolar-5", "phase order"),
        ("three-phase-3", "delta"),
    ):
        told = sort_out(HiddenMotor(random.Random(8), arrangement)).verdict.cannot_tell
        assert any(word in text for text in told)


def test_skipped_pairs_are_not_asked() -> None:
    names = ("RD", "BU", "WH", "BK")
    first = judge(names, []).ask
    assert first is not None
    second = judge(names, [], skipped=[(first.b, first.a)]).ask
    assert second is not None and {second.a, second.b} != {first.a, first.b}


def test_perhaps_not_a_stepper() -> None:
    assert "solenoid" in str(judge(("1", "2"), [Reading("1", "2", 30.0)]).looks_like)
    turned = [Reading("1", "2", 8.0), Reading("1", "2", 12.0)]
    assert "brush motor: its ohms change" in str(judge(("1", "2"), turned).looks_like)
    kilohms = [
        Reading("1", "2", 4700.0),
        Reading("1", "3", 9100.0),
        Reading("2", "3", 2200.0),
        Reading("3", "4", 800.0),
    ]
    assert "electronics" in str(judge(("1", "2", "3", "4"), kilohms).looks_like)


def test_two_six_lead_motors_in_one_loom() -> None:
    names = tuple("abcdefghijkl")
    sets = [("a", "e", "k"), ("b", "c", "d"), ("f", "l", "g"), ("h", "i", "j")]

    def read(a: str, b: str) -> float:
        for first, tap, last in sets:
            if {a, b} <= {first, tap, last}:
                return 24.1 if tap in (a, b) else 48.2
        return OPEN

    readings: list[Reading] = []
    while (ask := judge(names, readings).ask) is not None and len(readings) < 90:
        readings.append(Reading(ask.a, ask.b, OPEN if FRAME in (ask.a, ask.b) else read(ask.a, ask.b)))
    verdict = judge(names, readings)
    assert verdict.sure and verdict.looks_like == "two six-lead motors in one loom"
    assert {(frozenset(c.ends), c.tap) for c in verdict.coils} == {(frozenset((s[0], s[2])), s[1]) for s in sets}


@pytest.mark.parametrize(
    ("leads", "readings"),
    [
        (("a",), []),
        (tuple("abcdefghijklm"), []),
        (("a", "a"), []),
        (("a", "b"), [Reading("a", "c", 1.0)]),
        (("a", "b"), [Reading("a", "a", 1.0)]),
        (("a", "b"), [Reading("a", "b", -1.0)]),
        (("a", "b"), [Reading("a", "b", math.nan)]),
        (("a", "b"), [Reading("a", PROBES, 1.0)]),
    ],
)
def test_bad_input_is_refused_in_one_line(leads, readings) -> None:
    with pytest.raises(InputProblem) as caught:
        judge(leads, readings)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("leads", [2, 3, 5, 8, 10])
def test_any_answers_come_to_an_end(leads) -> None:
    """Nonsense, skips and hand-set ranges: the questions stop, and every number stays a number."""
    for seed in range(2):
        rng = random.Random(seed)
        names = tuple("abcdefghij"[:leads])
        readings: list[Reading] = []
        skipped: list[tuple[str, str]] = []
        for _ in range(12 * leads):
            verdict = judge(names, readings, skipped=skipped)
            assert 0 <= verdict.confidence <= 1 + 1e-9
            if verdict.ask is None:
                break
            if rng.random() < 0.15:
                skipped.append((verdict.ask.a, verdict.ask.b))
                continue
            ohm = OPEN if rng.random() < 0.5 else rng.choice([0.0, 0.2, 5, 10, 10.1, 20, 3e3, 2e5, 2e6])
            readings.append(Reading(verdict.ask.a, verdict.ask.b, ohm, rng.choice([None, 200.0])))
        else:
            pytest.fail("still asking")


def test_a_tap_placed_by_elimination_is_asked_for() -> None:
    names = ("RD", "BU", "WH", "GN", "BK", "YE")
    ends = [("RD", "BU", 48.0), ("RD", "WH", 24.0), ("GN", "BK", 47.1), ("RD", "GN", math.inf)]
    readings = [Reading(*pair) for pair in ends] + [Reading(lead, FRAME, math.inf) for lead in ("RD", "GN")]
    verdict = judge(names, readings)
    assert verdict.confidence > 0.95 and verdict.untouched == ("YE",)  # named, and each coil alive
    assert verdict.ask is not None and {verdict.ask.a, verdict.ask.b} == {"YE", "GN"} and not verdict.sure
    proved = judge(names, [*readings, Reading("YE", "BK", 24.0)])
    assert proved.sure and proved.untouched == () and len(next_steps(proved)) == 1
    # Another reading may have been the slip: the questions go on until nothing else is left.
    true = {frozenset(pair[:2]): pair[2] for pair in ends}
    taken = [*readings, Reading("YE", "BK", math.inf), Reading("YE", "BK", math.inf)]
    while (ask := (broken := judge(names, taken)).ask) is not None:
        taken.append(Reading(ask.a, ask.b, true.get(frozenset((ask.a, ask.b)), math.inf)))
    assert [fault.kind for fault in broken.faults] == ["broken-lead"]
    skipped = [("YE", "GN"), ("YE", "BK")]
    true[frozenset(("BU", "WH"))] = 24.0
    while (ask := (passed := judge(names, readings, skipped=skipped)).ask) is not None:
        readings.append(Reading(ask.a, ask.b, true.get(frozenset((ask.a, ask.b)), math.inf)))
    assert passed.sure and "YE to GN proves it" in next_steps(passed)[-1]  # not measured, but said


def test_no_question_hangs_on_a_numbers_last_bits() -> None:
    """Another processor rounds otherwise, and must come to the same question."""
    motors = [("unipolar-6", True), ("unipolar-6", False), ("bipolar-4", True), ("unipolar-5", True)]

    def courses(judge: Judge = judge) -> list[list[tuple[str, str]]]:
        sorted_out = [
            sort_out(HiddenMotor(random.Random(4), name, noisy=noisy), judge=judge) for name, noisy in motors
        ]
        return [[(reading.a, reading.b) for reading in course.readings] for course in sorted_out]

    here = courses()
    noise = np.random.default_rng(3)

    def elsewhere(*given: Any) -> Fit:
        fit = fit_to(*given)
        fields = {name: value * (1 + 3e-15 * noise.uniform(-1, 1, value.shape)) for name, value in vars(fit).items()}
        return Fit(**fields)

    def judge_elsewhere(names: Sequence[str], readings: Sequence[Reading]) -> Verdict:
        return verdict_on(weighed(tuple(names), readings, DEFAULT_METER, fit_of=elsewhere))

    for _ in range(2):
        assert courses(judge_elsewhere) == here


def test_two_silent_leads_of_ten_are_first_a_dead_coil_then_spares() -> None:
    """A silent lead counts first as a broken coil; what else it may be stands beside it."""
    names = tuple("abcdefghij")
    pairs = [names[k : k + 2] for k in range(0, 8, 2)]
    readings = [Reading(*pair, 5.0) for pair in pairs]
    readings += [Reading(a, b, math.inf) for k, a in enumerate(names) for b in names[k + 1 :] if (a, b) not in pairs]
    ask = judge(names, readings).ask
    assert ask is not None and {ask.a, ask.b} == {"i", "j"}  # one reading is no dead coil
    verdict = judge(names, [*readings, Reading("i", "j", math.inf), Reading("i", "j", math.inf)])
    assert verdict.arrangement == "five-phase-10"
    assert [(fault.kind, fault.leads) for fault in verdict.faults] == [("open", ("i", "j"))]
    assert "whether this is five-phase-10 with a dead coil or split-8 with two spare leads" in verdict.cannot_tell


def test_probes_that_read_more_than_a_winding_are_questioned() -> None:
    names = ("RD", "BU", "WH", "BK")
    first = [Reading("RD", "BU", 0.8), Reading(PROBES, PROBES, 1.5)]
    ask = judge(names, first).ask
    assert ask is not None and ask.kind == "probes-together" and "more than RD to BU" in ask.why
    # It was the probes' reading that slipped: the one that agrees with the rest counts, and the sorting goes on.
    mended = judge(names, [*first, Reading(PROBES, PROBES, 0.2)])
    assert mended.ask is not None and mended.ask.kind == "pair" and {mended.ask.a, mended.ask.b} != {"RD", "BU"}
    assert mended.probes_ohm == pytest.approx(0.2, abs=0.1)
    # It was the winding's: said twice, the probes are believed, and that pair is asked again.
    insisted = judge(names, [*first, Reading(PROBES, PROBES, 1.5)])
    assert insisted.ask is not None and {insisted.ask.a, insisted.ask.b} == {"RD", "BU"}


def test_probes_as_high_as_a_shorted_pair_within_the_display_are_taken() -> None:
    ask = judge(("RD", "BU", "WH", "BK"), [Reading("RD", "BU", 0.2), Reading(PROBES, PROBES, 0.3)]).ask
    assert ask is not None and ask.kind == "pair"


def test_probes_that_read_open_are_said_first_until_they_do_not() -> None:
    """A broken meter lead or a blown fuse makes every coil open (common practice: hold the tips together first)."""
    leads = ("RD", "BU", "GN", "BK")
    broken = [Reading("RD", "BU", math.inf), Reading(PROBES, PROBES, math.inf)]
    assert judge(leads, broken).notes[0].startswith("the probes held together read open")
    mended = [*broken, Reading(PROBES, PROBES, 0.2)]
    assert not any("read open" in note for note in judge(leads, mended).notes)
