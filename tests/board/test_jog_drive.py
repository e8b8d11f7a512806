"""Drives of a jog, and what is wired where."""

from __future__ import annotations

from typing import Any

import pytest

from coilbench.board.session.drive import (
    Drive,
    Kind,
    check_drivable,
    driver_cautions,
    likely_kind,
)
from coilbench.board.session.wiring import coil_wiring, driver_wiring
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
    assert drive.pulses == (2 if drive.form == "half" and drive.by_coils else drive.microsteps)


@pytest.mark.parametrize("plain", [{"kind": "magic"}, {"form": "some"}, {"microsteps": 0}, {"speed": 3}])
def test_drives_that_can_not_be(plain: dict[str, object]) -> None:
    with pytest.raises(InputProblem):
        Drive.from_dict(plain)


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
