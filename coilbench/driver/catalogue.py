"""The table of driver chips: the one that comes with the project and a person's own rows."""

from __future__ import annotations

import csv
import difflib
import io
import math
import re
from collections.abc import Mapping
from dataclasses import MISSING, Field, fields, is_dataclass, replace
from functools import cache
from importlib import resources
from typing import Any

from coilbench.driver.chip import Chip, Formula, SenseUse
from coilbench.driver.formulas import FORMULAS, VrefOverSense
from coilbench.errors import InputProblem

_TEXTS = {
    "chip", "motor", "formula", "formula_text", "max_kind", "cool_free_kind", "decay", "decay_note", "logic_note",
    "vref_needs_supply", "vref_source", "status", "document", "conflict", "note", "thermal_on",
}  # fmt: skip
_LISTS = {"microsteps": int, "carrier_sense_ohm": float, "torque_percent": float, "memory": str}
_CHOICES = {
    "motor": ("bipolar", "unipolar"),
    "max_kind": ("peak", "rms"),
    "cool_free_kind": ("peak", "rms"),
    "thermal_on": ("board", "chip"),
    "decay": ("slow", "fast", "mixed", "mixed-falling", "adaptive"),
    "vref_needs_supply": ("yes", "no", "unknown"),
    "status": ("verified", "memory", "own"),
}
_GAIN = "gain"  # in a person's own rows, as their data sheet has it; the table keeps the factor
_MAY_BE_ZERO = {"vref_min_volt", "fast_fraction", "drop_volt", "offset_volt"}
_MAY_BE_NEGATIVE = {"offset_volt"}

Formulas = Mapping[str, type[Formula]]


def parse_rows(text: str, where: str, *, own: bool = True, formulas: Formulas = FORMULAS) -> tuple[Chip, ...]:
    """Chips of a CSV text whose first line names columns of ``Chip`` or of a formula.

    ``chip``, ``formula`` and ``gain`` suffice. ``gain`` is that of the chip's sense amplifier as data sheets print
    it, peak = VREF / (gain Rs); ``factor`` in its place multiplies. ``formulas`` are the classes by the name that
    stands in the column ``formula``.

    ``own`` marks them as a person's own rows. Raises InputProblem naming ``where``, line and value.
    """
    columns = _columns(formulas)
    reader = csv.reader(io.StringIO(text))
    chips: list[Chip] = []
    header: list[str] = []
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells) or cells[0].lstrip().startswith("#"):
                continue
            place = f"{where} line {reader.line_num}"
            if not header:
                header = _header([cell.strip() for cell in cells], columns, place)
                continue
            if len(cells) > len(header):
                raise InputProblem(f"{place}: {len(cells)} values under {len(header)} columns")
            chip = _row(dict(zip(header, (cell.strip() for cell in cells), strict=False)), formulas, place)
            if any(each.chip == chip.chip for each in chips):
                raise InputProblem(f"{place}: {chip.chip!r} is there twice, expected one row a chip")
            chips.append(replace(chip, status="own") if own else chip)
    except csv.Error as problem:
        raise InputProblem(f"{where} line {reader.line_num}: {problem}, expected comma separated values") from problem
    return tuple(chips)


@cache
def built_in() -> tuple[Chip, ...]:
    """The chips of the table beside this module."""
    text = (resources.files("coilbench.driver") / "chips.csv").read_text(encoding="utf-8")
    return parse_rows(text, "chips.csv", own=False)


def all_chips(own: tuple[Chip, ...] = ()) -> tuple[Chip, ...]:
    """A person's own rows, then the table's verified ones, then the rest, each by name.

    An own row stands in for a table row of the same name.
    """
    names = {_plain(chip.chip) for chip in own}
    rest = [chip for chip in built_in() if _plain(chip.chip) not in names]
    return own + tuple(sorted(rest, key=lambda chip: (not chip.verified, chip.chip)))


def find(name: str, own: tuple[Chip, ...] = ()) -> Chip:
    """The chip called ``name``, whatever its case and dashes. Raises InputProblem with the nearest names."""
    chips = all_chips(own)
    wanted = _plain(name)
    for chip in chips:
        if _plain(chip.chip) == wanted:
            return chip
    near = nearest(name, own)
    known = f"the nearest known are {', '.join(near)}" if near else "see coilbench vref --list"
    raise InputProblem(
        f"no chip {name[:40]!r} in the table, {known}",
        remedy="or coilbench vref with --gain and --sense from its data sheet",
    )


def is_known(name: str, own: tuple[Chip, ...] = ()) -> bool:
    """Whether ``find`` would find it."""
    return any(_plain(chip.chip) == _plain(name) for chip in all_chips(own))


def nearest(name: str, own: tuple[Chip, ...] = (), count: int = 3) -> list[str]:
    """Up to ``count`` names of chips that look most like ``name``."""
    by_plain = {_plain(chip.chip): chip.chip for chip in all_chips(own)}
    wanted = _plain(name)
    # A part number with its package letters behind it starts with the chip's name.
    starts = [plain for plain in by_plain if wanted and (wanted.startswith(plain) or plain.startswith(wanted))]
    alike = difflib.get_close_matches(wanted, by_plain, n=count, cutoff=0.4)
    return [by_plain[plain] for plain in dict.fromkeys([*starts, *alike])][:count]


def by_gain(name: str, gain_divisor: float) -> Chip:
    """A chip that isn't in the table, from the gain its data sheet prints: peak = VREF / (gain Rs)."""
    formula = VrefOverSense(1 / checked_gain(gain_divisor))
    return Chip(name, formula, formula_text=formula.symbols, status="own", document="gain as given")


def checked_gain(gain_divisor: float) -> float:
    """The gain of a chip's sense amplifier, 1 to 100. Raises InputProblem; 0.125 is an 8 turned over."""
    if math.isfinite(gain_divisor) and 1 <= gain_divisor <= 100:
        return gain_divisor
    raise InputProblem(
        f"a gain of {gain_divisor:g} is none of a driver chip, expected one such as 5 or 8: peak = VREF / (gain Rs)"
    )


def _plain(name: str) -> str:
    return re.sub(r"[^A-Z0-9]", "", name.upper())


def _columns(formulas: Formulas) -> list[str]:
    of_formulas = [field for kind in formulas.values() for field in _taken(kind)]
    return list(dict.fromkeys([*(field.name for field in (*fields(Chip), *of_formulas)), _GAIN]))


def _taken(kind: type[Formula]) -> tuple[Field[Any], ...]:
    """The columns that a formula takes from a chip's row, as the fields of its dataclass."""
    return fields(kind) if is_dataclass(kind) else ()


def _header(names: list[str], columns: list[str], place: str) -> list[str]:
    for name in names:
        if name not in columns:
            near = difflib.get_close_matches(name, columns, n=1)
            raise InputProblem(f"{place}: no column is called {name!r}, expected {near[0] if near else 'chip'}")
    for needed in ("chip", "formula"):
        if needed not in names:
            raise InputProblem(f"{place}: the column {needed!r} is missing")
    if _GAIN in names and "factor" in names:
        raise InputProblem(f"{place}: both gain and factor, expected one of them (gain is 1/factor)")
    if len(set(names)) != len(names):
        raise InputProblem(f"{place}: a column is there twice")
    return names


def _row(cells: dict[str, str], formulas: Formulas, place: str) -> Chip:
    values: dict[str, Any] = {}
    for column, text in cells.items():
        if not text:
            continue
        choices = formulas if column == "formula" else _CHOICES.get(column)
        if choices is not None and text not in choices:
            raise InputProblem(f"{place}: {column} {text!r}, expected one of {', '.join(choices)}")
        if column in _TEXTS:
            values[column] = text
        elif column in _LISTS:
            values[column] = _list(text, column, place)
        else:
            values[column] = _number(text, column, place)
    if not _plain(values.get("chip", "")):
        raise InputProblem(f"{place}: the chip's name is missing")
    for low, high in (("vref_min_volt", "vref_max_volt"), ("supply_min_volt", "supply_max_volt")):
        if low in values and high in values and values[low] >= values[high]:
            raise InputProblem(f"{place}: {low} {values[low]:g} is not below {high} {values[high]:g}")
    name = values.pop("formula", "UNKNOWN")
    formula = _formula(name, formulas[name], values, place)
    values.setdefault("formula_text", formula.symbols)
    of_chip = {field.name for field in fields(Chip)}
    return Chip(formula=formula, **{column: value for column, value in values.items() if column in of_chip})


def _formula(name: str, kind: type[Formula], values: dict[str, Any], place: str) -> Formula:
    """The formula called ``name`` with the figures of its row; a gain in ``values`` becomes the factor."""
    if kind.sense_use is SenseUse.UNUSED and "carrier_sense_ohm" in values:
        raise InputProblem(f"{place}: formula {name} has no sense resistor, expected carrier_sense_ohm to be empty")
    if _GAIN in values:
        if not kind.has_gain:
            raise InputProblem(f"{place}: formula {name} has no gain, expected its factor in a column 'factor'")
        try:
            values["factor"] = 1 / checked_gain(values.pop(_GAIN))
        except InputProblem as problem:
            raise InputProblem(f"{place}: {problem.happened}; what multiplies goes into a column 'factor'") from None
    for field in _taken(kind):
        if field.name not in values and field.default is MISSING:
            missing = "gain or factor" if field.name == "factor" and kind.has_gain else field.name
            raise InputProblem(f"{place}: {values['chip']} has no {missing}, expected one for formula {name}")
    try:
        return kind(**{field.name: values[field.name] for field in _taken(kind) if field.name in values})
    except InputProblem as problem:
        raise InputProblem(f"{place}: {problem.happened}") from None


def _list(text: str, column: str, place: str) -> tuple[Any, ...]:
    if _LISTS[column] is str:
        return tuple(text.split())
    numbers = [_number(word, column, place) for word in text.split()]
    if column == "microsteps" and any(number != int(number) for number in numbers):
        raise InputProblem(f"{place}: {column} {text!r}, expected whole numbers")
    return tuple(_LISTS[column](number) for number in numbers)


def _number(text: str, column: str, place: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise InputProblem(f"{place}: {column} {text!r} is not a number") from None
    signed = column in _MAY_BE_NEGATIVE
    if (
        not math.isfinite(value)
        or (value < 0 and not signed)
        or (value == 0 and column not in _MAY_BE_ZERO)
        or abs(value) > 1e5
    ):
        raise InputProblem(f"{place}: {column} {text!r}, expected a number above zero")
    return value
