"""A hand-held meter that reads virtual windings."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbench.board.virtual.motor import VirtualMotor
from coilbench.winding.readings.reading import FRAME, PROBES


@dataclass(frozen=True)
class VirtualMeter:
    """A meter with a gain error and probes of some resistance; its display has 6000 counts."""

    gain: float = 0.006
    probes_ohm: float = 0.2

    def measure(self, motor: VirtualMotor, a: str, b: str) -> float:
        """What the display says in ohm between two leads, or a lead and the frame, or the probes; inf for OL.

        Raises ValueError for a lead that the motor does not have.
        """
        if PROBES in (a, b):
            return round(self.probes_ohm, 1)
        places = [*motor.windings.leads, FRAME]
        true_ohm = float(motor.windings.resistance_ohm[places.index(a), places.index(b)])
        if math.isinf(true_ohm):
            return math.inf
        shown = true_ohm * (1 + self.gain) + self.probes_ohm
        step = 0.1 if shown < 600 else 1.0 if shown < 6000 else 10.0
        return round(round(shown / step) * step, 1)
