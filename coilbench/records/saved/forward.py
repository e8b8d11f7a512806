"""Records as earlier versions kept them, brought forward: the same steps for a bin's file and for an exported one.

A step, once published, is never changed: a new one is appended.
"""

from __future__ import annotations

from typing import Any

# The version of the records; an export says which it holds.
VERSION = 4

_JOG_KEYS = (
    "start_rate_sps",
    "run_rate_sps",
    "working_rate_sps",
    "acceleration_sps2",
    "interval",
    "resonance_sps",
    "resonance_bands_sps",
    "proved",
    "shaft",
)


def forward(motor: dict[str, Any], version: int, *, to: int = VERSION) -> None:
    """Bring a motor's ``facts`` and ``events``, as an export holds them, from one version to another, in place.

    Version 3 brought the bench's own things, beside the motors, which stayed as they were: ``forward_own``.

    What an earlier version can't have written is left as it is, for the reader of records to refuse.
    """
    if version < 2 <= to:
        _one_to_two(motor)


def forward_own(thing: dict[str, Any], version: int, *, to: int = VERSION) -> None:
    """Bring a thing of the bench, as an export holds it, from one version to another, in place.

    Since version 4 what a meter told of a board's volts is kept on the board itself.
    """
    if version < 4 <= to and thing.get("kind") == "board":
        thing.pop("scale", None)


def _one_to_two(motor: dict[str, Any]) -> None:
    """Figures of the jog stand in a list, one entry a drive; a rating counts the entries of its temperature-rise
    tests, where it held the number of the last one in its own bin."""
    facts = motor["facts"]
    jog, ratings = (facts.get(stage) for stage in ("jog", "ratings"))
    if isinstance(jog, dict) and isinstance(jog.get("value"), dict):
        before = jog["value"]
        others = before.get("others") or []
        jog["value"] = {"drives": [_figures(each) for each in (before, *others)] if _all_objects(others) else others}
    if isinstance(ratings, dict) and isinstance(ratings.get("value"), dict) and ratings["value"].pop("soak_event", 0):
        entries = [each for each in motor["events"] if each.get("stage") == "ratings"]
        ratings["value"]["soak_entries"] = sum(str(each.get("time")) <= str(ratings.get("time")) for each in entries)


def _all_objects(values: Any) -> bool:
    return isinstance(values, list) and all(isinstance(each, dict) for each in values)


def _figures(before: dict[str, Any]) -> dict[str, Any]:
    found = {key: before[key] for key in _JOG_KEYS if key in before}
    microsteps = before.get("microsteps")
    found["drive"] = before.get("drive") or {"kind": "driver", **({"microsteps": microsteps} if microsteps else {})}
    return {**found, **{key: value for key, value in before.items() if key not in (*found, "others", "microsteps")}}
