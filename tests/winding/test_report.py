"""A verdict in words, tables and JSON."""

from __future__ import annotations

import math
from itertools import combinations

import pytest

from coilbench.winding import report
from coilbench.winding.engine.sorting import judge
from coilbench.winding.engine.verdict import Ask, Coil, Fault, Verdict
from coilbench.winding.order.judging import judge_order
from coilbench.winding.order.types import OrderQuestion, OrderTest
from coilbench.winding.readings.reading import FRAME, Reading
from tests.support.verdicts import LEADS, ODD, SIX

FIVE = Verdict(
    ("1", "2", "3", "4", "5"),
    "unipolar-5",
    0.99,
    tuple(Coil(name, ("5", end), None, 24.0, 0.2, True) for name, end in zip("ABCD", "1234", strict=True)),
    common="5",
    cannot_tell=("the phase order: which ends belong to one phase", "which way the shaft turns"),
    readings=6,
    sure=True,
)


def test_faults_and_repeats_in_words() -> None:
    assert report.warnings(ODD)[0].startswith("perhaps the half on red")
    assert "measure it again" in report.warnings(ODD)[1]


def test_order_only_once_it_is_known() -> None:
    question = OrderQuestion(ends=("1", "2", "3", "4"), supply=("5",) * 4)
    tests = [OrderTest("twitch", "1", "2", "cw"), OrderTest("twitch", "1", "3", "none")]
    known = judge_order(question, [*tests, OrderTest("twitch", "1", "4", "ccw")])
    assert report.drive_sentences(judge_order(question, tests)) == []
    assert "1, 2, 3, 4 turns the shaft clockwise" in report.drive_sentences(known)[0]
    assert report.cannot_tell_sentences(FIVE, known) == ["Direction and order are known from 3 tests."]


def test_lead_table() -> None:
    rows = {row.lead: row for row in report.lead_table(SIX)}
    assert [row.lead for row in report.lead_table(SIX)] == list(LEADS)
    assert (rows["red"].role, rows["red"].coil, rows["red"].ohm) == ("end", "A", 48.2)
    assert (rows["white"].role, rows["white"].ohm) == ("tap", 24.1)
    assert rows["red"].cells()[-2:] == ("48.2 ±0.3 Ω", ">99 %")
    five = {row.lead: row for row in report.lead_table(FIVE)}
    assert (five["5"].role, five["5"].coil) == ("common", "all")
    star = Verdict(("a", "b", "c", "d"), "three-phase-3", 0.97, spare=("d",), lead_ohm=3.2, doubt={"c": 0.7})
    rows = {row.lead: row for row in report.lead_table(star)}
    assert rows["a"].role == "inside" and rows["d"].role == "spare"
    assert rows["c"].cells()[3] == "inside?"


def test_a_leak_to_the_frame_comes_first_and_plainly() -> None:
    leaking = Verdict(LEADS, "unipolar-6", 0.99, SIX.coils, faults=(Fault("frame", ("red",), ""),), notes=("n",))
    assert report.warnings(leaking)[0].startswith("Do not power this motor: red conducts to the case")
    (step,) = report.next_steps(leaking)
    assert "set it aside for its parts" in step


def test_next_steps_of_motors_no_bipolar_driver_turns() -> None:
    for arrangement, driver in (
        ("three-phase-star-4", "three-phase driver"),
        ("five-phase-ring-5", "five-phase driver"),
    ):
        (step,) = report.next_steps(Verdict(LEADS, arrangement, 0.99, (), readings=6, sure=True))
        assert driver in step and "rating" not in step


def test_next_steps() -> None:
    assert "rating" in report.next_steps(SIX)[0]
    assert "phase order" in report.next_steps(FIVE)[0]
    halves = tuple(Coil(n, (f"{n}1", f"{n}2"), None, 3.0, 0.1, True) for n in "ABCD")
    eight = Verdict(tuple(e for c in halves for e in c.ends), "split-8", 0.99, halves, sure=True, readings=12)
    assert "flick test" in report.next_steps(eight)[0]
    asking = Verdict(LEADS, "unipolar-6", 0.5, ask=Ask("red", FRAME, "tells of leaks", "frame"))
    assert "bare metal" in report.next_steps(asking)[0] and "tells of leaks" in report.next_steps(asking)[0]


def test_what_it_is() -> None:
    assert report.what_it_is(SIX) == "This is a unipolar motor: two coils with centre taps (>99 % sure)."
    assert report.what_it_is(Verdict(LEADS, "unipolar-6", 0.9)) == "Nothing measured yet."
    assert report.what_it_is(Verdict(LEADS, "unipolar-6", 0.9, readings=2)).startswith("Perhaps a unipolar motor")
    assert report.what_it_is(Verdict(LEADS, "unknown", 0.9, readings=2)).startswith("These readings fit none")
    assert not report.named(Verdict(LEADS, "unknown", 0.99))


def test_the_ohms_taken_off_for_the_probes_are_said() -> None:
    readings = [Reading("red", "blue", 48.6), Reading("white", "black", 48.6), Reading("red", "white", math.inf)]
    said = report.ohms_sentences(judge(("red", "blue", "white", "black"), readings))
    assert said is not None and "0.2 ohm is taken off" in said
    assert report.ohms_sentences(judge(("red", "blue", "white", "black"), [])) == ""


def test_ohms_that_are_not_what_a_coil_reads_are_said_whose_they_are() -> None:
    leads = ("red", "blue", "white", "black", "green")
    pairs = list(combinations(leads, 2))
    star = judge(leads, [Reading(a, b, 20.2) for a, b in pairs])
    assert not star.coils and star.lead_ohm == pytest.approx(20.0, abs=0.3) and star.lead_ohm_sd is not None
    assert "between any two leads: twice" in report.ohms_sentences(star)
    assert {row.cells()[4] for row in report.lead_table(star)} == {"19.8 ±0.2 Ω"}  # the probes' usual share taken off
    steps = [min(leads.index(b) - leads.index(a), 5 - leads.index(b) + leads.index(a)) for a, b in pairs]
    ring = judge(leads, [Reading(a, b, {1: 19.4, 2: 29.0}[step]) for (a, b), step in zip(pairs, steps, strict=True)])
    assert {round(coil.ohm or 0.0) for coil in ring.coils} == {24}
    assert "four fifths" in report.ohms_sentences(ring)
