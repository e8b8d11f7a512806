"""Quantities with units, in and out."""

import math
import subprocess
import sys
from collections.abc import Callable
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.quantity import QuantityError, format_quantity, parse_marking, parse_quantity, parse_reading

UNITS = ["ampere", "volt", "ohm", "henry", "metre", "second", "celsius", "kelvin", "watt", "hertz", "degree"]
UNITS += ["newton_metre", "kilogram", "percent"]


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("800mA", "ampere", 0.8),
        ("0.8 A", "ampere", 0.8),
        ("0,8 A", "ampere", 0.8),
        (".8a", "ampere", 0.8),
        ("800 milliamps", "ampere", 0.8),
        ("12V", "volt", 12.0),
        ("400 mV", "volt", 0.4),
        ("350 µV", "volt", 350e-6),
        ("20mH", "henry", 0.02),
        ("100 nF at 315 kHz", "henry", 2.552814e-6),  # weak: a maker's blog prints 2.55 uH
        ("1n@1.58MHz", "henry", 1.014673e-5),  # weak: a page of an open library of circuits prints 10.14 uH
        ("4n7", "farad", 4.7e-9),
        ("470 pF", "farad", 470e-12),
        ("u1", "farad", 0.1e-6),
        ("10 mJ", "joule", 0.01),
        ("48mm", "metre", 0.048),
        ("1.9 in", "metre", 0.04826),  # the inch is 25.4 mm by definition (1959 agreement)
        ("20 min", "second", 1200.0),
        ("25C", "celsius", 25.0),
        ("-5 °C", "celsius", -5.0),
        ("77 degF", "celsius", 25.0),
        ("298.15 K", "celsius", 25.0),
        ("80 K", "kelvin", 80.0),
        ("6 W", "watt", 6.0),
        ("1.2 kHz", "hertz", 1200.0),
        ("60 rpm", "hertz", 1.0),
        ("1.8°", "degree", 1.8),
        ("1.8 deg", "degree", 1.8),
        ("0.0314159265 rad", "degree", 1.8),
        ("0.4 Nm", "newton_metre", 0.4),
        ("40 N·cm", "newton_metre", 0.4),
        ("400 mN·m", "newton_metre", 0.4),
        ("4 kg-cm", "newton_metre", 0.392266),  # g = 9.80665 m/s2 by definition (CGPM 1901)
        ("56 oz-in", "newton_metre", 0.39545),  # 1 ozf in = 7.061552e-3 N m, NIST SP 811 appendix B.8 (from memory)
        ("350 g", "kilogram", 0.35),
        ("2 lb", "kilogram", 0.90718474),  # 0.45359237 kg by definition (1959 agreement)
        ("5 %", "percent", 5.0),
        ("4k7", "ohm", 4700.0),
        ("R100", "ohm", 0.1),
    ],
)
def test_units_of_the_trade(text: str, unit: str, value: float) -> None:
    assert parse_quantity(text, unit) == pytest.approx(value, rel=1e-5)


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        ("12V", "ampere", "another kind"),
        ("0.8", "ampere", "no unit"),
        ("0 A", "ampere", "not above zero"),
        ("-1 A", "ampere", "not above zero"),
        ("800 A", "ampere", "beyond anything"),
        ("1e-300 A", "ampere", "beyond anything"),
        ("nan A", "ampere", "not a number"),
        ("inf A", "ampere", "not a number"),
        ("1,000 mA", "ampere", "1000 or 1.000"),
        ("1 F at 1 GHz", "henry", "beyond anything"),
        ("4n7", "henry", "no unit that fits"),
        ("3 parsnip", "metre", "no unit that fits"),
        ("3 A A", "ampere", "no unit that fits"),
        ("9 m^9^9", "metre", "no unit that fits"),
        ("3 mm*__import__", "metre", "no unit that fits"),
        ("-300 C", "celsius", "absolute zero"),
        ("", "volt", "not a number"),
    ],
)
def test_what_is_wrong_is_named(text: str, unit: str, said: str) -> None:
    with pytest.raises(QuantityError, match=said) as caught:
        parse_quantity(text, unit)
    assert repr(text) in str(caught.value) and "expected" in str(caught.value)


def test_bare_numbers_and_zero_where_they_are_welcome() -> None:
    assert parse_quantity("0.8", "ampere", bare=True) == 0.8
    assert parse_quantity("0 A", "ampere", positive=False) == 0.0
    assert parse_quantity("-3 V", "volt", positive=False) == -3.0


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.8, "ampere", "0.8 A"),
        (0.05, "ampere", "0.05 A"),
        (0.005, "ampere", "5 mA"),
        (0.0032, "henry", "3.2 mH"),
        (math.inf, "ohm", "open"),
        (48.2, "ohm", "48.2 Ω"),
        (999.6, "ohm", "1 kΩ"),
        (0.048, "metre", "48 mm"),
        (1.8, "degree", "1.8°"),
        (12345.0, "celsius", "12300 °C"),
        (0.0, "volt", "0 V"),
        (-0.25, "volt", "-0.25 V"),
        (math.nan, "volt", "not known"),
        (100.0, "watt", "100 W"),
    ],
)
def test_shown(value: float, unit: str, text: str) -> None:
    assert format_quantity(value, unit) == text


@given(st.sampled_from(UNITS), st.floats(1e-6, 99.0))
def test_what_is_shown_is_read_back(unit: str, value: float) -> None:
    assert parse_quantity(format_quantity(value, unit, 7), unit) == pytest.approx(value, rel=1e-6)


@given(st.text(max_size=30), st.sampled_from(UNITS))
def test_no_text_raises_anything_else(text: str, unit: str) -> None:
    try:
        parse_quantity(text, unit, bare=True)
    except QuantityError as problem:
        assert "\n" not in str(problem)


def test_everyday_units_never_load_pint() -> None:
    code = "import sys; from coilbench.quantity import *; parse_quantity('800 mA', 'ampere'); parse_reading('1k2')"
    code += "; parse_quantity('56 oz-in', 'newton_metre'); sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


LONG = ["a" * 55, "ab-" * 18, "m^2" * 18, "a" * 10_000, "1" * 10_000, "1 " * 5_000, "1." * 5_000, "-" * 10_000]


@pytest.mark.parametrize("text", LONG, ids=range(len(LONG)))
@pytest.mark.parametrize("read", [parse_reading, parse_marking, partial(parse_quantity, unit="ampere")])
def test_a_long_slip_is_refused_at_once(read: Callable[[str], float], text: str) -> None:
    """A pattern that tries every parting of a word would never come back from these."""
    for typed in (text, f"5 {text}", f"5{text}"):
        with pytest.raises(QuantityError) as caught:
            read(typed)
        assert len(str(caught.value)) <= 300
