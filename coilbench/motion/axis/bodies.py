"""Masses that turn."""

from __future__ import annotations

import math

STEEL_KILOGRAM_PER_METRE3 = 7850.0  # structural steel (EN 1991-1-1, table A.4, gives 77.0 to 78.5 kN/m3)


def cylinder_inertia(diameter_metre: float, length_metre: float, density_kilogram_per_metre3: float) -> float:
    """Of a full cylinder about its axis: pi rho L D^4 / 32, kilogram metre squared."""
    return math.pi * density_kilogram_per_metre3 * length_metre * diameter_metre**4 / 32


def disc_inertia(mass_kilogram: float, diameter_metre: float, bore_metre: float = 0.0) -> float:
    """Of a disc or ring about its axis: m (D^2 + d^2) / 8, kilogram metre squared; the squares add."""
    return mass_kilogram * (diameter_metre**2 + bore_metre**2) / 8
