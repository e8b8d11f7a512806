"""Markings of resistors."""

import pytest

from coilbench.quantity import QuantityError, parse_marking

# IEC 60062: the letter stands for the decimal point. R47, 4R7, 470R and 4K7 as in the documentation of the package
# rkm-codes; R001 to 1R00 likewise (weak: resistor sellers' tables); 0R1, R10, 0R05, 2M2 and the milliohm letters from
# memory.
LETTERS = {"R001": 0.001, "R010": 0.01, "R050": 0.05, "R068": 0.068, "R100": 0.1, "1R00": 1.0, "R47": 0.47}
LETTERS |= {
    "4R7": 4.7,
    "470R": 470.0,
    "4K7": 4700.0,
    "0R1": 0.1,
    "R10": 0.1,
    "0R05": 0.05,
    "2M2": 2.2e6,
    "5L0": 0.005,
}
# Three and four digit codes, IEC 60062, and EIA-96 (weak: the same tables, and a workshop wiki's page SMD-Resistor).
CODES = {"101": 100.0, "102": 1e3, "103": 1e4, "1000": 100.0, "1001": 1e3, "1002": 1e4}
EIA96 = {"01A": 100.0, "30A": 200.0, "12X": 13.0, "18B": 1500.0, "68X": 49.9, "01Y": 1.0, "01X": 10.0}
EIA96 |= {"01B": 1e3, "01C": 1e4, "01D": 1e5, "01E": 1e6}
WRITTEN_OUT = {"0.1": 0.1, "0,1": 0.1, "0.1 ohm": 0.1, "100 mohm": 0.1, "100 mΩ": 0.1}

# IEC 60063, E96, whole list.
E96 = """
100 102 105 107 110 113 115 118 121 124 127 130 133 137 140 143 147 150 154 158 162 165 169 174 178 182 187
191 196 200 205 210 215 221 226 232 237 243 249 255 261 267 274 280 287 294 301 309 316 324 332 340 348 357
365 374 383 392 402 412 422 432 442 453 464 475 487 499 511 523 536 549 562 576 590 604 619 634 649 665 681
698 715 732 750 768 787 806 825 845 866 887 909 931 953 976
"""


@pytest.mark.parametrize(("marking", "ohm"), [*(LETTERS | CODES | EIA96 | WRITTEN_OUT).items()])
def test_published_markings(marking: str, ohm: float) -> None:
    assert parse_marking(marking) == pytest.approx(ohm, rel=1e-12)


def test_eia96_follows_the_series() -> None:
    assert [round(parse_marking(f"{place:02}A")) for place in range(1, 97)] == [int(value) for value in E96.split()]


@pytest.mark.parametrize(
    ("marking", "one", "other"),
    [
        ("100", "10 ohm", "100 ohm"),
        ("220", "22 ohm", "220 ohm"),
        ("22R", "22 ohm", "1.65 ohm"),  # R is also EIA-96's hundredth; place 22 of E96 is 165
    ],
)
def test_two_meanings_are_both_named(marking: str, one: str, other: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_marking(marking)
    assert one in str(caught.value) and other in str(caught.value)


@pytest.mark.parametrize(
    "marking", ["", "0", "000", "0000", "10", "R", "97A", "00A", "junk", "-R1", "0R0", "R1R", "1A", "R10024"]
)
def test_no_marking(marking: str) -> None:
    with pytest.raises(QuantityError, match="expected a resistor marking"):
        parse_marking(marking)
