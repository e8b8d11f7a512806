"""What people write down from a meter's display."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.quantity import OPEN, QuantityError, format_quantity, parse_reading


@pytest.mark.parametrize(
    ("text", "ohm"),
    [
        ("12.3", 12.3),
        ("12,3", 12.3),
        ("12R3", 12.3),
        ("1k2", 1200.0),
        ("4k7", 4700.0),
        ("R47", 0.47),
        ("0.8 ohm", 0.8),
        ("0.8ohms", 0.8),
        (" 48.2 Ω ", 48.2),
        ("48.2 \u2126", 48.2),  # the ohm sign, another character than the Greek letter
        ("1.2 kΩ", 1200.0),
        ("1.2k", 1200.0),
        ("2M2", 2.2e6),
        ("500 mohm", 0.5),
        ("0,234", 0.234),
        ("0", 0.0),
        ("1e3", 1000.0),
    ],
)
def test_ohms_as_people_write_them(text: str, ohm: float) -> None:
    assert parse_reading(text) == pytest.approx(ohm, rel=1e-12)


# "OL" is on the meters' displays; the rest is common practice, from memory.
@pytest.mark.parametrize("text", ["OL", "ol", "O.L", "0L", "0.L", ".OL", "open", "Open", "inf", "∞", "O L"])
def test_open(text: str) -> None:
    assert parse_reading(text) == OPEN


NO_READING = [
    "",
    " ",
    "-3",
    "nan",
    "-inf",
    "1e400",
    "1e12",
    "3 A",
    "3 V",
    "12 3",
    "1.2.3",
    "[/x]",
    "=1+1",
    "١٢",
    "1_000",
]
NO_READING += ["R", "k", "ohm", "12 foo", "9**9**9", "12\x1b[2J", "1" * 5000, "--1", "0x10", "12 ohm ohm"]


@pytest.mark.parametrize("text", NO_READING, ids=range(len(NO_READING)))
def test_anything_else_is_one_line_that_names_it(text: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_reading(text)
    line = str(caught.value)
    assert "\n" not in line and "\x1b" not in line and len(line) < 200
    assert "expected" in line and caught.value.exit_code == 2


def test_what_is_no_number_is_not_told_of_units() -> None:
    with pytest.raises(QuantityError, match="'12x' is no number, expected a resistance"):
        parse_reading("12x")
    with pytest.raises(QuantityError, match="another kind"):
        parse_reading("12 V")


def test_a_comma_for_thousands_or_decimals_is_asked_about() -> None:
    with pytest.raises(QuantityError, match=r"1234 or 1\.234"):
        parse_reading("1,234")


@given(st.text(max_size=30))
def test_no_text_raises_anything_else(text: str) -> None:
    try:
        ohm = parse_reading(text)
    except QuantityError:
        return
    assert ohm >= 0 and not math.isnan(ohm)


@given(st.floats(1e-3, 9e8))
def test_what_is_shown_is_read_back_to_its_digits(ohm: float) -> None:
    assert parse_reading(format_quantity(ohm, "ohm", 6)) == pytest.approx(ohm, rel=1e-5)
