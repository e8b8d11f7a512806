"""From JSON to saved records, and back: the one place where what is saved is read and written.

In the bin a key that a record doesn't know is passed over: another version may keep more. What comes from outside is
judged strictly: such a key is refused, and text that isn't plain.
"""

from __future__ import annotations

import json
import pkgutil
from dataclasses import MISSING, fields, is_dataclass, replace
from functools import cache
from importlib import import_module
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, cast, get_args, get_origin, get_type_hints

from coilbench.errors import Fault, InputProblem
from coilbench.plain_text import cleaned, is_plain
from coilbench.records import saved
from coilbench.records.checks import checked_name, shown
from coilbench.records.place import Place
from coilbench.records.saved.base import Event, Fact, Limits, Longest
from coilbench.records.saved.own import Own

_BESIDE = {"base", "decode", "facts", "forward", "own"}  # modules that are no stage's


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


def fact_of(stage: str, place: Place, *, strict: bool = False) -> Fact | None:
    """A stage's fact from plain JSON values; None for a stage that is not known here.

    ``strict`` is for what comes from outside.

    Raises InputProblem naming the place, the value and what was expected.
    """
    shape, _ = shapes(stage)
    return None if shape is None else cast("Fact", _Reader(strict).read(shape, place))


def event_of(stage: str, place: Place, *, strict: bool = False) -> Event | None:
    """The same for something done at a stage."""
    _, shape = shapes(stage)
    return None if shape is None else cast("Event", _Reader(strict).read(shape, place))


def own_of(place: Place, *, strict: bool = False) -> Own:
    """A thing of the bench from plain JSON values. Raises InputProblem."""
    thing = cast("Own", _Reader(strict).read(Own, place))
    return replace(thing, name=checked_name(thing.name, "a name")) if strict else thing


def kept_own(kind: str, text: str) -> Own:
    """A thing of the bench as the bin holds it. Raises Fault where it can't be read."""
    return cast("Own", _or_fault(lambda _, place: own_of(place), "the bench", kind, text))


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


def json_of(record: Fact | Event | Own) -> str:
    """A record as JSON text. Raises InputProblem for one that could not be read again."""
    value = plain(record)
    where = record.stage if isinstance(record, Fact | Event) else record.kind
    _Reader(strict=True).read(type(record), Place(value, where))
    return json.dumps(value, allow_nan=False)


def plain(record: Any) -> Any:
    """A record, or what one holds, as plain JSON values; what drives a terminal is left out of its texts."""
    if is_dataclass(record) and not isinstance(record, type):
        brief = getattr(record, "BRIEF", False)
        written = [(each, getattr(record, each.name)) for each in fields(record)]
        return {
            each.name: plain(value)
            for each, value in written
            if each.name == "kind" or not (brief or "brief" in each.metadata) or value != _usual(each)
        }
    if isinstance(record, dict):
        return {cleaned(key): plain(value) for key, value in record.items()}
    if isinstance(record, tuple):
        return [plain(each) for each in record]
    return cleaned(record) if isinstance(record, str) else record


def _usual(field: Any) -> Any:
    return field.default_factory() if field.default_factory is not MISSING else field.default


@cache
def _hints(shape: type) -> dict[str, Any]:
    """The types of a record's fields, by name."""
    hints = get_type_hints(shape, include_extras=True)
    return {each.name: hints[each.name] for each in fields(cast("Any", shape))}


class _Reader:
    """Values of a shape out of plain JSON ones."""

    def __init__(self, strict: bool) -> None:
        self._strict = strict

    def read(self, shape: Any, place: Place) -> Any:
        """A value of this shape. Raises InputProblem."""
        origin = get_origin(shape)
        if origin is Annotated:
            kind, limits = get_args(shape)
            return self._limited(kind, limits, place)
        if origin in (Union, UnionType):
            return self._one_of(get_args(shape), place)
        if origin is Literal:
            if place.value not in get_args(shape):
                place.wrong(f"one of {', '.join(map(str, get_args(shape)))}")
            return place.value
        if origin is tuple:
            return self._row(get_args(shape), place)
        if origin is dict:
            key_shape, value_shape = get_args(shape)
            return {
                self.read(key_shape, Place(key, f"{place.where} key")): self.read(value_shape, inner)
                for key, inner in place.entries().items()
            }
        if is_dataclass(shape):
            return self._record(cast("type", shape), place)
        if shape is bool and not isinstance(place.value, bool):
            place.wrong("true or false")
        return place.value if shape is bool else self._limited(shape, Limits(float("-inf"), float("inf")), place)

    def _record(self, shape: type, place: Place) -> Any:
        known, given = _hints(shape), place.entries()
        for key in given if self._strict else ():
            if key not in known:
                raise InputProblem(f"{place.where}: {shown(key)} is not known, expected {', '.join(known)}")
        for each in fields(cast("Any", shape)):
            if each.name not in given and _usual(each) is MISSING:
                needed = [other.name for other in fields(cast("Any", shape)) if _usual(other) is MISSING]
                raise InputProblem(f"{place.where}: no {each.name!r}, expected {', '.join(needed)}")
        return shape(**{name: self.read(hint, given[name]) for name, hint in known.items() if name in given})

    def _row(self, shapes: tuple[Any, ...], place: Place) -> tuple[Any, ...]:
        items = place.items()
        if shapes[-1] is Ellipsis:
            return tuple(self.read(shapes[0], each) for each in items)
        if len(items) != len(shapes):
            place.wrong(f"a list of {len(shapes)}")
        return tuple(self.read(shape, each) for shape, each in zip(shapes, items, strict=True))

    def _one_of(self, shapes: tuple[Any, ...], place: Place) -> Any:
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
            if not isinstance(kind.value, str) or kind.value not in by_kind:
                kind.wrong(", ".join(by_kind))
            return self.read(by_kind[kind.value], place)
        problem: InputProblem | None = None
        for shape in shapes:
            if shape is not NoneType:
                try:
                    return self.read(shape, place)
                except InputProblem as found:
                    problem = found
        assert problem is not None
        raise problem

    def _limited(self, shape: type, limits: Limits | Longest, place: Place) -> Any:
        """A text, a number or a whole number within its limits."""
        value = place.value
        if isinstance(limits, Longest):
            if not isinstance(value, str) or len(value) > limits.characters:
                place.wrong(f"text of at most {limits.characters} characters")
            if self._strict and not is_plain(value):
                place.wrong("printable text")
            return value
        if shape is int:
            if not isinstance(value, int) or isinstance(value, bool) or not limits.hold(value):
                place.wrong(f"a whole {limits.words.removeprefix('a ')}")
            return value
        if not isinstance(value, int | float) or isinstance(value, bool) or not limits.hold(value):
            place.wrong(limits.words)
        return float(value)
