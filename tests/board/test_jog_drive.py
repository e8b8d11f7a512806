"""Drives of a jog, whose figures are whose, what is wired where, and a turn counted by chattering edges."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.board.frames import Frame
from coilbench.board.jog_drive import (
    NO_FIGURES,
    Drive,
    Kind,
    check_drivable,
    drive_of,
    driver_cautions,
    figures_of,
    likely_kind,
    with_figures,
)
from coilbench.board.turn_counter import EdgeNotes
from coilbench.board.wiring import coil_wiring, driver_wiring
from coilbench.errors import Fault, InputProblem
from coilbench.rating.coil_lines import coil_lines

DRIVES = [
    Drive(),
    Drive(microsteps=16),
    *(Drive(kind, form=form) for kind in ("array", "bridge") for form in ("wave", "full", "half")),
]  # type: ignore[arg-type]
PINS = {
    "driver": {"step": 5, "dir": 6, "enable": 7, "active": 0},
    "coils": {"a": 8, "b": 9, "c": 10, "d": 11},
    "sense": {"index": 2, "first": 14, "channels": 6},
}


@pytest.mark.parametrize("drive", DRIVES)
def test_a_drive_comes_back_from_its_json(drive: Drive) -> None:
    assert Drive.from_dict(drive.as_dict()) == drive
    assert drive_of({"drive": drive.as_dict()}) == drive
    assert drive.pulses == (2 if drive.form == "half" and drive.by_coils else drive.microsteps)


@pytest.mark.parametrize("plain", [{"kind": "magic"}, {"form": "some"}, {"microsteps": 0}, {"speed": 3}])
def test_drives_that_can_not_be(plain: dict[str, object]) -> None:
    with pytest.raises(InputProblem):
        Drive.from_dict(plain)


@given(st.lists(st.tuples(st.sampled_from(DRIVES), st.floats(10, 1e4)), max_size=12))
def test_figures_of_drives_never_mix(found: list[tuple[Drive, float]]) -> None:
    """Whatever the order in which they are found, each drive has its own last figure, and nothing is lost."""
    fact, last = None, {}
    for drive, rate in found:
        fact, last[drive.key] = with_figures(fact, drive, {"start_rate_sps": rate}), rate
    for drive in DRIVES:
        assert figures_of(fact, drive)["start_rate_sps"] == last.get(drive.key)
    if fact is not None:
        assert len(fact["others"]) == len(last) - 1 and not any("others" in each for each in fact["others"])


def test_a_result_of_before_there_were_drives_is_a_drivers() -> None:
    old = {"start_rate_sps": 500.0, "microsteps": 8, "resonance_sps": [111]}
    assert drive_of(old) == Drive(microsteps=8)
    assert figures_of(old, Drive("array")) == NO_FIGURES
    kept = with_figures(old, Drive("array"), {"start_rate_sps": 300.0})
    assert figures_of(kept, Drive())["start_rate_sps"] == 500 and kept["start_rate_sps"] == 300


def test_what_a_motor_is_likely_driven_by() -> None:
    assert likely_kind({}) == "driver"
    assert likely_kind({"connection": {"connection": "unipolar"}}) == "array"
    assert likely_kind({"windings": {"arrangement": "unipolar-5"}}) == "array"
    assert (
        likely_kind({"windings": {"arrangement": "unipolar-6"}, "connection": {"connection": "series"}}) == "driver"
    )


SIX = {
    "arrangement": "unipolar-6",
    "coils": [{"name": "A", "ends": ["RD", "BU"], "tap": "WH"}, {"name": "B", "ends": ["GN", "BK"], "tap": "YE"}],
}


def test_wiring_by_the_boards_own_pins_in_the_order_of_the_coils() -> None:
    laid = coil_lines("array", {"windings": SIX, "order": {"sequence": ["RD", "BK", "BU", "GN"]}})
    lines = coil_wiring(PINS, "array", laid)
    for pin, name, lead in ((8, "A", "RD"), (9, "B", "BK"), (10, "A'", "BU"), (11, "B'", "GN")):
        assert any(f"pin {pin} " in line and f" {name} " in line and line.endswith(lead) for line in lines)
    assert any("WH + YE" in line for line in lines) and any("common pin" in line for line in lines)
    assert any("10 k" in line and "ground" in line for line in lines)
    assert all(len(line) <= 37 for line in lines)
    bridge = coil_wiring(
        PINS, "bridge", coil_lines("bridge", {"windings": SIX, "connection": {"connection": "series"}})
    )
    assert [line.split()[-1] for line in bridge[1:5]] == ["RD", "BU", "GN", "BK"]  # a coil's two ends side by side
    assert any("WH" in line and "insulate" in line for line in bridge)


@pytest.mark.parametrize("kind", ["driver", "array", "bridge"])
def test_plain_characters_stay_plain(kind: str) -> None:
    laid = coil_lines("array", {})
    lines = driver_wiring(PINS, [], ascii=True) if kind == "driver" else coil_wiring(PINS, kind, laid, ascii=True)
    assert all(line.isascii() for line in lines)


def edge(level: int, at: float) -> Frame:
    return Frame("tell", 1, "edge", {"level": level, "pos": round(at * 8), "count": 1})


@given(
    turn=st.integers(20, 3000),
    slot=st.floats(0.01, 0.4),
    chatter=st.lists(st.floats(0, 1.2), max_size=4),
    inside=st.booleans(),
)
def test_a_chattering_flag_is_counted_once_a_turn(turn: int, slot: float, chatter: list[float], inside: bool) -> None:
    notes = EdgeNotes(8, 0 if inside else 1)
    if inside:
        notes.watch(edge(1, 5))
    for passed in range(1, 4):
        for rim, (first, last) in ((0.0, (0, 0)), (slot * turn, (1, 1))):
            at = passed * turn + rim
            notes.watch(edge(first, at))
            for number, off in enumerate(sorted(chatter)):
                notes.watch(edge((first + number + 1) % 2, at + off))
            notes.watch(edge(last, at + 1.3))
    counted = notes.counted()
    assert notes.passes == 3 and counted.steps_per_turn == pytest.approx(turn, abs=0.5)


def named(arrangement: str, confidence: float = 0.99) -> dict[str, Any]:
    return {"arrangement": arrangement, "confidence": confidence}


@pytest.mark.parametrize(
    ("kind", "arrangement"),
    [
        ("driver", "five-phase-ring-5"),
        ("array", "three-phase-3"),
        ("bridge", "unipolar-5"),
        ("array", "bipolar-4"),
        ("driver", "unipolar-5"),
    ],
)
def test_a_motor_that_a_drive_cannot_turn_is_refused(kind: Kind, arrangement: str) -> None:
    with pytest.raises(Fault):
        check_drivable(kind, {"windings": named(arrangement)})
    check_drivable(kind, {"windings": named(arrangement, 0.6)})  # perhaps it is another


def test_what_can_be_turned_is_let_through() -> None:
    check_drivable("driver", {})
    for kind, arrangement in (("array", "unipolar-5"), ("driver", "unipolar-6"), ("bridge", "split-8")):
        check_drivable(kind, {"windings": named(arrangement)})
    unipolar = {"windings": named("unipolar-5"), "connection": {"connection": "unipolar"}}
    check_drivable("driver", unipolar)
    assert "unipolar driver" in driver_cautions(unipolar)[0] and not driver_cautions({})
