"""What turns in a virtual motor and what drives it: figures alone, no state."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coilbench.motion.pullout import MotorFigures


@dataclass(frozen=True)
class MotorBody:
    """A motor and what hangs on its shaft."""

    figures: MotorFigures
    inertia_kilogram_metre2: float
    detent_newton_metre: float = 0.0
    friction_newton_metre: float = 0.0
    damping_newton_metre_second: float = 0.0
    load_newton_metre: float = 0.0


@dataclass(frozen=True)
class ChopperDrive:
    """A step/direction driver that regulates current; ``microsteps`` pulses make a full step.

    Full steps put ``current_ampere`` through both phases at once; microsteps follow a sine with that peak.
    """

    supply_volt: float
    current_ampere: float
    microsteps: int = 1


@dataclass(frozen=True)
class Mechanics:
    """A body and the drive that comes with it."""

    body: MotorBody
    drive: ChopperDrive
