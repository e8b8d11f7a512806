"""Drives of a jog, and what is wired where."""

from __future__ import annotations

from typing import Any

import pytest

from coilbench.board.session.drive import Drive, Kind
from coilbench.board.session.wiring import coil_wiring, driver_wiring
from coilbench.errors import Fault, InputProblem
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.order import Order
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Coil, Windings
from coilbench.stages.jog.driving import (
    check_drivable,
    drive_cautions,
    likely_kind,
    lines_of_leads,
    no_current_words,
)
from tests.support.motors import known

PINS = {
    "driver": {"step": 5, "dir": 6, "enable": 7, "active": 0},
    "coils": {"a": 8, "b": 9, "c": 10, "d": 11, "active": 1},
    "sense": {"index": 2, "first": 14, "channels": 6},
}


@pytest.mark.parametrize("plain", [{"kind": "magic"}, {"form": "some"}, {"microsteps": 0}])
def test_drives_that_can_not_be(plain: dict[str, Any]) -> None:
    with pytest.raises(InputProblem):
        Drive(**plain)


def connected(connection: str) -> Connection:
    return Connection(connection=connection, current_ampere=1.0)


def named(arrangement: str, confidence: float = 0.99) -> Windings:
    return Windings(arrangement=arrangement, confidence=confidence)


def test_what_a_motor_is_likely_driven_by() -> None:
    assert likely_kind(known()) == "driver"
    assert likely_kind(known(connected("unipolar"))) == "array"
    assert likely_kind(known(named("unipolar-5"))) == "array"
    assert likely_kind(known(named("unipolar-6"), connected("series"))) == "driver"


SIX = Windings(
    arrangement="unipolar-6",
    coils=(Coil(name="A", ends=("RD", "BU"), tap="WH"), Coil(name="B", ends=("GN", "BK"), tap="YE")),
)


def test_wiring_by_the_boards_own_pins_in_the_order_of_the_coils() -> None:
    laid = lines_of_leads("array", known(SIX, Order(sequence=("RD", "BK", "BU", "GN"))))
    lines = coil_wiring(PINS, "array", laid)
    for pin, name, lead in ((8, "A", "RD"), (9, "B", "BK"), (10, "A'", "BU"), (11, "B'", "GN")):
        assert any(f"pin {pin} " in line and f" {name} " in line and line.endswith(lead) for line in lines)
    assert any("WH + YE" in line for line in lines) and any("common pin" in line for line in lines)
    assert any("10 k" in line and "ground" in line for line in lines)
    assert all(len(line) <= 37 for line in lines)
    other_way = {**PINS, "coils": {**PINS["coils"], "active": 0}}
    assert "10 k from each of these to 5 V" in coil_wiring(other_way, "array", laid)
    bridge = coil_wiring(PINS, "bridge", lines_of_leads("bridge", known(SIX, connected("series"))))
    assert [line.split()[-1] for line in bridge[1:5]] == ["RD", "BU", "GN", "BK"]  # a coil's two ends side by side
    assert any("WH" in line and "insulate" in line for line in bridge)


@pytest.mark.parametrize("kind", ["driver", "array", "bridge"])
def test_plain_characters_stay_plain(kind: str) -> None:
    laid = lines_of_leads("array", known())
    lines = driver_wiring(PINS, [], ascii=True) if kind == "driver" else coil_wiring(PINS, kind, laid, ascii=True)
    assert all(line.isascii() for line in lines)


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
        check_drivable(kind, known(named(arrangement)))
    check_drivable(kind, known(named(arrangement, 0.6)))  # perhaps it is another


def test_what_can_be_turned_is_let_through() -> None:
    check_drivable("driver", known())
    for kind, arrangement in (("array", "unipolar-5"), ("driver", "unipolar-6"), ("bridge", "split-8")):
        check_drivable(kind, known(named(arrangement)))  # type: ignore[arg-type]
    unipolar = known(named("unipolar-5"), connected("unipolar"))
    check_drivable("driver", unipolar)
    assert "unipolar driver" in drive_cautions("driver", unipolar)[0] and not drive_cautions("driver", known())


def test_a_current_that_is_not_known_is_said() -> None:
    assert "no current is set" in no_current_words("driver", known())
    assert not no_current_words("driver", known(Driver(chip="A4988", peak_ampere=0.6)))
    assert "low voltage" in no_current_words("array", known(Driver(chip="A4988", peak_ampere=0.6)))
    assert not no_current_words("array", known(Ratings(current_ampere=0.4)))
