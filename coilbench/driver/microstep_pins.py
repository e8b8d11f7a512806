"""Which levels a chip's microstep pins need, by its maker's table."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from importlib import resources

_LEVELS = {"L": "low", "H": "high", "Z": "not connected"}


@cache
def _table() -> Mapping[str, tuple[tuple[str, ...], Mapping[int, str]]]:
    """The pins of each chip, and their levels by microsteps to a full step."""
    text = (resources.files("coilbench.driver") / "microstep_pins.csv").read_text(encoding="utf-8")
    found = {}
    for row in csv.DictReader(line for line in text.splitlines() if not line.startswith("#")):
        told = (each.split("=") for each in row["levels"].split())
        found[row["chip"]] = (tuple(row["pins"].split()), {int(steps): levels for steps, levels in told})
    return found


def pin_levels(chip: str, steps: int) -> tuple[tuple[str, str], ...]:
    """Each pin of this chip with its level for so many microsteps to a full step; none where no table tells."""
    pins, levels = _table().get(chip, ((), {}))
    return tuple((pin, _LEVELS[level]) for pin, level in zip(pins, levels.get(steps, ""), strict=False))
