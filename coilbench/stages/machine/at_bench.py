"""Drivers and supplies at the bench, as a machine takes them."""

from __future__ import annotations

from collections.abc import Iterable

from coilbench.quantity import parse_quantity
from coilbench.records.saved.own import Own, OwnDriver, OwnSupply
from coilbench.stages.machine.machine import DriverBoard, Supply


def drivers_at_bench(own: Iterable[Own]) -> tuple[list[DriverBoard], DriverBoard | None]:
    """All of them, and the usual one."""
    there = {each: DriverBoard(each.name, each.chip, sense=each.sense) for each in own if isinstance(each, OwnDriver)}
    return list(there.values()), next((board for each, board in there.items() if each.usual), None)


def supplies_at_bench(own: Iterable[Own]) -> tuple[list[Supply], Supply | None]:
    """All of them, and the usual one."""
    there = {
        each: Supply(each.name, parse_quantity(each.supply, "volt")) for each in own if isinstance(each, OwnSupply)
    }
    return list(there.values()), next((supply for each, supply in there.items() if each.usual), None)
