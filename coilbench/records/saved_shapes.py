"""What the saved results and events of each stage look like, for those that come from a file.

The stages trust what they find in the bin; a file is checked against these shapes before any of it goes in.

A shape is one of the words in ``_WORDS`` below, a ``OneOf``, a ``Maybe``, a list of one shape for any number of such
values, or a dictionary of shapes by key (``*``: any key), whose key may be missing where it ends in ``?``. Other keys
are let by: another version may keep more.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, get_args

from coilbench.errors import InputProblem
from coilbench.records.place import Place
from coilbench.winding.order.types import Answer, TestKind

_LONGEST_TEXT = 10_000
_MOST_MICROSTEPS = 256


@dataclass(frozen=True)
class OneOf:
    """One of these texts."""

    texts: tuple[str, ...]


@dataclass(frozen=True)
class Maybe:
    """Of this shape, or null."""

    shape: Any


def check_fact(stage: str, place: Place) -> None:
    """Raises InputProblem where a stage's saved result is not of its shape; unknown stages are let by."""
    _check(FACTS.get(stage, {}), place)


def check_event(stage: str, place: Place) -> None:
    """Raises InputProblem where something done at a stage is not of its shape; unknown stages are let by."""
    shape = EVENTS.get(stage, {})
    if stage == "jog":
        kind = place.value.get("kind") if isinstance(place.value, dict) else None
        if not isinstance(kind, str) or kind not in shape:
            Place(kind, f"{place.where}.kind").wrong(", ".join(shape))
        shape = shape[kind]
    _check(shape, place)


def _check(shape: Any, place: Place) -> None:
    match shape:
        case Maybe():
            if place.value is not None:
                _check(shape.shape, place)
        case OneOf():
            if place.value not in shape.texts:
                place.wrong(f"one of {', '.join(shape.texts)}")
        case list():
            for each in place.items():
                _check(shape[0], each)
        case dict():
            _check_object(shape, place)
        case _:
            _WORDS[shape](place)


def _check_object(shape: Mapping[str, Any], place: Place) -> None:
    value = place.value
    if not isinstance(value, dict):
        place.wrong("an object")
    if "*" in shape:
        for key, each in value.items():
            _check(shape["*"], Place(each, f"{place.where}.{key[:40]}"))
        return
    for key, inner in shape.items():
        name = key.removesuffix("?")
        if name in value:
            _check(inner, Place(value[name], f"{place.where}.{name}"))
        elif name == key:
            needed = ", ".join(each for each in shape if not each.endswith("?"))
            raise InputProblem(f"{place.where}: no {name!r}, expected {needed}")


def _text(place: Place) -> None:
    value = place.value
    if not isinstance(value, str) or len(value) > _LONGEST_TEXT:
        place.wrong(f"text of at most {_LONGEST_TEXT} characters")


def _pair(place: Place) -> None:
    if len(place.items()) != 2:
        place.wrong("two names")
    for each in place.items():
        _text(each)


def _count(place: Place) -> None:
    if not isinstance(place.value, int) or isinstance(place.value, bool) or not 0 <= place.value < 2**53:
        place.wrong("a whole number of zero or more")


def _microsteps(place: Place) -> None:
    _count(place)
    if not 1 <= place.value <= _MOST_MICROSTEPS:
        place.wrong(f"1 to {_MOST_MICROSTEPS}")


def _more_than_zero(place: Place) -> None:
    if place.number() == 0:
        place.wrong("a number above zero")


def _figure(place: Place) -> None:
    place.number(least=-math.inf)


def _truth(place: Place) -> None:
    if not isinstance(place.value, bool):
        place.wrong("true or false")


_WORDS: Mapping[str, Callable[[Place], object]] = {
    "text": _text,
    "pair": _pair,  # of texts
    "number": Place.number,  # zero or more
    "positive": _more_than_zero,
    "figure": _figure,  # any finite one
    "count": _count,
    "microsteps": _microsteps,
    "truth": _truth,
}

_SHAFT = {
    "steps_per_turn": "count",
    "gear?": "positive",
    "flag_on?": OneOf(("rotor", "output")),
    "sensor?": "truth",
}
_DRIVE = {
    "kind": OneOf(("driver", "array", "bridge")),
    "form?": OneOf(("wave", "full", "half")),
    "microsteps?": "microsteps",
}
_JOG = {
    "start_rate_sps?": Maybe("positive"),
    "run_rate_sps?": Maybe("positive"),
    "working_rate_sps?": Maybe("positive"),
    "acceleration_sps2?": Maybe("positive"),
    "interval?": Maybe(["positive"]),
    "resonance_sps?": ["positive"],
    "resonance_bands_sps?": [["number"]],
    "proved?": {"*": "count"},
    "shaft?": Maybe(_SHAFT),
    "microsteps?": "microsteps",
    "drive?": _DRIVE,
}

FACTS: Mapping[str, Any] = {
    "intake": {
        "frame?": Maybe("text"),
        "label?": Maybe("text"),
        "diameter_metre?": Maybe("positive"),
        "length_metre?": Maybe("positive"),
        "step_angle_degree?": Maybe("positive"),
    },
    "windings": {
        "arrangement": "text",
        "confidence?": "number",
        "coils?": [
            {
                "name": "text",
                "ends": "pair",
                "tap?": Maybe("text"),
                "ohms": Maybe("positive"),
                "ohms_sd": Maybe("number"),
            }
        ],
        "common?": Maybe("text"),
        "spare?": ["text"],
        "faults?": [{"kind": "text", "leads": ["text"]}],
    },
    "order": {
        "sequence": ["text"],
        "reverse?": ["text"],
        "phases?": ["pair"],
        "halves?": Maybe({"*": ["pair"]}),
        "done?": "truth",
    },
    "ratings": {
        "current_ampere": Maybe("positive"),
        "low_ampere": Maybe("positive"),
        "high_ampere": Maybe("positive"),
        "resistance_ohm?": Maybe("positive"),
        "inductance_henry?": Maybe("positive"),
        "holding_torque_newton_metre?": Maybe("positive"),
        "step_angle_degree?": Maybe("positive"),
        "inertia_kilogram_metre2?": Maybe("positive"),
        "basis?": ["text"],
        "typed?": {"*": "text"},
        "soak_event?": "count",
    },
    "connection": {
        "connection": "text",
        "current_ampere": "positive",
        "resistance_ohm?": Maybe("positive"),
        "inductance_henry?": Maybe("positive"),
        "wiring?": ["text"],
        "typed?": {"*": "text"},
    },
    "driver": {
        "chip": "text",
        "sense_ohm?": Maybe("positive"),
        "vref_volt?": Maybe("number"),
        "peak_ampere": "positive",
        "supply_volt?": Maybe("positive"),
        "microsteps?": Maybe("microsteps"),
    },
    "jog": {**_JOG, "others?": [_JOG]},
}

_PLAN = {  # of a search, or of a scan
    "question": "text",
    "shaft": _SHAFT,
    "avoid?": [["number"]],
    "swing_hz?": Maybe("positive"),
    "count?": "count",
    "turns?": "positive",
    "back_rate_sps?": "positive",
    "dwell_s?": "number",
}
_TRIAL = {
    "question": "text",
    "tested": "positive",
    "steps": "count",
    "start_rate_sps": "positive",
    "run_rate_sps": "positive",
    "acceleration_sps2": "positive",
    "back_rate_sps": "positive",
    "dwell_s": "number",
}
EVENTS: Mapping[str, Any] = {
    "order": {
        "kind": OneOf(get_args(TestKind)),
        "reference": "text",
        "touched": "text",
        "answer": OneOf(get_args(Answer)),
    },
    "ratings": {"soak": "text", "text?": "text", "second?": "count"},
    "jog": {  # by their kind
        "begin": {"plan": _PLAN, "drive?": _DRIVE},
        "trial": {
            "trial": _TRIAL,
            "outcome": {
                "kind": OneOf(("returned", "off", "unclear")),
                "jumps?": Maybe("figure"),
                "missed_steps?": Maybe("figure"),
            },
        },
        "turn": {"turned": "text"},
        "end": {"so_far?": "text"},
    },
}
