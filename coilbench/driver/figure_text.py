"""Figures with their units, as they stand in the sentences about a driver."""

from __future__ import annotations

from coilbench.quantity import format_quantity


def amps(value: float, digits: int = 3) -> str:
    return format_quantity(value, "ampere", digits)


def volts(value: float, digits: int = 3) -> str:
    return format_quantity(value, "volt", digits)


def ohms(value: float, digits: int = 3) -> str:
    return format_quantity(value, "ohm", digits)


def watts(value: float, digits: int = 3) -> str:
    return format_quantity(value, "watt", digits)
