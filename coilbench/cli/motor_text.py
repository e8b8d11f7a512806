"""What is kept of a motor, as lines to read: rounded, with units, no raw objects."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from coilbench.quantity import format_quantity

_DIGITS = 4
_QUANTITIES = (
    "newton_metre",
    "ampere",
    "volt",
    "ohm",
    "henry",
    "metre",
    "celsius",
    "degree",
    "watt",
    "second",
    "hertz",
)
_PLAIN = {"kilogram_metre2": "kg m²", "sps2": "steps/s²", "sps": "steps/s"}
_OHMS = {"ohms", "ohms_sd"}
_SHARES = {"confidence"}


def lines_of(value: Mapping[str, Any]) -> list[str]:
    """An entry a line, ``name: value``; lists of objects as tables beneath; what isn't known gathered at the end."""
    lines, unknown = [], []
    for key, entry in value.items():
        if entry == {}:
            continue  # nothing was typed there
        if entry is None or entry == []:
            unknown.append(_label(key))
        elif _is_table(entry):
            lines += [f"{_label(key)}:", *(f"  {row}" for row in _table(entry))]
        else:
            lines.append(f"{_label(key)}: {text_of(key, entry)}")
    return lines + ([f"none or not known: {', '.join(unknown)}"] if unknown else [])


def text_of(key: str, value: Any) -> str:
    """A kept value in a few words, its unit taken from its name."""
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return _number(key, value)
    if isinstance(value, str):
        return value
    if isinstance(value, Mapping):
        known = [(name, each) for name, each in value.items() if each is not None]
        return ", ".join(f"{_label(name)} {text_of(name, each)}" for name, each in known)
    return _list(key, value)


def _list(key: str, values: Sequence[Any]) -> str:
    if values and all(isinstance(each, int | float) and not isinstance(each, bool) for each in values):
        return (" to " if len(values) == 2 else ", ").join(_number(key, each) for each in values)
    texts = [text_of(key, each) for each in values]
    return (" " if all(" " not in each for each in texts) else "; ").join(texts)


def _number(key: str, value: float) -> str:
    if key in _OHMS:
        return format_quantity(value, "ohm", _DIGITS)
    if key in _SHARES:
        return f"{int(value * 1000) / 10:g} %"
    for unit in _QUANTITIES:
        if key.endswith(unit):
            return format_quantity(value, unit, _DIGITS)
    for ending, unit in _PLAIN.items():
        if key.endswith(ending):
            return f"{value:.{_DIGITS}g} {unit}"
    return f"{value:.{_DIGITS}g}" if isinstance(value, float) else str(value)


def _label(key: str) -> str:
    if key in _SHARES:
        return "confidence"
    for ending in (*_QUANTITIES, *_PLAIN):
        key = key.removesuffix(f"_{ending}")
    return key.replace("_", " ")


def _is_table(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(each, Mapping) for each in value)


def _table(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """Columns as wide as their content; one that is empty in all rows is left out."""
    keys = [key for key in dict.fromkeys(key for row in rows for key in row) if any(row.get(key) for row in rows)]
    cells = [[_label(key) for key in keys]]
    cells += [["" if row.get(key) is None else text_of(key, row[key]) for key in keys] for row in rows]
    widths = [max(len(row[column]) for row in cells) for column in range(len(keys))]
    return ["  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip() for row in cells]
