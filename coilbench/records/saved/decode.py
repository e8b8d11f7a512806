"""From JSON to saved records, and back: the one place where what is saved is read and written.

A key that a record doesn't know is passed over: another version may keep more.
"""

from __future__ import annotations

import json
import pkgutil
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from importlib import import_module
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, cast, get_args, get_origin, get_type_hints

from coilbench.errors import Fault, InputProblem
from coilbench.records import saved
from coilbench.records.place import Place
from coilbench.records.saved.base import Event, Fact, Limits, Longest

_BESIDE = {"base", "decode", "facts", "forward"}  # modules that are no stage's


@cache
def stages() -> frozenset[str]:
    """The stages of which records are kept."""
    return frozenset(each.name for each in pkgutil.iter_modules(saved.__path__)) - _BESIDE


@cache
def shapes(stage: str) -> tuple[Any, Any]:
    """The shapes of a stage's fact and of its events; None for one that has none."""
    if stage not in stages():
        return None, None
    module = import_module(f"{saved.__name__}.{stage}")
    return module.FACT, module.EVENT


def fact_of(stage: str, place: Place) -> Fact | None:
    """A stage's fact from plain JSON values; None for a stage that is not known here.

    Raises InputProblem naming the place, the value and what was expected.
    """
    shape, _ = shapes(stage)
    return None if shape is None else cast("Fact", _read(shape, place))


def event_of(stage: str, place: Place) -> Event | None:
    """The same for something done at a stage."""
    _, shape = shapes(stage)
    return None if shape is None else cast("Event", _read(shape, place))


def kept_fact(motor: str, stage: str, text: str) -> Fact | None:
    """A fact as the bin holds it. Raises Fault where it can't be read: somebody else has written there."""
    return cast("Fact | None", _or_fault(fact_of, motor, stage, text))


def kept_event(motor: str, stage: str, text: str) -> Event | None:
    """An event as the bin holds it. Raises Fault where it can't be read."""
    return cast("Event | None", _or_fault(event_of, motor, stage, text))


def _or_fault(read: Any, motor: str, stage: str, text: str) -> Any:
    try:
        return read(stage, Place(json.loads(text), f"{motor}.{stage}"))
    except (InputProblem, ValueError) as problem:
        raise Fault(
            f"what is saved of {motor} can't be read: {problem}",
            title="Not readable",
            remedy="`coilbench bin export` still writes it out as it is",
        ) from problem


def json_of(record: Fact | Event) -> str:
    """A record as JSON text."""
    return json.dumps(plain(record), allow_nan=False)


def plain(record: Any) -> Any:
    """A record, or what one holds, as plain JSON values."""
    if is_dataclass(record) and not isinstance(record, type):
        brief = getattr(record, "BRIEF", False)
        written = [(each, getattr(record, each.name)) for each in fields(record)]
        return {
            each.name: plain(value)
            for each, value in written
            if not (brief and each.name != "kind" and value == _usual(each))
        }
    if isinstance(record, dict):
        return {key: plain(value) for key, value in record.items()}
    return [plain(each) for each in record] if isinstance(record, tuple) else record


def _usual(field: Any) -> Any:
    return field.default_factory() if field.default_factory is not MISSING else field.default


@cache
def _hints(shape: type) -> dict[str, Any]:
    """The types of a record's fields, by name."""
    hints = get_type_hints(shape, include_extras=True)
    return {each.name: hints[each.name] for each in fields(cast("Any", shape))}


def _read(shape: Any, place: Place) -> Any:
    """A value of this shape. Raises InputProblem."""
    origin = get_origin(shape)
    if origin is Annotated:
        kind, limits = get_args(shape)
        return _limited(kind, limits, place)
    if origin in (Union, UnionType):
        return _one_of(get_args(shape), place)
    if origin is Literal:
        if place.value not in get_args(shape):
            place.wrong(f"one of {', '.join(map(str, get_args(shape)))}")
        return place.value
    if origin is tuple:
        return _row(get_args(shape), place)
    if origin is dict:
        return {key: _read(get_args(shape)[1], inner) for key, inner in place.entries().items()}
    if is_dataclass(shape):
        return _record(cast("type", shape), place)
    if shape is bool and not isinstance(place.value, bool):
        place.wrong("true or false")
    return place.value if shape is bool else _limited(shape, Limits(float("-inf"), float("inf")), place)


def _record(shape: type, place: Place) -> Any:
    known, given = _hints(shape), place.entries()
    for each in fields(cast("Any", shape)):
        if each.name not in given and _usual(each) is MISSING:
            needed = [other.name for other in fields(cast("Any", shape)) if _usual(other) is MISSING]
            raise InputProblem(f"{place.where}: no {each.name!r}, expected {', '.join(needed)}")
    return shape(**{name: _read(hint, given[name]) for name, hint in known.items() if name in given})


def _row(shapes: tuple[Any, ...], place: Place) -> tuple[Any, ...]:
    items = place.items()
    if shapes[-1] is Ellipsis:
        return tuple(_read(shapes[0], each) for each in items)
    if len(items) != len(shapes):
        place.wrong(f"a list of {len(shapes)}")
    return tuple(_read(shape, each) for shape, each in zip(shapes, items, strict=True))


def _one_of(shapes: tuple[Any, ...], place: Place) -> Any:
    """Null, one of several records told by their ``kind``, or the first shape that fits."""
    if NoneType in shapes and place.value is None:
        return None
    records = [shape for shape in shapes if is_dataclass(shape)]
    if len(records) > 1:
        by_kind = {get_args(_hints(cast("type", shape))["kind"])[0]: shape for shape in records}
        given = place.entries()
        if "kind" not in given:
            raise InputProblem(f"{place.where}: no 'kind', expected {', '.join(by_kind)}")
        kind = given["kind"]
        if kind.value not in by_kind:
            kind.wrong(", ".join(by_kind))
        return _read(by_kind[kind.value], place)
    problem: InputProblem | None = None
    for shape in shapes:
        if shape is not NoneType:
            try:
                return _read(shape, place)
            except InputProblem as found:
                problem = found
    assert problem is not None
    raise problem


def _limited(shape: type, limits: Limits | Longest, place: Place) -> Any:
    """A text, a number or a whole number within its limits."""
    value = place.value
    if isinstance(limits, Longest):
        if not isinstance(value, str) or len(value) > limits.characters:
            place.wrong(f"text of at most {limits.characters} characters")
        return value
    if shape is int:
        if not isinstance(value, int) or isinstance(value, bool) or not limits.hold(value):
            place.wrong(f"a whole {limits.words.removeprefix('a ')}")
        return value
    if not isinstance(value, int | float) or isinstance(value, bool) or not limits.hold(value):
        place.wrong(limits.words)
    return float(value)
