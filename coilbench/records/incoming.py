"""Judging an exported bin before any of it is let in."""

from __future__ import annotations

import json
from typing import Any, NoReturn

from coilbench.errors import InputProblem
from coilbench.records.checks import check_ends, checked_leads, checked_name
from coilbench.records.place import Place
from coilbench.records.saved.decode import event_of, fact_of
from coilbench.records.saved.forward import forward


def motors_of(text: str, format_name: str, version: int) -> list[dict[str, Any]]:
    """The motors of an exported object, every value checked.

    Raises InputProblem naming the place (``motors[0].readings[2].ohms``), the value and what was expected.
    """
    whole = Place(_loaded(text), "").object("format", "version", "motors")
    if whole["format"].value != format_name:
        whole["format"].wrong(repr(format_name))
    written = whole["version"].value
    if isinstance(written, bool) or written not in range(1, version + 1):
        whole["version"].wrong(f"version {version}, or an earlier one")
    motors = [_motor(place) for place in whole["motors"].items()]
    for number, motor in enumerate(motors):
        forward(motor, written)
        _check_records(motor, f"motors[{number}]")
    return motors


def check_motor(motor: dict[str, Any]) -> None:
    """Raise InputProblem, naming the place, where a motor of this version is not as an export may hold it."""
    _check_records(_motor(Place(motor, "")), "")


def _motor(place: Place) -> dict[str, Any]:
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
            Place(stage, f"{facts.where} key").text(): _fact(Place(value, f"{facts.where}.{stage[:40]}"))
            for stage, value in facts.value.items()
        },
        "events": [_event(each) for each in keys["events"].items()],
    }


def _reading(place: Place, leads: list[str]) -> dict[str, Any]:
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


def _fact(place: Place) -> dict[str, Any]:
    keys = place.object("value", "time")
    return {"value": keys["value"].plain_object(), "time": keys["time"].time()}


def _check_records(motor: dict[str, Any], where: str) -> None:
    """Raise InputProblem where a saved record is not of its shape; those of unknown stages are let by."""
    for stage, fact in motor["facts"].items():
        fact_of(stage, Place(fact["value"], f"{where}.facts.{stage[:40]}.value"), strict=True)
    for number, event in enumerate(motor["events"]):
        event_of(event["stage"], Place(event["value"], f"{where}.events[{number}].value"), strict=True)


def _event(place: Place) -> dict[str, Any]:
    keys = place.object("stage", "value", "time")
    return {
        "stage": keys["stage"].text(),
        "value": keys["value"].plain_object(),
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
