"""What is usual where nothing was measured: a winding's inductance, and its torque constant."""

from __future__ import annotations

import math

from coilbench.errors import InputProblem

# Of 75 published windings (``tests/rating/motors.csv``): inductance over resistance of a half-winding on a 42 mm
# face, growing with the size; whole windings of four-lead motors have 1.7 times that.
USUAL_TIME_CONSTANT_SECOND = 0.85e-3
WHOLE_WINDING_TIMES = 1.7
SIZE_POWER = 2.5
USUAL_FACE_METRE = 0.0423
# Nine in ten published ones lie within these times the usual one; two in three within 1.5 times.
INDUCTANCE_TIMES = 3.0
# Inductance x rated current over the magnet's flux linkage, of 62 published motors with a printed holding torque; two
# in three within 1.5 times. Finer steps share the same magnet among more teeth.
USUAL_FLUX_RATIO = 1.3
_USUAL_TEETH = 50.0


def usual_inductance(coil_ohm: float, face_metre: float | None, *, whole_winding: bool) -> float:
    """Inductance in henry of a winding of so many ohms; ``face_metre`` None where the size isn't known.

    Raises InputProblem for a resistance not above zero.
    """
    if not (coil_ohm > 0 and math.isfinite(coil_ohm)):
        raise InputProblem(f"coil of {coil_ohm:g} ohm: expected more than zero")
    size = (face_metre or USUAL_FACE_METRE) / USUAL_FACE_METRE
    times = WHOLE_WINDING_TIMES if whole_winding else 1.0
    return coil_ohm * USUAL_TIME_CONSTANT_SECOND * times * math.pow(size, SIZE_POWER)


def usual_holding_torque(inductance_henry: float, current_ampere: float, rotor_teeth: float) -> float:
    """Holding torque in newton metre, both phases at ``current_ampere``, as the magnet's flux usually goes with L I.

    T = sqrt2 N I psi: the torque of two phases, each N I psi at its best angle.
    """
    flux_linkage = inductance_henry * current_ampere / USUAL_FLUX_RATIO * min(1.0, _USUAL_TEETH / rotor_teeth)
    return math.sqrt(2) * rotor_teeth * current_ampere * flux_linkage
