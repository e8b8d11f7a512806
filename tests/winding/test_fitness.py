"""What is left of a faulty motor, by the winding's own physics and by bench practice."""

from __future__ import annotations

import random

import pytest

from coilbench.winding.engine.fitness import fitness
from coilbench.winding.engine.network import resistance_matrix
from coilbench.winding.engine.verdict import Fault, Verdict

from .hidden import HiddenMotor, sort_out


def result(arrangement: str, *faults: tuple[str, list[str]], confidence: float = 0.99) -> Verdict:
    found = tuple(Fault(kind, tuple(leads), "") for kind, leads in faults)  # type: ignore[arg-type]
    return Verdict(("RD", "BU"), arrangement, confidence, faults=found)


def test_a_sound_motor_and_one_not_sorted_yet_have_nothing_said() -> None:
    for known in (None, result("unipolar-6")):
        found = fitness(known)
        assert found.usable and found.only is None and found.line == ""


@pytest.mark.parametrize("arrangement", ["bipolar-4", "unipolar-6", "split-8", "unknown"])
def test_a_leak_to_the_frame_stops_everything_and_comes_before_other_faults(arrangement: str) -> None:
    leaking = result(arrangement, ("open", ["BU"]), ("frame", ["RD"]), confidence=0.4)
    found = fitness(leaking)
    assert not found.usable and found.says == "do not power this motor: RD conducts to the case"


@pytest.mark.parametrize(
    ("arrangement", "kind", "leads"),
    [
        ("bipolar-4", "open", ["YE", "PK"]),  # one coil alone pulls to and fro
        ("split-8", "open", ["c", "d", "e", "f"]),  # perhaps both halves of one phase
        ("unipolar-5", "open", ["RD", "YE"]),  # two bridges would meet in the common lead
        ("unipolar-5", "broken-lead", ["RD"]),
        ("five-phase-ring-5", "open", ["a", "b"]),
        ("unipolar-6", "open", ["RD", "WH", "BU"]),  # a whole coil
        *((name, "shorted-turns", ["a", "b"]) for name in ("bipolar-4", "unipolar-6", "split-8")),
    ],
)
def test_kept_for_parts(arrangement: str, kind: str, leads: list[str]) -> None:
    found = fitness(result(arrangement, (kind, leads)))
    assert not found.usable and found.says.startswith("keep this motor for parts")
    assert all(lead in found.says for lead in leads)


def test_one_sound_half_to_a_phase_is_a_half_coil_motor() -> None:
    # Both halves of a phase are wound on the same poles, so either of them works the whole phase (common practice).
    assert fitness(result("unipolar-6", ("open", ["BU"]))).only == "half-coil"
    eight = fitness(result("split-8", ("open", ["c", "d"])))
    assert eight.only == "half-coil" and "flick test" in eight.remedy


def test_a_lost_tap_leaves_whole_coils() -> None:
    assert fitness(result("unipolar-6", ("broken-lead", ["YE"]))).only == "series"


def test_a_fault_that_is_not_sure_yet_is_said_so() -> None:
    found = fitness(result("bipolar-4", ("open", ["YE", "PK"]), confidence=0.7))
    assert found.says.startswith("perhaps ") and "measure on" in found.remedy and not found.usable


def found_by_measuring(edges: list[tuple[int, int, float]], nodes: int = 6) -> Verdict:
    """The verdict on six leads in order, of such coil parts between them."""
    motor = HiddenMotor(random.Random(1), "unipolar-6", noisy=False, order=list(range(6)), ohm=24.0)
    motor.matrix = resistance_matrix(nodes, edges, 6)
    return sort_out(motor).verdict


HALVES = [(0, 1, 24.0), (1, 2, 24.0), (3, 4, 24.0), (4, 5, 24.0)]


def test_an_open_half_measured_out() -> None:
    assert fitness(found_by_measuring(HALVES[:3])).only == "half-coil"


def test_a_lost_tap_measured_out() -> None:
    tap_lost = [(0, 6, 24.0), (6, 2, 24.0), *HALVES[2:]]
    assert fitness(found_by_measuring(tap_lost, nodes=7)).only == "series"


def test_a_whole_tapped_coil_dead_is_named_and_kept_for_parts() -> None:
    dead = found_by_measuring(HALVES[:2])
    assert dead.arrangement == "unipolar-6" and dead.confidence > 0.95
    assert [(fault.kind, fault.leads) for fault in dead.faults] == [("open", ("BK", "GN", "YE"))]
    assert not fitness(dead).usable
    assert "which of the dead coil's leads is its tap" in dead.cannot_tell
