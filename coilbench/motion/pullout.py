"""What a two-phase hybrid or permanent-magnet motor can hold and pull, from its plate figures."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class MotorFigures:
    """One motor as connected: figures per phase, holding torque with both phases at the rated current."""

    holding_torque_newton_metre: float
    rated_current_ampere: float
    resistance_ohm: float
    inductance_henry: float
    rotor_teeth: float = 50

    @property
    def steps_per_turn(self) -> float:
        """Full steps in a turn: four per rotor tooth."""
        return 4 * self.rotor_teeth

    @property
    def torque_constant_newton_metre_per_ampere(self) -> float:
        """Km = T_hold / (sqrt2 I): one phase at I gives Km I, both give sqrt2 Km I."""
        return self.holding_torque_newton_metre / (math.sqrt(2) * self.rated_current_ampere)

    @property
    def flux_linkage_weber(self) -> float:
        """Peak flux linkage of a phase, psi = Km / rotor teeth."""
        return self.torque_constant_newton_metre_per_ampere / self.rotor_teeth


def voltage_limited_torque(motor: MotorFigures, speed_rad_s: Array, supply_volt: float) -> Array:
    """Pull-out torque with a square-wave voltage on each phase, newton metre; same shape as ``speed_rad_s``.

    T = p psi V / sqrt(R^2 + w^2 L^2) - p w psi^2 R / (R^2 + w^2 L^2) with w the electrical speed and
    V = (4/pi) supply (Acarnley, Stepping Motors, hybrid pull-out torque; from memory, derived again from phasors).
    An upper bound: real motors lose more, about half of it gone at 600 rpm. Negative values are held to zero.
    """
    psi, teeth = motor.flux_linkage_weber, motor.rotor_teeth
    electrical = teeth * np.asarray(speed_rad_s, dtype=float)
    impedance2 = motor.resistance_ohm**2 + (electrical * motor.inductance_henry) ** 2
    drive = 4 / math.pi * supply_volt
    torque: Array = teeth * psi * drive / np.sqrt(impedance2)
    torque = torque - teeth * electrical * psi**2 * motor.resistance_ohm / impedance2
    return np.maximum(torque, 0.0)


def pull_out_torque(
    motor: MotorFigures, speed_rad_s: Array, supply_volt: float, current_ampere: float | None = None
) -> Array:
    """Pull-out torque with a chopper: the voltage-limited one, capped by the holding torque at its current."""
    current = motor.rated_current_ampere if current_ampere is None else current_ampere
    cap = motor.holding_torque_newton_metre * current / motor.rated_current_ampere
    return np.minimum(voltage_limited_torque(motor, speed_rad_s, supply_volt), cap)


def small_swing_hz(
    holding_torque_newton_metre: float, inertia_kilogram_metre2: float, rotor_teeth: float = 50
) -> float:
    """Frequency of small swings about a held step: sqrt(N_r T_hold / J) / (2 pi), hertz.

    From J th'' = -T_hold sin(N_r th), the static torque curve, for small th (Acarnley, Stepping Motors; from memory).
    """
    return math.sqrt(rotor_teeth * holding_torque_newton_metre / inertia_kilogram_metre2) / (2 * math.pi)


def speed_rad_s(rate_sps: float, steps_per_turn: float) -> float:
    """Shaft speed for a rate in full steps per second."""
    return 2 * math.pi * rate_sps / steps_per_turn
