"""What goes into the sorting of leads. A small module: the first screen waits for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coilbench.winding.readings.meter import Meter

FRAME = "frame"  # the motor's case, as files, JSON and the bin have named it from the first
CASE = "case"  # the same, as a person may type it
PROBES = "probes"
MOST_LEADS = 12


@dataclass(frozen=True)
class Reading:
    """One meter reading between two leads, or a lead and the frame, or the probes held together.

    ``ohm`` is what the display said in ohms, ``math.inf`` for open. ``range_ohm`` is the top of a hand-set range
    in use, where that was said (None: auto-ranging or not said). ``meter`` is what it was taken with, where that is
    another than the session's.
    """

    a: str
    b: str
    ohm: float
    range_ohm: float | None = None
    meter: Meter | None = None
