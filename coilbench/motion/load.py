"""From a bare shaft to one that carries something: what inertia and torque take from a start that was found."""

from __future__ import annotations

import math

# How much of the torque that pulls it out of step a machine may ask of a motor (common practice).
PLANNED_SHARE = (1 / 2, 2 / 3)


def loaded_start_sps(
    bare_sps: float,
    rotor_inertia_kilogram_metre2: float,
    load_inertia_kilogram_metre2: float = 0.0,
    load_newton_metre: float = 0.0,
    holding_newton_metre: float | None = None,
    share: float = PLANNED_SHARE[0],
) -> float:
    """The start-stop rate with a load on, from the bare one: f0 sqrt(1 - TL/(s T)) / sqrt(1 + JL/J0); 0: none left.

    To start at once a rotor has to gain its speed within about a step: the torque for that rises with J f^2 (makers'
    catalogues, start-stop torque (J0 + JL) pi theta f^2 / (180 n); from memory). So the rate falls with the root of
    the inertia, and with the root of what a load of torque leaves of the motor's: of ``holding_newton_metre`` a start
    has no more than a ``share``, as the virtual motors' loaded starts bear out. Without that figure a load of torque
    is left out.
    """
    left = 1.0
    if holding_newton_metre is not None and load_newton_metre > 0:
        left = max(1 - load_newton_metre / (share * holding_newton_metre), 0.0)
    return bare_sps * math.sqrt(left / (1 + load_inertia_kilogram_metre2 / rotor_inertia_kilogram_metre2))
