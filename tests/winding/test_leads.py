"""Lead names, their colours, and the meter's stated accuracy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.errors import InputProblem
from coilbench.winding.readings.leads import lead_colour, parse_leads
from coilbench.winding.readings.meter import Meter, parse_meter


@pytest.mark.parametrize(
    ("typed", "leads"),
    [
        ("RD BU WH BK", ("RD", "BU", "WH", "BK")),
        ("red, blue", ("red", "blue")),
        ("light blue, red", ("light blue", "red")),
        ("6", ("1", "2", "3", "4", "5", "6")),
        ("RD RD BU", ("RD-1", "RD-2", "BU")),
        ("RD BU RD RD-1", ("RD-2", "BU", "RD-3", "RD-1")),
        ("RD/WH RD", ("RD/WH", "RD")),
        ("[/x] =1+1", ("[/x]", "=1+1")),
        ("3 4 7", ("3", "4", "7")),
    ],
)
def test_leads_as_typed(typed, leads) -> None:
    assert parse_leads(typed) == leads


@pytest.mark.parametrize(
    "typed", ["", "RD", "13", "1", "RD frame", "probes BU", "a b c d e f g h i j k l m", "RD \x07b"]
)
def test_what_can_not_be_leads(typed) -> None:
    with pytest.raises(InputProblem) as caught:
        parse_leads(typed)
    assert "\n" not in str(caught.value)


@given(st.lists(st.sampled_from(["RD", "rd", "BU", "RD-1", "RD-2", "BU-1"]), min_size=2, max_size=12))
def test_names_are_always_unique(names) -> None:
    found = parse_leads(",".join(names))
    assert len({name.casefold() for name in found}) == len(names)


# IEC 60757 codes as listed in a cable-drawing library that names the standard (WireViz, wv_colors.py).
@pytest.mark.parametrize(
    ("name", "code", "word"),
    [
        ("OG", "OG", "orange"),
        ("grey", "GY", "grey"),
        ("gray", "GY", "grey"),
        ("VT", "VT", "violet"),
        ("RD-2", "RD", "red"),
    ],
)
def test_colours(name, code, word) -> None:
    colour = lead_colour(name)
    assert colour is not None and (colour.code, colour.word) == (code, word)


def test_striped_and_strange_names() -> None:
    striped = lead_colour("RD/WH")
    assert striped is not None and striped.code == "RD/WH" and len(striped.css) == 2
    assert lead_colour("GNYE") == lead_colour("green-yellow")
    assert lead_colour("[/x]") is None
    assert lead_colour("7") is None


def test_both_forms_of_accuracy() -> None:
    assert parse_meter("0.8% + 5 counts of 0.1 ohm") == Meter(0.8, 5, 0.1)
    loose = parse_meter("1% + 0.2 ohm")
    assert (loose.gain_percent, loose.counts * loose.step_ohm) == (1.0, pytest.approx(0.2))
    assert parse_meter("0,5 % + 2 digits").gain_percent == 0.5


@pytest.mark.parametrize("text", ["", "good", "-1% + 0.2 ohm", "1%", "99% + 0.2 ohm", "1% + 2 counts of 0 ohm"])
def test_accuracy_that_can_not_be_read(text) -> None:
    with pytest.raises(InputProblem, match="expected"):
        parse_meter(text)


def test_the_display_is_coarser_on_higher_ranges() -> None:
    step = Meter().step_at(np.array([10.0, 399.0, 500.0, 5000.0]))
    np.testing.assert_allclose(step, [0.1, 0.1, 1.0, 10.0])
