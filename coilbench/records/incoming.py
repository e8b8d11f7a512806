"""Judging an exported bin before any of it is let in."""

from __future__ import annotations

import json
import math
from dataclasses import fields
from datetime import datetime
from typing import Any, NoReturn

from coilbench.errors import InputProblem
from coilbench.records.checks import check_ends, checked_leads, checked_name, shown
from coilbench.winding.order_types import OrderTest

_LONGEST_TEXT = 200
_ORDER_TEST = tuple(each.name for each in fields(OrderTest))


def motors_of(text: str, format_name: str, version: int) -> list[dict[str, Any]]:
    """The motors of an exported object, every value checked.

    Raises InputProblem naming the place (``motors[0].readings[2].ohms``), the value and what was expected.
    """
    whole = _Place(_loaded(text), "").object("format", "version", "motors")
    if whole["format"].value != format_name:
        whole["format"].wrong(repr(format_name))
    if whole["version"].value != version or isinstance(whole["version"].value, bool):
        whole["version"].wrong(f"version {version}")
    return [_motor(place) for place in whole["motors"].items()]


class _Place:
    """A value and where it stands, so that every complaint can say so."""

    def __init__(self, value: Any, where: str) -> None:
        self.value = value
        self.where = where

    def wrong(self, expected: str) -> NoReturn:
        raise InputProblem(f"{self.where or 'the file'}: {_brief(self.value)}, expected {expected}")

    def object(self, *keys: str) -> dict[str, _Place]:
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
        return {key: _Place(self.value[key], f"{self.where}.{key}".lstrip(".")) for key in keys}

    def items(self) -> list[_Place]:
        if not isinstance(self.value, list):
            self.wrong("a list")
        return [_Place(each, f"{self.where}[{number}]") for number, each in enumerate(self.value)]

    def text(self) -> str:
        if not isinstance(self.value, str) or len(self.value) > _LONGEST_TEXT or not _is_clean(self.value):
            self.wrong(f"printable text of at most {_LONGEST_TEXT} characters")
        return self.value

    def number(self) -> float:
        good = isinstance(self.value, (int, float)) and not isinstance(self.value, bool)
        try:
            value = float(self.value) if good else math.nan
        except OverflowError:
            value = math.inf
        if not (math.isfinite(value) and value >= 0):
            self.wrong("a number of zero or more")
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


def _motor(place: _Place) -> dict[str, Any]:
    keys = place.object("name", "leads", "created", "readings", "facts", "events")
    leads = [each.text() for each in keys["leads"].items()]
    try:
        name = checked_name(keys["name"].text())
        checked_leads(leads)
    except InputProblem as problem:
        raise InputProblem(f"{place.where}: {problem}") from problem
    facts = keys["facts"]
    if not isinstance(facts.value, dict):
        facts.wrong("an object")
    return {
        "name": name,
        "leads": leads,
        "created": keys["created"].time(),
        "readings": [_reading(each, leads) for each in keys["readings"].items()],
        "facts": {
            _Place(stage, f"{facts.where} key").text(): _dated(_Place(value, f"{facts.where}.{stage[:40]}"))
            for stage, value in facts.value.items()
        },
        "events": [_event(each) for each in keys["events"].items()],
    }


def _reading(place: _Place, leads: list[str]) -> dict[str, Any]:
    keys = place.object("from", "to", "ohms", "range_ohms", "meter", "kind", "time")
    ends = keys["from"].text(), keys["to"].text()
    try:
        check_ends(*ends, leads)
    except InputProblem as problem:
        raise InputProblem(f"{place.where}: {problem}") from problem
    ohms = keys["ohms"]
    return {
        "from": ends[0],
        "to": ends[1],
        "ohms": "OL" if ohms.value == "OL" else ohms.number(),
        "range_ohms": None if keys["range_ohms"].value is None else keys["range_ohms"].number(),
        "meter": keys["meter"].text(),
        "kind": keys["kind"].text(),
        "time": keys["time"].time(),
    }


def _dated(place: _Place) -> dict[str, Any]:
    keys = place.object("value", "time")
    return {"value": keys["value"].plain_object(), "time": keys["time"].time()}


def _event(place: _Place) -> dict[str, Any]:
    keys = place.object("stage", "value", "time")
    stage, value = keys["stage"].text(), keys["value"].plain_object()
    if stage == "order":
        for each in keys["value"].object(*_ORDER_TEST).values():
            each.text()
    return {
        "stage": stage,
        "value": value,
        "time": keys["time"].time(),
    }


def _loaded(text: str) -> Any:
    if not text.strip():
        raise InputProblem("the file is empty, expected an exported bin")
    try:
        return json.loads(text, parse_constant=_no_constant, object_pairs_hook=_once_each)
    except json.JSONDecodeError as problem:
        raise InputProblem(f"line {problem.lineno}: {problem.msg}, expected an exported bin in JSON") from problem
    except RecursionError as problem:
        raise InputProblem("nested too deeply, expected an exported bin") from problem
    except ValueError as problem:  # a whole number of thousands of digits
        raise InputProblem(f"{problem}, expected an exported bin") from problem


def _no_constant(name: str) -> NoReturn:
    raise InputProblem(f'{name} is no JSON number, expected a number or "OL"')


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise InputProblem("a key stands twice in one object, expected each once")
    return found


def _is_clean(text: str) -> bool:
    return text.isprintable() or not text


def _brief(value: Any) -> str:
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
