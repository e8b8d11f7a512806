"""Figures with their units, as they stand in the sentences about a driver, and as they are kept and passed on."""

from __future__ import annotations

from typing import overload

from coilbench.quantity import format_quantity


def amps(value: float, digits: int = 3) -> str:
    return format_quantity(value, "ampere", digits)


def volts(value: float, digits: int = 3) -> str:
    return format_quantity(value, "volt", digits)


def ohms(value: float, digits: int = 3) -> str:
    return format_quantity(value, "ohm", digits)


def seconds(value: float, digits: int = 2) -> str:
    return format_quantity(value, "second", digits)


def watts(value: float, digits: int = 3) -> str:
    return format_quantity(value, "watt", digits)


@overload
def six_digits(value: float) -> float: ...
@overload
def six_digits(value: None) -> None: ...
@overload
def six_digits(value: float | None) -> float | None: ...
def six_digits(value: float | None) -> float | None:
    """The value to six significant digits."""
    return None if value is None else float(f"{value:.6g}")
