"""The driver chips: those of the table and a person's own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilbench.errors import InputProblem
from coilbench.records.own_chips import own_chips

if TYPE_CHECKING:
    from coilbench.driver.chip import Chip


def chip_called(name: str) -> Chip | None:
    """A driver chip of the table or of the person's own rows; None where it isn't known: one set up by its gain
    alone has no row."""
    from coilbench.driver.catalogue import find

    try:
        return find(name, own_chips())
    except InputProblem:
        return None


def unused_fields(name: str) -> frozenset[str]:
    """The fields that mean nothing to the chip called ``name``; none for one that isn't known."""
    chip = chip_called(name)
    if chip is None:
        return frozenset()
    formula = chip.formula
    of_chopper = {"sense"} if not formula.regulates or chip.internal_sense_ohm is not None else set()
    of_reference = set() if formula.has_vref else {"measured"}
    of_resistors = {"series", "clamp"} if formula.regulates else set()
    return frozenset(of_chopper | of_reference | of_resistors)


def marking(ohm: float) -> str:
    """A sense resistor as it is marked (IEC 60062): 0.1 ohm is R100, 1 ohm 1R00."""
    return f"R{round(ohm * 1000):03d}" if ohm < 1 else f"{ohm:.2f}".replace(".", "R")
