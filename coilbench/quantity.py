"""Between what people type or read off a part and SI numbers: ``0.8 A``, ``R100``, ``4k7``, ``OL``.

Units a bench meets every day are understood here; pint, slow to load, is asked only about the others.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

from coilbench.errors import InputProblem
from coilbench.tuned_circuit import partner

OPEN: float = math.inf


class QuantityError(InputProblem):
    """Text that is not the quantity expected; one line with the text and what was expected."""

    def __init__(self, happened: str) -> None:
        super().__init__(happened, title="Not understood")


@dataclass(frozen=True, slots=True)
class _Unit:
    symbol: str
    example: str  # "a current such as 0.8 A"
    limit: float  # above this (in the unit) it is a slip of the hand, not a thing on a bench
    prefixed: bool = True
    base_from: float = 0.1  # shown without a smaller prefix from here up
    pint_name: str = ""


_UNITS = {
    "ampere": _Unit("A", "a current such as 0.8 A or 800 mA", 100.0, base_from=0.01),
    "volt": _Unit("V", "a voltage such as 12 V or 400 mV", 1000.0),
    "ohm": _Unit("Ω", "a resistance such as 12.3 ohm, 12R3 or 4k7", 1e9),
    "henry": _Unit("H", "an inductance such as 3.2 mH, or 1 uF at 2.8 kHz", 100.0),
    "farad": _Unit("F", "a capacitance such as 100 nF, 4n7 or 470 pF", 1.0),
    "joule": _Unit("J", "an energy such as 10 mJ", 1e5),
    "metre": _Unit("m", "a length such as 48 mm or 1.9 in", 1000.0, base_from=1.0),
    "second": _Unit("s", "a time such as 20 min or 1.5 s", 1e7),
    "celsius": _Unit("°C", "a temperature such as 25 °C", 2000.0, False, pint_name="degC"),
    "kelvin": _Unit("K", "a temperature difference such as 80 K", 2000.0, False),
    "watt": _Unit("W", "a power such as 6 W", 1e5),
    "hertz": _Unit("Hz", "a frequency such as 50 Hz", 1e9),
    "degree": _Unit("°", "an angle such as 1.8 deg", 1e6, False),
    "newton_metre": _Unit("N·m", "a torque such as 0.4 Nm or 40 Ncm", 1e4, pint_name="newton*metre"),
    "kilogram": _Unit("kg", "a mass such as 1.2 kg or 350 g", 1e5, False),
    "percent": _Unit("%", "a share such as 5 %", 1e4, False),
    "newton": _Unit("N", "a force such as 50 N, 5 kgf or 11 lbf", 1e7, base_from=1.0),
    "metre_per_second": _Unit("m/s", "a speed such as 20 mm/s or 1.2 m/min", 1e3, base_from=1.0),
    "metre_per_second2": _Unit("m/s²", "an acceleration such as 500 mm/s2", 1e5, base_from=1.0),
    "radian_per_second2": _Unit("rad/s²", "an acceleration such as 50 rad/s2 or 900 deg/s2", 1e7, False),
    "kilogram_metre2": _Unit("kg·m²", "an inertia such as 54 g cm2 or 1e-5 kg m2", 1e4, False),
    "kilogram_per_metre3": _Unit("kg/m³", "a density such as 7850 kg/m3", 3e4, False),
}
_LEAST = 1e-15  # smaller than anything a bench can measure
_ABSOLUTE_ZERO_CELSIUS = -273.15

_PREFIXES = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9}
_PREFIX_WORDS = {"micro": "u", "milli": "m", "kilo": "k", "mega": "M", "nano": "n"}

# Names that take a prefix.
_STEMS = {
    "A": "ampere", "a": "ampere", "amp": "ampere", "amps": "ampere", "ampere": "ampere", "amperes": "ampere",
    "V": "volt", "v": "volt", "volt": "volt", "volts": "volt",
    "ohm": "ohm", "ohms": "ohm", "Ohm": "ohm", "Ohms": "ohm", "OHM": "ohm", "OHMS": "ohm", "Ω": "ohm",
    "H": "henry", "h": "henry", "henry": "henry", "henries": "henry", "henrys": "henry",
    "F": "farad", "farad": "farad", "farads": "farad", "J": "joule", "joule": "joule", "joules": "joule",
    "m": "metre", "metre": "metre", "metres": "metre", "meter": "metre", "meters": "metre",
    "s": "second", "sec": "second", "secs": "second", "second": "second", "seconds": "second",
    "W": "watt", "w": "watt", "watt": "watt", "watts": "watt",
    "Hz": "hertz", "hz": "hertz", "HZ": "hertz", "hertz": "hertz",
    "Nm": "newton_metre", "nm": "newton_metre", "N*m": "newton_metre", "N m": "newton_metre",
    "N": "newton", "newton": "newton", "newtons": "newton",
    "m/s": "metre_per_second", "m/s2": "metre_per_second2", "m/s²": "metre_per_second2", "m/s^2": "metre_per_second2",
}  # fmt: skip

# Names taken whole, with their size in the unit. The gravitational ones are by the standard 9.80665 m/s2,
# the inch 25.4 mm and the avoirdupois ounce 0.028349523125 kg, all exact by definition.
_OUNCE = 0.028349523125
_GRAVITY = 9.80665
_POUND_FORCE = 16 * _OUNCE * _GRAVITY
_WHOLE: dict[str, tuple[str, float]] = {
    "R": ("ohm", 1.0), "r": ("ohm", 1.0),
    "cm": ("metre", 0.01), "in": ("metre", 0.0254), "inch": ("metre", 0.0254), "inches": ("metre", 0.0254),
    '"': ("metre", 0.0254), "″": ("metre", 0.0254), "ft": ("metre", 0.3048),
    "min": ("second", 60.0), "mins": ("second", 60.0), "minute": ("second", 60.0), "minutes": ("second", 60.0),
    "hour": ("second", 3600.0), "hours": ("second", 3600.0), "hr": ("second", 3600.0),
    "C": ("celsius", 1.0), "c": ("celsius", 1.0), "°C": ("celsius", 1.0), "degC": ("celsius", 1.0),
    "deg C": ("celsius", 1.0), "celsius": ("celsius", 1.0), "Celsius": ("celsius", 1.0),
    "K": ("kelvin", 1.0), "kelvin": ("kelvin", 1.0), "Kelvin": ("kelvin", 1.0), "kelvins": ("kelvin", 1.0),
    "rpm": ("hertz", 1 / 60),
    "°": ("degree", 1.0), "deg": ("degree", 1.0), "degs": ("degree", 1.0), "degree": ("degree", 1.0),
    "degrees": ("degree", 1.0),
    "Ncm": ("newton_metre", 0.01), "ncm": ("newton_metre", 0.01), "N*cm": ("newton_metre", 0.01),
    "N cm": ("newton_metre", 0.01), "N-cm": ("newton_metre", 0.01), "N-m": ("newton_metre", 1.0),
    "kgcm": ("newton_metre", _GRAVITY / 100), "kg-cm": ("newton_metre", _GRAVITY / 100),
    "kg*cm": ("newton_metre", _GRAVITY / 100), "kg cm": ("newton_metre", _GRAVITY / 100),
    "kgf-cm": ("newton_metre", _GRAVITY / 100), "kgf*cm": ("newton_metre", _GRAVITY / 100),
    "kgf cm": ("newton_metre", _GRAVITY / 100), "kgfcm": ("newton_metre", _GRAVITY / 100),
    "g-cm": ("newton_metre", _GRAVITY / 1e5), "gcm": ("newton_metre", _GRAVITY / 1e5),
    "g*cm": ("newton_metre", _GRAVITY / 1e5), "g cm": ("newton_metre", _GRAVITY / 1e5),
    "oz-in": ("newton_metre", _OUNCE * _GRAVITY * 0.0254), "ozin": ("newton_metre", _OUNCE * _GRAVITY * 0.0254),
    "oz in": ("newton_metre", _OUNCE * _GRAVITY * 0.0254), "oz*in": ("newton_metre", _OUNCE * _GRAVITY * 0.0254),
    "Nmm": ("newton_metre", 1e-3), "N mm": ("newton_metre", 1e-3), "N*mm": ("newton_metre", 1e-3),
    "lb-in": ("newton_metre", _POUND_FORCE * 0.0254), "lb in": ("newton_metre", _POUND_FORCE * 0.0254),
    "lbf in": ("newton_metre", _POUND_FORCE * 0.0254),
    "kgf": ("newton", _GRAVITY), "gf": ("newton", _GRAVITY / 1000), "lbf": ("newton", _POUND_FORCE),
    "m/min": ("metre_per_second", 1 / 60), "mm/min": ("metre_per_second", 1e-3 / 60),
    "cm/s": ("metre_per_second", 0.01), "in/s": ("metre_per_second", 0.0254),
    "in/min": ("metre_per_second", 0.0254 / 60),
    "rad/s2": ("radian_per_second2", 1.0), "rad/s²": ("radian_per_second2", 1.0),
    "deg/s2": ("radian_per_second2", math.pi / 180), "°/s²": ("radian_per_second2", math.pi / 180),
    "deg/s": ("hertz", 1 / 360), "°/s": ("hertz", 1 / 360),
    "kg m2": ("kilogram_metre2", 1.0), "kg*m2": ("kilogram_metre2", 1.0), "kgm2": ("kilogram_metre2", 1.0),
    "kg m²": ("kilogram_metre2", 1.0), "kg*m²": ("kilogram_metre2", 1.0),
    "kg cm2": ("kilogram_metre2", 1e-4), "kg*cm2": ("kilogram_metre2", 1e-4), "kgcm2": ("kilogram_metre2", 1e-4),
    "kg cm²": ("kilogram_metre2", 1e-4), "g cm2": ("kilogram_metre2", 1e-7), "g*cm2": ("kilogram_metre2", 1e-7),
    "gcm2": ("kilogram_metre2", 1e-7), "g cm²": ("kilogram_metre2", 1e-7),
    "kg/m3": ("kilogram_per_metre3", 1.0), "kg/m³": ("kilogram_per_metre3", 1.0),
    "g/cm3": ("kilogram_per_metre3", 1e3),
    "lb/in3": ("kilogram_per_metre3", 16 * _OUNCE / 0.0254**3),
    "kg": ("kilogram", 1.0), "g": ("kilogram", 1e-3), "lb": ("kilogram", 16 * _OUNCE),
    "oz": ("kilogram", _OUNCE),
    "%": ("percent", 1.0), "percent": ("percent", 1.0), "pct": ("percent", 1.0),
}  # fmt: skip

_NUMBER = re.compile(r"([+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3})?)(.*)", re.DOTALL)
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}(?![0-9])")
_MARKING_LENGTH = 5
_LETTER_POINT = re.compile(r"([0-9]*)([A-Za-z])([0-9]*)")
# By unit: the letters that can be its decimal point (IEC 60062), with their size.
_LETTER_SIZE = {
    "ohm": {"R": 1.0, "r": 1.0, "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9, "m": 1e-3, "L": 1e-3},
    "farad": {"p": 1e-12, "n": 1e-9, "u": 1e-6},
}
# Each letter can be matched in one way only: a long word that is no unit must not be tried in all its partings.
_PINT_TEXT = re.compile(r"[A-Za-z°]+(?:[ */-][A-Za-z°]+|\^-?[0-9][A-Za-z°]*)*")
_RINGS_AT = re.compile(r" at | ?@ ?", re.IGNORECASE)
_OPEN_WORDS = {"OL", "0L", "OPEN", "INF", "INFINITE", "INFINITY", "∞", "OVERLOAD", "OVERRANGE"}


def parse_reading(text: str) -> float:
    """Ohms of a meter's display as people write it down: ``12.3``, ``12,3``, ``12R3``, ``1k2``, ``0.8 ohm``.

    Open (``OL``, ``0.L``, ``open``, ``∞``) is ``OPEN``. Zero is a reading. Raises QuantityError for anything else.
    """
    tidy = _tidy(text)
    if re.sub(r"[\s.,]", "", tidy).upper() in _OPEN_WORDS:
        return OPEN
    expected = "a resistance such as 12.3, 12R3 or 1k2, or OL for open"
    value = _letter_point(tidy)
    if value is None:
        value = _value_in(tidy, text, "ohm", expected, bare=True)
    if value < 0:
        raise QuantityError(
            f"{_shown(text)} is below zero: the meter sees a voltage, is the motor off every supply? "
            f"expected {expected}"
        )
    return _bounded(value, text, "ohm", expected)


def parse_quantity(text: str, unit: str, *, bare: bool = False, positive: bool = True) -> float:
    """The number in ``unit`` (a name of this module: ampere, volt, celsius, percent ...) that ``text`` says.

    Takes any unit of the same kind (``800mA``, ``0,8 A``, ``1.9 in``, ``56 oz-in``); an inductance also by the
    capacitor it rings with (``1 uF at 2.8 kHz``). ``bare`` also takes a number
    without a unit; ``positive`` refuses zero and below (a temperature in celsius may be below zero, not
    below absolute zero). Raises QuantityError.
    """
    expected = _UNITS[unit].example
    tidy = _tidy(text)
    value = _by_ringing(text) if unit == "henry" else _letter_point(tidy, unit)
    if value is None:
        value = _value_in(tidy, text, unit, expected, bare=bare)
    if unit == "celsius":
        if value < _ABSOLUTE_ZERO_CELSIUS:
            raise QuantityError(f"{_shown(text)} is below absolute zero, expected {expected}")
    elif positive and value <= 0:
        raise QuantityError(f"{_shown(text)} is not above zero, expected {expected}")
    return _bounded(value, text, unit, expected)


def parse_marking(text: str) -> float:
    """Ohms of a resistor's marking, or of its value written out with the unit.

    IEC 60062 letters (``R100``, ``4k7``; ``L`` and ``m`` for milliohms), three and four digit codes, and the
    EIA-96 code (two digits and a letter). Raises QuantityError when it is no marking, is a zero ohm link, or can be
    read two ways (``100`` is 10 ohm by the three digit code, or 100 ohm written plainly; ``22R`` is 22 ohm by
    IEC 60062, 1.65 ohm by EIA-96), naming both.
    """
    expected = "a resistor marking such as R100, 0R1, 102, 1001 or 01A, or a value such as 0.1 ohm"
    tidy = _tidy(text)
    if re.fullmatch(r"[0-9]{3,4}", tidy):
        value = int(tidy[:-1]) * 10.0 ** int(tidy[-1])
        if len(tidy) == 3 and tidy[-1] == "0" and value:
            _two_ways(text, value, "the three digit code", float(tidy), "written plainly")
    elif (coded := _eia96(tidy)) is not None:
        plain = _letter_point(tidy)
        if plain is not None and not math.isclose(plain, coded):
            _two_ways(text, plain, "the letter as the decimal point", coded, "the EIA-96 code")
        value = coded
    else:
        # More than four figures (IEC 60062) is no marking, but the next entry typed behind one.
        lettered = _letter_point(tidy) if len(tidy) <= _MARKING_LENGTH else None
        written_out = re.fullmatch(r"[0-9]*[.,][0-9]+", tidy) is not None
        value = _value_in(tidy, text, "ohm", expected, bare=written_out) if lettered is None else lettered
    if value <= 0:
        raise QuantityError(f"{_shown(text)} is not above zero, expected {expected}")
    return _bounded(value, text, "ohm", expected)


def format_quantity(value: float, unit: str, digits: int = 3) -> str:
    """``value``, in the ``unit`` named, to read: ``0.8 A``, ``3.2 mH``, ``open`` for infinite ohms."""
    known = _UNITS[unit]
    if math.isnan(value):
        return "not known"
    if math.isinf(value):
        return "open" if unit == "ohm" else ("∞ " if value > 0 else "-∞ ") + known.symbol
    value = _round_significant(value, digits)
    size, prefix = 1.0, ""
    if known.prefixed and value:
        for step, name in ((1e-12, "p"), (1e-9, "n"), (1e-6, "µ"), (1e-3, "m"), (1.0, ""), (1e3, "k"), (1e6, "M")):
            if abs(value) >= (known.base_from if step == 1.0 else step):
                size, prefix = step, name
    number = plain_number(value / size, digits)
    return f"{number}{known.symbol}" if unit == "degree" else f"{number} {prefix}{known.symbol}"


def _tidy(text: str) -> str:
    """One spelling for the signs that look alike; spaces trimmed."""
    for odd, plain in (("\u2126", "Ω"), ("µ", "u"), ("μ", "u"), ("·", "*"), ("\u2212", "-"), ("⋅", "*")):
        text = text.replace(odd, plain)
    return " ".join(text.split())


def _shown(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:37] + "...")


def _letter_point(tidy: str, unit: str = "ohm") -> float | None:
    """A value whose letter stands for the decimal point (IEC 60062), or None."""
    match, sizes = _LETTER_POINT.fullmatch(tidy), _LETTER_SIZE.get(unit, {})
    if match is None or match[2] not in sizes or not (match[1] or match[3]):
        return None
    if len(tidy) > 12 or (match[2] in "mL" and not match[1]):
        return None
    return float(f"{match[1] or 0}.{match[3] or 0}") * sizes[match[2]]


def inductance_by_ringing(text: str) -> str:
    """What a text with a capacitor and the frequency it rings at makes of it, in a line; empty for any other text."""
    henry = _by_ringing(text)
    if henry is None:
        return ""
    made = format_quantity(henry, "henry")
    return f"{_tidy(text)} is {made}: as far off as the capacitor, and twice as far as the frequency"


def _by_ringing(text: str) -> float | None:
    """The henry that ring with a capacitor ``at`` a frequency, or None where the text doesn't say it that way."""
    capacitor, *rest = _RINGS_AT.split(_tidy(text), maxsplit=1)
    if not rest:
        return None
    return partner(parse_quantity(capacitor, "farad"), parse_quantity(rest[0], "hertz"))


def _value_in(tidy: str, text: str, unit: str, expected: str, *, bare: bool) -> float:
    """The number in ``unit``, unbounded."""
    match = _NUMBER.fullmatch(tidy) if len(tidy) <= 60 else None
    if match is None:
        raise QuantityError(f"{_shown(text)} is not a number, expected {expected}")
    if _THOUSANDS.match(tidy):
        plain = match[1].replace(",", "")
        point = match[1].replace(",", ".")
        raise QuantityError(f"{_shown(text)} can be {plain} or {point}, expected a point for the decimals")
    number, name = float(match[1].replace(",", ".")), match[2].strip()
    if not name:
        if bare:
            return number
        raise QuantityError(f"{_shown(text)} has no unit, expected {expected}")
    known = _fast_unit(name, unit)
    if known is not None:
        kind, size = known
        if kind == unit:
            return number * size
        if {kind, unit} != {"kelvin", "celsius"}:
            raise QuantityError(f"{_shown(text)} is of another kind, expected {expected}")
    try:
        return _by_pint(number, name, text, unit, expected)
    except QuantityError:
        if bare:  # nobody thinks of a unit where none is needed
            raise QuantityError(f"{_shown(text)} is no number, expected {expected}") from None
        raise


def _fast_unit(name: str, wanted: str) -> tuple[str, float] | None:
    """The kind of unit ``name`` is and its size, trying first the kind that is wanted."""
    found: list[tuple[str, float]] = []
    if name in _WHOLE:
        found.append(_WHOLE[name])
    for word, letter in _PREFIX_WORDS.items():
        if name.startswith(word) and name[len(word) :].strip() in _STEMS:
            name = letter + name[len(word) :].strip()
    if name in _STEMS:
        found.append((_STEMS[name], 1.0))
    if name[0] in _PREFIXES and name[1:].lstrip() in _STEMS:
        found.append((_STEMS[name[1:].lstrip()], _PREFIXES[name[0]]))
    if wanted == "ohm" and name in _PREFIXES:
        found.append(("ohm", _PREFIXES[name]))
    return next((each for each in found if each[0] == wanted), found[0] if found else None)


def _by_pint(number: float, name: str, text: str, unit: str, expected: str) -> float:
    """Ask pint about a unit that is not in the tables here."""
    wrong = QuantityError(f"{_shown(text)} has no unit that fits, expected {expected}")
    if not _PINT_TEXT.fullmatch(name):
        raise wrong
    try:
        value = _converter()(number, name.replace("-", "*"), _UNITS[unit].pint_name or unit)
    except Exception as problem:  # pint raises a dozen kinds, some of them no subclass of its own error
        raise wrong from problem
    return value


@cache
def _converter() -> Callable[[float, str, str], float]:
    """Conversion by pint, which takes a good part of a second to load: only on need."""
    import pint

    registry: Any = pint.UnitRegistry()

    def convert(number: float, source: str, target: str) -> float:
        return float(registry.Quantity(number, registry.parse_units(source)).to(target).magnitude)

    return convert


def _bounded(value: float, text: str, unit: str, expected: str) -> float:
    if not math.isfinite(value) or abs(value) > _UNITS[unit].limit or 0 < abs(value) < _LEAST:
        raise QuantityError(f"{_shown(text)} is beyond anything on a bench, expected {expected}")
    return value


def _eia96(tidy: str) -> float | None:
    """Two digits (place in the E96 series of IEC 60063) and a multiplier letter, or None."""
    sizes = {"Z": 1e-3, "Y": 1e-2, "R": 1e-2, "X": 0.1, "S": 0.1, "A": 1.0, "B": 10.0, "H": 10.0}
    sizes |= {"C": 1e2, "D": 1e3, "E": 1e4, "F": 1e5}
    match = re.fullmatch(r"([0-9]{2})([A-Za-z])", tidy)
    if match is None or match[2].upper() not in sizes or not 1 <= int(match[1]) <= 96:
        return None
    return round(100 * 10 ** ((int(match[1]) - 1) / 96)) * sizes[match[2].upper()]


def _two_ways(text: str, first: float, first_how: str, second: float, second_how: str) -> None:
    one, other = (f"{plain_number(value, 4)} ohm" for value in (first, second))
    raise QuantityError(
        f"{_shown(text)} can be {one} ({first_how}) or {other} ({second_how}), expected the value written out"
    )


def _round_significant(value: float, digits: int) -> float:
    return float(f"{value:.{max(digits, 1) - 1}e}")


def plain_number(value: float, digits: int) -> str:
    """``value`` to so many significant digits, never in powers of ten, without trailing zeros."""
    value = _round_significant(value, digits)
    places = max(0, digits - 1 - math.floor(math.log10(abs(value)))) if value else 0
    shown = f"{value:.{min(places, 15)}f}"
    return shown.rstrip("0").rstrip(".") if "." in shown else shown
