"""How fast a long screw may turn and how hard it may be pushed."""

from __future__ import annotations

from dataclasses import dataclass

# Speed: mm/min, for a root diameter in mm over a length squared in mm2, 0.8 of the first whirling speed inside (NSK,
# THK and MISUMI ball screw catalogues alike). The beam's own figures for steel are 3.44, 9.66, 15.1 and 21.9 e7.
# Buckling: Euler's load with half of it as the margin, N for mm: THK general catalogue, section A15.
_ENDS = {
    "fixed-free": (3.4, 1.3),
    "supported-supported": (9.7, 5.0),
    "fixed-supported": (15.1, 10.0),
    "fixed-fixed": (21.9, 20.0),
}
ENDS = tuple(_ENDS)

# Tension and compression of the root, whatever the length: 147 MPa, THK general catalogue, section A15.
_STRESS_NEWTON_PER_MM2 = 116.0


@dataclass(frozen=True)
class ShaftLimits:
    """Of a screw between its bearings; the usual margins are inside, no second one is applied."""

    critical_rpm: float
    buckling_newton: float
    crushing_newton: float


def shaft_limits(root_diameter_metre: float, length_metre: float, ends: str) -> ShaftLimits:
    """Limits of a steel screw held by its ``ends`` (a name of ``ENDS``). Raises KeyError for another."""
    speed, load = _ENDS[ends]
    root_mm, length_mm = root_diameter_metre * 1000, length_metre * 1000
    return ShaftLimits(
        critical_rpm=speed * 1e7 * root_mm / length_mm**2,
        buckling_newton=load * 1e4 * root_mm**4 / length_mm**2,
        crushing_newton=_STRESS_NEWTON_PER_MM2 * root_mm**2,
    )
