"""The records of the arrangements, and a catalogue with one more of them."""

from __future__ import annotations

import random
import subprocess
import sys
from functools import partial
from itertools import permutations

import numpy as np
import pytest

from coilbench.winding import report
from coilbench.winding.drawing.model import draw
from coilbench.winding.drawing.strip import lay_out
from coilbench.winding.drawing.text import as_text, strip_lines
from coilbench.winding.engine.catalogue import CATALOGUE, UNLISTED, Arrangement, Catalogue
from coilbench.winding.engine.fitness import fitness
from coilbench.winding.engine.hypotheses import EXACT_LEADS, table_for
from coilbench.winding.engine.sorting import judge
from coilbench.winding.engine.symmetry import distinct_assignments
from coilbench.winding.engine.templates import healthy, with_faults
from coilbench.winding.engine.wording import alternative_text, always_untold, fault_text, twin_text
from coilbench.winding.order.judging import order_question
from coilbench.winding.readings.reading import Reading

from .hidden import HiddenMotor, sort_out

SEVEN = Arrangement(
    "tapped-and-two-7",
    terminals=7,
    edges=((0, 1, 1.0), (1, 2, 1.0), (3, 4, 1.0), (5, 6, 1.0)),
    coils=((0, 2, 1), (3, 4, None), (5, 6, None)),
    shares={7: 0.5},
    title="a tapped coil and two plain ones",
    motor="a motor of one tapped coil and two plain ones",
    extra_faults=("tapped-coil-dead",),
)
LARGER = Catalogue((*CATALOGUE, SEVEN))
CATALOGUES = {"as it is": CATALOGUE, "with one more": LARGER}


@pytest.mark.parametrize(
    ("kind", "leads"),
    [(SEVEN, 7), (CATALOGUE["unipolar-6"], 7), (CATALOGUE["bipolar-4"], 7), (CATALOGUE["unipolar-6"], 6)],
    ids=lambda value: getattr(value, "name", str(value)),
)
def test_one_more_record_is_all_that_a_new_arrangement_takes(kind: Arrangement, leads: int) -> None:
    """It is named from readings, and so are those that were there before, with and without a spare."""
    for seed in range(2):
        motor = HiddenMotor(random.Random(seed), kind, leads)
        verdict = sort_out(motor, judge=partial(judge, catalogue=LARGER)).verdict
        assert motor.is_named_by(verdict) and verdict.sure
        assert kind.motor in report.what_it_is(verdict, LARGER)
        assert report.next_steps(verdict, catalogue=LARGER) and report.cannot_tell_sentences(verdict)
        assert (order_question(verdict, LARGER) is not None) == kind.ordered
        assert all(lead in as_text(strip_lines(lay_out(draw(verdict, catalogue=LARGER)))) for lead in motor.names)


def test_a_dead_coil_of_the_new_arrangement_is_told_or_named_as_what_it_may_be() -> None:
    """With one coil less it reads like another arrangement with a spare, on any meter."""
    for seed in range(4):
        motor = HiddenMotor(random.Random(seed), SEVEN, dead=True)
        verdict = sort_out(motor, judge=partial(judge, catalogue=LARGER)).verdict
        assert SEVEN.name in " ".join((verdict.arrangement, *verdict.cannot_tell))
        if verdict.arrangement == SEVEN.name:
            assert fitness(verdict, LARGER).says.startswith("keep this motor for parts")


@pytest.mark.parametrize("catalogue", CATALOGUES.values(), ids=CATALOGUES)
@pytest.mark.parametrize("leads", range(2, EXACT_LEADS + 1))
def test_every_case_of_every_number_of_leads_has_words(leads: int, catalogue: Catalogue) -> None:
    names = tuple("abcdefgh"[:leads])
    templates = table_for(leads, catalogue).templates
    for template in templates:
        at = tuple(names[terminal] for terminal in template.fault_terminals)
        assert always_untold(template)
        assert template.fault is None or all(name in fault_text(template, at) for name in at)
        assert template.arrangement.title in alternative_text(template, [names])
        assert template.arrangement.name in twin_text(templates[0], template)


@pytest.mark.parametrize("catalogue", CATALOGUES.values(), ids=CATALOGUES)
@pytest.mark.parametrize("leads", range(2, EXACT_LEADS + 1))
def test_the_prior_adds_up(leads: int, catalogue: Catalogue) -> None:
    assert sum(catalogue.prior(leads).values()) == pytest.approx(1.0)
    assert np.exp(table_for(leads, catalogue).log_prior).sum() == pytest.approx(1.0)


def test_a_record_more_leaves_the_others_as_likely_among_themselves() -> None:
    before, after = CATALOGUE.prior(7), LARGER.prior(7)
    assert after[SEVEN] == pytest.approx(0.5 / 1.5)
    assert [after[one] / (1 - after[SEVEN]) for one in before] == pytest.approx(list(before.values()))
    assert all(CATALOGUE.prior(leads) == LARGER.prior(leads) for leads in (2, 3, 4, 5, 6, 8))


def test_the_shares_of_each_number_of_leads_are_whole() -> None:
    """As they stand in the records they read as parts of one."""
    for leads in range(2, EXACT_LEADS + 1):
        assert sum(one.shares.get(leads, 0.0) for one in CATALOGUE) == pytest.approx(1.0)


def test_a_number_of_leads_nobody_has_a_share_for_is_judged_all_the_same() -> None:
    plain = Catalogue((CATALOGUE["bipolar-4"], CATALOGUE["single-coil-2"]))
    assert plain.prior(3) == {CATALOGUE["single-coil-2"]: 1.0}
    assert plain.prior(8) == {CATALOGUE["bipolar-4"]: 1.0}
    readings = [Reading("1", "2", 12.0), Reading("3", "4", 12.1)]
    assert judge(tuple("123"), readings[:1], catalogue=plain).arrangement == "single-coil-2"
    for leads in range(2, 13):
        names = tuple(str(number) for number in range(1, leads + 1))
        nothing = judge(names, readings if leads > 3 else readings[:1], catalogue=Catalogue(()))
        assert nothing.arrangement == UNLISTED.name


def test_the_records_are_sound() -> None:
    assert len({one.name for one in CATALOGUE}) == len(list(CATALOGUE))
    for one in CATALOGUE:
        assert one.title and one.motor and one.untold
        assert set(range(one.terminals)) <= {node for edge in one.edges for node in edge[:2]}
        assert all(end < one.terminals for coil in one.coils for end in coil if end is not None)
        assert all(leads >= one.terminals for leads in one.shares)
        assert one.terminals > EXACT_LEADS or one.terminals in one.shares
        if "two-coils-dead" in one.extra_faults:
            assert len(one.pieces) == len(one.coils) > 2
        if "tapped-coil-dead" in one.extra_faults or one.two_phase == "tapped":
            assert one.tapped
        if one.two_phase == "common":
            assert one.common is not None


@pytest.mark.parametrize(
    ("name", "drivable", "ordered", "phases_need_order", "halves_pair", "tapped"),
    [
        ("bipolar-4", True, False, False, False, False),
        ("unipolar-5", True, True, True, False, False),
        ("unipolar-6", True, True, False, False, True),
        ("split-8", True, True, True, True, False),
        ("tapped-coil-3", False, False, False, False, True),
        ("five-phase-10", False, False, False, False, False),
        ("unknown", False, False, False, False, False),
        ("a name of another version", False, False, False, False, False),
    ],
)
def test_what_the_later_stages_ask(name, drivable, ordered, phases_need_order, halves_pair, tapped) -> None:
    one = CATALOGUE.find(name)
    asked = (one.drivable, one.ordered, one.phases_need_order, one.halves_pair, one.tapped)
    assert asked == (drivable, ordered, phases_need_order, halves_pair, tapped)


def test_the_records_load_nothing_heavy() -> None:
    program = "import sys, coilbench.winding.engine.catalogue; sys.exit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0


@pytest.mark.parametrize("seed", range(20))
def test_distinct_assignments_are_those_of_all_permutations(seed: int) -> None:
    """The first of each kind, in the order of the permutations."""
    rng = np.random.default_rng(seed)
    size = int(rng.integers(2, 6))
    colour = np.triu(rng.integers(0, int(rng.integers(1, 4)), (size, size)), 1)
    colour = colour + colour.T
    first: dict[bytes, tuple[int, ...]] = {}
    for way in permutations(range(size)):
        first.setdefault(colour[np.ix_(way, way)].tobytes(), way)
    assert [tuple(way) for way in distinct_assignments(colour).tolist()] == list(first.values())


@pytest.mark.parametrize("one", [*CATALOGUE, SEVEN], ids=lambda one: one.name)
def test_faults_share_out_the_prior(one: Arrangement) -> None:
    found = with_faults(healthy(one, one.terminals + 1, 0.3))
    assert sum(template.prior for template in found) == pytest.approx(0.3)
    assert all(template.prior > 0 for template in found)
