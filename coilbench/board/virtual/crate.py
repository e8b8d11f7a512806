"""The motors that can be had on a virtual port, all made up, in the size of what a repair shop pulls from scrap."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from coilbench.board.virtual.motor import ChopperDrive, MotorBody, VirtualMotor
from coilbench.board.virtual.move_variation import varying_moves
from coilbench.motion.pullout import MotorFigures

_CRATE: dict[str, tuple[MotorBody, ChopperDrive]] = {
    # A small hybrid off a document feeder: the seed-tray feeder's motor.
    "bench": (
        MotorBody(MotorFigures(0.26, 1.2, 2.5, 3.5e-3), 110e-7, 0.012, 0.010, 1.2e-3),
        ChopperDrive(12.0, 1.2),
    ),
    # A heavy one with a flywheel of a platter on it.
    "turntable": (
        MotorBody(MotorFigures(0.40, 1.5, 1.6, 2.8e-3), 300e-7, 0.018, 0.015, 2.4e-3),
        ChopperDrive(12.0, 1.5),
    ),
    # The vent opener's screw leans on this one all the time.
    "vent": (
        MotorBody(MotorFigures(0.45, 1.7, 1.5, 2.8e-3), 140e-7, 0.020, 0.020, 2.4e-3, 0.08),
        ChopperDrive(24.0, 1.7),
    ),
    # A tin can, 48 steps a turn.
    "tincan": (
        MotorBody(MotorFigures(0.03, 0.35, 20.0, 18e-3, rotor_teeth=12), 10e-7, 0.003, 0.002, 1.6e-4),
        ChopperDrive(12.0, 0.35),
    ),
}

NAMES = tuple(_CRATE)


def virtual_motor(
    name: str,
    *,
    microsteps: int = 1,
    load_newton_metre: float = 0.0,
    flywheel: float = 1.0,
    seed: int | None = None,
) -> VirtualMotor:
    """A fresh motor by its name; ``load_newton_metre`` is added to its own load, ``flywheel`` multiplies its inertia.

    With a ``seed`` it varies from move to move as ``move_variation`` has it, without it is steady.
    Raises ValueError for a name that is not in the crate or a number that can't be.
    """
    if name not in _CRATE:
        raise ValueError(f"no virtual motor is called {name}; there are {', '.join(NAMES)}")
    if not 1 <= microsteps <= 256:
        raise ValueError(f"microsteps must be 1 to 256, not {microsteps}")
    if not 0 < flywheel <= 1000:
        raise ValueError(f"a flywheel multiplies the inertia by more than 0 and at most 1000, not by {flywheel:g}")
    body, drive = _CRATE[name]
    loaded = replace(
        body,
        inertia_kilogram_metre2=body.inertia_kilogram_metre2 * flywheel,
        load_newton_metre=body.load_newton_metre + load_newton_metre,
    )
    moves = None if seed is None else varying_moves(Random(seed))
    return VirtualMotor(loaded, replace(drive, microsteps=microsteps), moves=moves)
