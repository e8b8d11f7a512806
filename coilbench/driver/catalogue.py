"""The table of driver chips: the one that comes with the project and a person's own rows."""

from __future__ import annotations

import csv
import difflib
import io
import math
import re
from dataclasses import fields, replace
from functools import cache
from importlib import resources
from typing import Any, cast

from coilbench.driver.chip import FORMULAS, Chip, Formula
from coilbench.errors import InputProblem

_TEXTS = {
    "chip", "motor", "formula", "formula_text", "max_kind", "cool_free_kind", "decay", "decay_note", "logic_note",
    "vref_needs_supply", "vref_source", "status", "document", "conflict", "note",
}  # fmt: skip
_LISTS = {"microsteps": int, "carrier_sense_ohm": float, "torque_percent": float, "memory": str}
_CHOICES = {
    "motor": ("bipolar", "unipolar"),
    "formula": FORMULAS,
    "max_kind": ("peak", "rms"),
    "cool_free_kind": ("peak", "rms"),
    "decay": ("slow", "fast", "mixed", "mixed-falling", "adaptive"),
    "vref_needs_supply": ("yes", "no", "unknown"),
    "status": ("verified", "memory", "own"),
}
_GAIN = "gain"  # in a person's own rows, as their data sheet has it; the table keeps the factor
_COLUMNS = (*(field.name for field in fields(Chip)), _GAIN)
_MAY_BE_ZERO = {"vref_min_volt", "fast_fraction", "drop_volt"}


def parse_rows(text: str, where: str, *, own: bool = True) -> tuple[Chip, ...]:
    """Chips of a CSV text whose first line names columns of ``Chip``; ``chip``, ``formula`` and ``gain`` suffice.

    ``gain`` is that of the chip's sense amplifier as data sheets print it, peak = VREF / (gain Rs); ``factor`` in its
    place is the k of ``Formula``, which multiplies.

    ``own`` marks them as a person's own rows. Raises InputProblem naming ``where``, line and value.
    """
    reader = csv.reader(io.StringIO(text))
    chips: list[Chip] = []
    header: list[str] = []
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells) or cells[0].lstrip().startswith("#"):
                continue
            place = f"{where} line {reader.line_num}"
            if not header:
                header = _header([cell.strip() for cell in cells], place)
                continue
            if len(cells) > len(header):
                raise InputProblem(f"{place}: {len(cells)} values under {len(header)} columns")
            chip = _row(dict(zip(header, (cell.strip() for cell in cells), strict=False)), place)
            if any(each.chip == chip.chip for each in chips):
                raise InputProblem(f"{place}: {chip.chip!r} stands there twice, expected one row a chip")
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
    known = f"the nearest known are {', '.join(near)}" if near else "see --list"
    raise InputProblem(
        f"no chip {name[:40]!r} in the table, {known}",
        remedy="or give --gain and --sense from its data sheet",
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
    return Chip(
        chip=name, formula="VREF_RS", factor=1 / checked_gain(gain_divisor), formula_text=_by_gain_text(gain_divisor),
        status="own", document="gain as given",
    )  # fmt: skip


def checked_gain(gain_divisor: float) -> float:
    """The gain of a chip's sense amplifier, 1 to 100. Raises InputProblem; 0.125 is an 8 turned over."""
    if math.isfinite(gain_divisor) and 1 <= gain_divisor <= 100:
        return gain_divisor
    raise InputProblem(
        f"a gain of {gain_divisor:g} is none of a driver chip, expected one such as 5 or 8: peak = VREF / (gain Rs)"
    )


def _by_gain_text(gain_divisor: float) -> str:
    return f"peak = VREF / ({gain_divisor:g} Rs)"


def _plain(name: str) -> str:
    return re.sub(r"[^A-Z0-9]", "", name.upper())


def _header(names: list[str], place: str) -> list[str]:
    for name in names:
        if name not in _COLUMNS:
            near = difflib.get_close_matches(name, _COLUMNS, n=1)
            raise InputProblem(f"{place}: no column is called {name!r}, expected {near[0] if near else 'chip'}")
    for needed in ("chip", "formula"):
        if needed not in names:
            raise InputProblem(f"{place}: the column {needed!r} is missing")
    if _GAIN in names and "factor" in names:
        raise InputProblem(f"{place}: both gain and factor, expected one of them (gain is 1/factor)")
    if len(set(names)) != len(names):
        raise InputProblem(f"{place}: a column stands there twice")
    return names


def _row(cells: dict[str, str], place: str) -> Chip:
    values: dict[str, Any] = {}
    for column, text in cells.items():
        if not text:
            continue
        if column in _CHOICES and text not in _CHOICES[column]:
            raise InputProblem(f"{place}: {column} {text!r}, expected one of {', '.join(_CHOICES[column])}")
        if column in _TEXTS:
            values[column] = text
        elif column in _LISTS:
            values[column] = _list(text, column, place)
        else:
            values[column] = _number(text, column, place)
    if not _plain(values.get("chip", "")):
        raise InputProblem(f"{place}: the chip's name is missing")
    formula = cast(Formula, values.get("formula", "UNKNOWN"))
    if _GAIN in values:
        if formula not in ("VREF_RS", "VREF_RS20"):
            raise InputProblem(f"{place}: formula {formula} has no gain, expected its factor in a column 'factor'")
        try:
            gain = checked_gain(values.pop(_GAIN))
        except InputProblem as problem:
            raise InputProblem(f"{place}: {problem.happened}; what multiplies goes into a column 'factor'") from None
        values["factor"] = 1 / gain
        if formula == "VREF_RS":
            values.setdefault("formula_text", _by_gain_text(gain))
    if formula not in ("LR", "UNKNOWN") and "factor" not in values:
        raise InputProblem(f"{place}: {values['chip']} has no gain or factor, expected one for formula {formula}")
    for low, high in (("vref_min_volt", "vref_max_volt"), ("supply_min_volt", "supply_max_volt")):
        if low in values and high in values and values[low] >= values[high]:
            raise InputProblem(f"{place}: {low} {values[low]:g} is not below {high} {values[high]:g}")
    return Chip(**values)


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
    if not math.isfinite(value) or value < 0 or (value == 0 and column not in _MAY_BE_ZERO) or value > 1e5:
        raise InputProblem(f"{place}: {column} {text!r}, expected a number above zero")
    return value
