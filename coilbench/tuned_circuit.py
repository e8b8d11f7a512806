"""A coil and a capacitor ring at one frequency, which tells one of the three from the other two.

Thomson's formula, (2 pi f)^2 L C = 1. It leaves the coil's ohms out: they blunt the peak of the volts more than they
shift it, by under 1 % of L at a quality of 3.
"""

from __future__ import annotations

import math


def partner(other: float, hertz: float) -> float:
    """The henry that ring with so many farad at ``hertz``, or the farad that ring with so many henry."""
    return 1 / (other * (2 * math.pi * hertz) ** 2)


def resonance_hertz(henry: float, farad: float) -> float:
    """Where a coil and a capacitor ring."""
    return 1 / (2 * math.pi * math.sqrt(henry * farad))
