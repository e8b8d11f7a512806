"""A value of a file and where it stands in it: every complaint says both, and what was expected."""

from __future__ import annotations

import json
import math
from datetime import datetime
from typing import Any, NoReturn

from coilbench.errors import InputProblem
from coilbench.records.checks import shown

_LONGEST_TEXT = 200


class Place:
    """A value and where it stands, so that every complaint can say so."""

    def __init__(self, value: Any, where: str) -> None:
        self.value = value
        self.where = where

    def wrong(self, expected: str) -> NoReturn:
        raise InputProblem(f"{self.where or 'the file'}: {brief(self.value)}, expected {expected}")

    def object(self, *keys: str) -> dict[str, Place]:
        if not isinstance(self.value, dict):
            self.wrong("an object")
        for key in keys:
            if key not in self.value:
                raise InputProblem(f"{self.where or 'the file'}: no {key!r}, expected {', '.join(keys)}")
        for key in self.value:
            if key not in keys:
                raise InputProblem(
                    f"{self.where or 'the file'}: {shown(key)} is not known, expected {', '.join(keys)}"
                )
        return {key: Place(self.value[key], f"{self.where}.{key}".lstrip(".")) for key in keys}

    def entries(self) -> dict[str, Place]:
        """The values of an object by their keys, whatever those are."""
        if not isinstance(self.value, dict):
            self.wrong("an object")
        return {key: Place(each, f"{self.where}.{key[:40]}".lstrip(".")) for key, each in self.value.items()}

    def items(self) -> list[Place]:
        if not isinstance(self.value, list):
            self.wrong("a list")
        return [Place(each, f"{self.where}[{number}]") for number, each in enumerate(self.value)]

    def text(self) -> str:
        if not isinstance(self.value, str) or len(self.value) > _LONGEST_TEXT or not _is_clean(self.value):
            self.wrong(f"printable text of at most {_LONGEST_TEXT} characters")
        return self.value

    def number(self, *, least: float = 0.0) -> float:
        good = isinstance(self.value, (int, float)) and not isinstance(self.value, bool)
        try:
            value = float(self.value) if good else math.nan
        except OverflowError:
            value = math.inf
        if not (math.isfinite(value) and value >= least):
            self.wrong("a number of zero or more" if least == 0 else "a number")
        return value

    def time(self) -> str:
        text = self.text()
        try:
            datetime.fromisoformat(text)
        except ValueError:
            self.wrong("a time in ISO 8601")
        return text

    def plain_object(self) -> dict[str, Any]:
        if not isinstance(self.value, dict):
            self.wrong("an object")
        try:
            json.dumps(self.value, allow_nan=False, ensure_ascii=False).encode()
        except ValueError:
            self.wrong("plain text and finite numbers")
        return self.value


def _is_clean(text: str) -> bool:
    return text.isprintable() or not text


def brief(value: Any) -> str:
    """A value for a message, cut when long."""
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, str):
        return shown(value)
    try:
        return shown(json.dumps(value))[1:-1]
    except ValueError:
        return "a number far too large"
