"""What comes next for a motor, and what it can do without."""

from __future__ import annotations

import pytest

from coilbench.records.saved.base import Fact
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.jog import Figures, Jog, SavedDrive
from coilbench.records.saved.order import Order
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import WindingFault, Windings
from coilbench.stages.desk import scratch_desk
from coilbench.stages.overview import overview
from coilbench.stages.table import STAGES, next_row, not_needed
from tests.support.motors import known

SORTED = Windings(arrangement="unipolar-6", confidence=0.99)
PLAIN = Windings(arrangement="bipolar-4", confidence=0.99)
LEAKS = Windings(arrangement="unipolar-6", confidence=0.99, faults=(WindingFault(kind="frame", leads=("RD",)),))
FIVE = Windings(arrangement="unipolar-5", confidence=0.99)
CONNECTED = Connection(connection="series", current_ampere=1.0)


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ((), "windings"),
        ((SORTED,), "ratings"),  # its taps tell the phases
        ((FIVE,), "order"),
        ((PLAIN,), "ratings"),  # turns however it is connected
        ((LEAKS,), "not to be used"),
        ((Intake(), SORTED, Order(), Ratings(), CONNECTED, Driver(chip="A4988", peak_ampere=1.0), Jog()), "all done"),
    ],
)
def test_what_comes_next(facts: tuple[Fact, ...], words: str) -> None:
    desk = scratch_desk(("RD", "BU"))
    desk.keep("intake", *facts)
    assert overview(desk.bin, desk.bin.motor(desk.motor)).next == words


def test_a_motor_on_coil_lines_alone_has_no_driver_to_set() -> None:
    by_lines = Jog(drives=(Figures(drive=SavedDrive(kind="array")),))
    assert "driver" in not_needed(known(SORTED, by_lines))
    assert "driver" not in not_needed(known(SORTED, Jog(drives=(*by_lines.drives, Figures()))))


def test_every_reason_is_a_sentence_and_every_stage_can_be_next() -> None:
    assert all(not_needed(known(PLAIN)).values())
    found = next_row(known())
    assert found is not None and found.id == "windings"
    assert len({each.id for each in STAGES}) == len(STAGES)
