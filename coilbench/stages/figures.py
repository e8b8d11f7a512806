"""What was reckoned, as figures with their names and what a practitioner would say of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbench.quantity import format_quantity, plain_number

_SHOWN = {
    *("metre", "newton", "newton_metre", "degree", "second", "watt", "metre_per_second"),
    *("henry", "farad", "ohm", "ampere", "volt", "joule", "hertz"),
}


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure: ``key`` ends in its SI unit, ``shown`` is the same to read."""

    key: str
    label: str
    value: float | bool | None
    shown: str


def figure(key: str, label: str, value: float | bool | None, unit: str = "", digits: int = 3) -> Figure:
    """A figure to so many digits in ``unit``, as ``quantity`` names it or as it is written behind the number."""
    if value is None:
        shown = "not known"
    elif isinstance(value, bool):
        shown = "yes" if value else "no"
    elif math.isinf(value):
        value, shown = None, "more than it can"
    elif unit == "kilogram_metre2":
        large = value >= 1e-3
        shown = f"{plain_number(value if large else value * 1e7, digits)} {'kg·m²' if large else 'g·cm²'}"
    elif unit in _SHOWN:
        shown = format_quantity(value, unit, digits)
    else:
        shown = f"{plain_number(value, digits)} {unit}".strip()
    return Figure(key, label, value, shown)


@dataclass(frozen=True)
class FiguresAnswer:
    """The figures in the order a person wants them, and what there is to say."""

    kind: str
    figures: tuple[Figure, ...]
    findings: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    def as_json(self) -> dict[str, object]:
        """One flat object, figures by their key."""
        figures = {each.key: each.value for each in self.figures}
        return {"kind": self.kind} | figures | {"findings": list(self.findings), "warnings": list(self.warnings)}
