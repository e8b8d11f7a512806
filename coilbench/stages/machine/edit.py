"""Axes put into a machine file's text and taken out of it, with the person's own comments and order left as they are.

Lines are moved, and the result is read again: where it doesn't say what was meant, the file is refused, not spoilt.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping
from typing import Any

from coilbench.errors import InputProblem
from coilbench.stages.axis.fields import AxisField
from coilbench.stages.machine.keys import LISTS, axis_fields

_HEAD = re.compile(r"\s*\[\[\s*axis\s*\]\]\s*(#.*)?$")
_TABLE = re.compile(r"\s*\[{1,2}[^\[\],]+\]{1,2}\s*(#.*)?$")
_KEY = re.compile(r"\s*([A-Za-z0-9_-]+)\s*=")
_NUMBER = re.compile(r"[0-9]{1,20}(\.[0-9]{1,20})?")
BY_HAND = "change this one by hand, in the file"

Table = Mapping[str, str | float | list[str]]


def table_of(kind: str, texts: Mapping[str, str]) -> dict[str, str | float | list[str]]:
    """The texts of a form, by their key, as an axis's table says them; empty ones are left out."""
    fields = axis_fields(kind)
    table: dict[str, str | float | list[str]] = {}
    for key, text in texts.items():
        text = " ".join(text.split())
        if not text:
            continue
        if key in LISTS:
            table[key] = [name for each in text.split(",") if (name := each.strip())]
        else:
            table[key] = _value(fields[key], text)
    return table


def _value(field: AxisField, text: str) -> str | float:
    plain = text.replace(",", ".")
    if field.unit in ("number", "count", "share") and _NUMBER.fullmatch(plain):
        return float(plain) if "." in plain else int(plain)
    return text


def texts_of(table: Mapping[str, Any]) -> dict[str, str]:
    """An axis's table as the texts of its form."""
    return {
        key: ", ".join(map(str, value)) if isinstance(value, list) else str(value) for key, value in table.items()
    }


def axes_in(text: str) -> list[dict[str, Any]]:
    """The tables of the axes as they are in a text that can be read; none where it has something else there."""
    found = tomllib.loads(text).get("axis", [])
    tables = isinstance(found, list) and all(isinstance(each, dict) for each in found)
    return list(found) if tables else []


def with_axis(text: str, table: Table, instead_of: str = "") -> str:
    """The text with an axis more, or changed: that of the name ``instead_of``. Raises InputProblem."""
    axes = axes_in(text)
    at = _place(axes, instead_of) if instead_of else len(axes)
    lines = text.splitlines()
    if at == len(axes):
        lines = [*lines, *([""] if lines and lines[-1].strip() else []), "[[axis]]", *_lines(table)]
    else:
        first, last = _span(lines, at)
        lines[first:last] = _changed(lines[first:last], axes[at], table)
    return _checked(lines, text, [*axes[:at], dict(table), *axes[at + 1 :]])


def without_axis(text: str, name: str) -> str:
    """The text without this axis, and without the comment right above it. Raises InputProblem."""
    axes, lines = axes_in(text), text.splitlines()
    at = _place(axes, name)
    first, last = _span(lines, at)
    first -= 1
    while first > 0 and lines[first - 1].lstrip().startswith("#"):
        first -= 1
    while last < len(lines) and not lines[last].strip():
        last += 1
    return _checked(lines[:first] + lines[last:], text, axes[:at] + axes[at + 1 :])


def _place(axes: list[dict[str, Any]], name: str) -> int:
    found = [number for number, each in enumerate(axes) if each.get("name") == name]
    if len(found) != 1:
        raise InputProblem(f"there is no one axis {name!r} in the file", remedy=BY_HAND)
    return found[0]


def _span(lines: list[str], at: int) -> tuple[int, int]:
    """The lines between an axis's head and the end of its last key: what stands below belongs to the next."""
    heads = [number for number, line in enumerate(lines) if _HEAD.match(line)]
    if at >= len(heads):
        raise InputProblem("an axis of the file is laid out in a way that can't be changed here", remedy=BY_HAND)
    first = heads[at] + 1
    end = next((number for number in range(first, len(lines)) if _TABLE.match(lines[number])), len(lines))
    while end > first and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
        end -= 1
    return first, end


def _lines(table: Table) -> list[str]:
    return [f"{key} = {_written(value)}" for key, value in table.items()]


def _written(value: str | float | list[str]) -> str:
    """As TOML has it: its strings and lists are JSON's."""
    return json.dumps(value, ensure_ascii=False)


def _changed(lines: list[str], before: Mapping[str, Any], table: Table) -> list[str]:
    """The lines of an axis with what differs changed, gone and added."""
    kept, left = [], dict(table)
    for line in lines:
        found = _KEY.match(line)
        key = found[1] if found else ""
        if key in left:
            value = left.pop(key)
            kept.append(line if value == before.get(key) else f"{key} = {_written(value)}")
        elif key not in before:
            kept.append(line)
    return kept + _lines(left)


def _checked(lines: list[str], before: str, axes: list[dict[str, Any]]) -> str:
    """The lines as a text that says just this: the axes, and all else as before."""
    text = "\n".join(lines).rstrip("\n") + "\n"
    wanted = {key: value for key, value in tomllib.loads(before).items() if key != "axis"}
    if axes:
        wanted["axis"] = axes
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        found = {}
    if found != wanted:
        raise InputProblem("the file is laid out in a way that can't be changed here", remedy=BY_HAND)
    return text
