"""Judging an exported bin before any of it is let in."""

from __future__ import annotations

import json
from typing import Any, NoReturn

from coilbench.errors import InputProblem
from coilbench.records.checks import check_ends, checked_leads, checked_name, shown
from coilbench.records.place import Place
from coilbench.records.saved.decode import event_of, fact_of, own_of
from coilbench.records.saved.forward import forward, forward_own
from coilbench.records.saved.own import Own


def parts_of(text: str, format_name: str, version: int) -> tuple[list[dict[str, Any]], list[Own]]:
    """The motors of an exported object, and the things of its bench, every value checked.

    Raises InputProblem naming the place (``motors[0].readings[2].ohms``), the value and what was expected.
    """
    loaded = Place(_loaded(text), "")
    said = loaded.value.get("version") if isinstance(loaded.value, dict) else None
    with_bench = not (type(said) is int and said < _BENCH_FROM)
    whole = loaded.object("format", "version", *(["bench"] if with_bench else []), "motors")
    if whole["format"].value != format_name:
        whole["format"].wrong(repr(format_name))
    written = whole["version"].value
    if isinstance(written, bool) or written not in range(1, version + 1):
        whole["version"].wrong(f"version {version}, or an earlier one")
    motors = [_motor(place) for place in whole["motors"].items()]
    for number, motor in enumerate(motors):
        forward(motor, written)
        _check_records(motor, f"motors[{number}]")
    return motors, _bench(whole["bench"], written) if with_bench else []


def _bench(place: Place, written: int) -> list[Own]:
    things: list[Own] = []
    for each in place.items():
        if isinstance(each.value, dict):
            forward_own(each.value, written)
        thing = own_of(each, strict=True)
        if any((there.kind, there.name) == (thing.kind, thing.name) for there in things):
            raise InputProblem(f"{each.where}: {thing.kind} {shown(thing.name)} is there twice, expected each once")
        if thing.usual and any(there.kind == thing.kind and there.usual for there in things):
            raise InputProblem(f"{each.where}: a second usual {thing.kind}, expected one")
        things.append(thing)
    return things


_BENCH_FROM = 3  # the version of the export that has the bench's own things beside the motors


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
        raise InputProblem("a key is there twice in one object, expected each once")
    return found
