"""A pair measured again: what is believed, what is drawn, and which reading is marked."""

from __future__ import annotations

import math

import pytest

from coilbench.winding.drawing.model import draw
from coilbench.winding.engine.sorting import judge
from coilbench.winding.readings.reading import FRAME, Reading
from coilbench.winding.readings.repeats import believed, overruled

OPEN = math.inf
# A seed-tray feeder's motor: coils RD-BK and BU-WH of 24.3 ohm; in truth RD to BU is open.
LEADS = ("RD", "BU", "WH", "BK")


@pytest.mark.parametrize(
    ("ohms", "held"),
    [
        ((9999.0, OPEN), OPEN),
        ((2.43, OPEN), OPEN),
        ((0.0, OPEN), OPEN),
        ((24.3, 24.5), 24.5),
        ((OPEN, 24.3, OPEN), OPEN),
    ],
)
def test_the_value_most_agree_on_the_latest_if_even(ohms: tuple[float, ...], held: float) -> None:
    assert believed(ohms) == held


def test_the_overruled_reading_is_the_one_that_disagrees() -> None:
    readings = [
        Reading("RD", "BU", 2.43),
        Reading("BU", "WH", 24.3),
        Reading("BU", "RD", OPEN),
        Reading("RD", FRAME, OPEN),
    ]
    assert overruled(readings) == [True, False, False, False]
    assert overruled([*readings, Reading("RD", "BU", 2.4)]) == [False, False, True, False, False]
    assert overruled([Reading("RD", "BU", 25e3), Reading("RD", "BU", OPEN)]) == [False, False]  # fingers read megohms


@pytest.mark.parametrize("slip", [9999.0, 2.43, 0.0])
def test_a_reading_that_was_overruled_joins_nothing_in_the_drawing(slip: float) -> None:
    readings = [Reading("RD", "BU", slip), Reading("RD", "BU", OPEN)]
    for more in ([], [Reading("RD", "BK", 24.3)], [Reading("BU", "WH", 24.3)]):
        taken = [*readings, *more]
        drawing = draw(judge(LEADS, taken), readings=taken)
        drawn = [{coil.first, coil.second} for coil in (*drawing.coils, *drawing.measured)]
        assert {"RD", "BU"} not in drawn


def test_a_reading_to_be_taken_again_joins_nothing_either() -> None:
    taken = [Reading("RD", "BK", 24.3), Reading("BU", "WH", 24.3), Reading("RD", "BU", 2.43)]
    verdict = judge(LEADS, taken)
    drawing = draw(verdict, readings=taken)
    if ("RD", "BU") in verdict.repeat:
        assert all({coil.first, coil.second} != {"RD", "BU"} for coil in drawing.measured)
