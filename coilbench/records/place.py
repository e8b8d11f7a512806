"""A value of a file and where it stands in it: every complaint says both, and what was expected."""

from __future__ import annotations

import json
import math
from datetime import datetime
from typing import Any, NoReturn

from coilbench.errors import InputProblem
from coilbench.plain_text import is_plain
from coilbench.records.checks import shown

_LONGEST_TEXT = 200
_DEEPEST = 20  # objects in one another
_MOST_NUMBER = 2**53  # what JSON carries exactly
MOST_OHM = 1e12  # no insulation that a bench meter shows comes near


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
        if not isinstance(self.value, str) or len(self.value) > _LONGEST_TEXT or not is_plain(self.value):
            self.wrong(f"printable text of at most {_LONGEST_TEXT} characters")
        return self.value

    def number(self, *, most: float = MOST_OHM) -> float:
        good = isinstance(self.value, (int, float)) and not isinstance(self.value, bool)
        try:
            value = float(self.value) if good else math.nan
        except OverflowError:
            value = math.inf
        if not 0 <= value <= most:
            self.wrong(f"a number of zero or more, to {most:g}")
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
        self._check_plain(_DEEPEST)
        return self.value

    def _check_plain(self, deepest: int) -> None:
        """Raise InputProblem for what no stage of any version keeps, wherever it stands in the value."""
        if isinstance(self.value, (dict, list)):
            if not deepest:
                self.wrong(f"at most {_DEEPEST} of such in one another")
            for inner in self.entries().values() if isinstance(self.value, dict) else self.items():
                inner._check_plain(deepest - 1)
            for key in self.value if isinstance(self.value, dict) else ():
                if not is_plain(key):
                    Place(key, f"{self.where} key").wrong("printable text")
        elif isinstance(self.value, str):
            if not is_plain(self.value):
                self.wrong("printable text")
        elif isinstance(self.value, (int, float)) and not abs(self.value) <= _MOST_NUMBER:
            self.wrong("a number within reason")


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
