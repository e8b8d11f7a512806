"""The motor in one line, as far as it is known."""

from __future__ import annotations

import pytest

from coilbench.records.saved.base import Fact
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.jog import Figures, Jog
from coilbench.records.saved.ratings import Ratings
from coilbench.stages.strip import strip_of, strip_text
from coilbench.stages.table import STAGES
from tests.support.motors import FIVE, FOUR, SIX, known

CONNECTED = Connection(connection="series", current_ampere=0.26)
RATES = Jog(drives=(Figures(start_rate_sps=1210.0, run_rate_sps=3100.0, working_rate_sps=2900.0),))
BY_LINES = Driver(chip="ULN2003A", peak_ampere=0.2)
DASHES = "windings – · ohms – · current – · connection – · VREF – · rates –"


@pytest.mark.parametrize(
    ("facts", "line"),
    [
        ((), DASHES),
        ((FOUR,), "bipolar-4 · 2.4 Ω · current – · connection – · VREF – · rates –"),
        ((FIVE, BY_LINES), "unipolar-5 · 70 Ω a half · current – · connection – · ULN2003A · rates –"),
        (
            (
                SIX,
                Ratings(current_ampere=0.37),
                CONNECTED,
                Driver(chip="A4988", peak_ampere=0.26, vref_volt=0.208),
                RATES,
            ),
            "unipolar-6 · 24.1 Ω a half · 0.37 A · series · VREF 0.208 V · rates 1210/2900",
        ),
        ((Jog(drives=(Figures(run_rate_sps=900.0),)),), DASHES.replace("rates –", "rates –/900")),
        ((Jog(drives=(Figures(),)),), DASHES),
    ],
)
def test_what_is_known_stands_in_its_place(facts: tuple[Fact, ...], line: str) -> None:
    assert strip_text(known(*facts)) == line


def test_every_part_is_of_a_stage() -> None:
    assert {each.stage for each in strip_of(known())} <= {each.id for each in STAGES}
