"""The virtual board's analogue converter: what it reads, with noise, a bow, and a bandgap that is the chip's own.

Microchip: ATmega328P data sheet, "ADC Conversion Result" and "ADC Accuracy Definitions", from memory: 1024 steps, the
first at half a step; integral non-linearity of half a step; bandgap 1.0 to 1.2 V.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

from coilbench.board.link.messages import BANDGAP_MV

_TOP = 1023
_NOISE_STEPS = 0.5  # of a reading; common practice
_WAVES = 3.0  # of the bow over the whole scale; invented


@dataclass
class Converter:
    """``bandgap_mv`` is the chip's own reference, ``kept_mv`` what the board was told of it by a meter,
    ``bow_steps`` its largest non-linearity."""

    bandgap_mv: float = BANDGAP_MV
    bow_steps: float = 0.5
    kept_mv: int | None = None

    @property
    def taken_mv(self) -> int:
        """What the sketch takes its reference for."""
        return BANDGAP_MV if self.kept_mv is None else self.kept_mv

    def full_mv(self, against: object, supply_mv: float) -> float:
        """The true reference of a reading."""
        return self.bandgap_mv if against == "bandgap" else supply_mv

    def code(self, input_mv: float, full_mv: float, rng: random.Random) -> int:
        """One reading, 0 to 1023."""
        exact = input_mv / full_mv * 1024
        bow = self.bow_steps * math.sin(_WAVES * math.tau * exact / 1024)
        return min(max(round(exact + bow + rng.gauss(0.0, _NOISE_STEPS)), 0), _TOP)

    def told_supply_mv(self, supply_mv: float, rng: random.Random) -> int:
        """The board's supply as the sketch tells it, by one reading of the bandgap."""
        return self.taken_mv * 1024 // self.code(self.bandgap_mv, supply_mv, rng)
