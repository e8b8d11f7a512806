"""A virtual motor: its windings and, where it can be turned, its mechanics."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from random import Random
from typing import TYPE_CHECKING

from coilbench.board.virtual.mechanics import Mechanics
from coilbench.board.virtual.windings import Windings

if TYPE_CHECKING:
    from coilbench.board.virtual.running_motor import RunningMotor


@dataclass(frozen=True)
class VirtualMotor:
    """``story`` is what is written on it, ``frame`` its size as the intake stage names sizes."""

    name: str
    windings: Windings
    story: str
    frame: str | None = None
    mechanics: Mechanics | None = None

    def running(
        self,
        *,
        microsteps: int = 1,
        load_newton_metre: float = 0.0,
        flywheel: float = 1.0,
        peak_ampere: float | None = None,
        supply_volt: float | None = None,
        seed: int | None = None,
    ) -> RunningMotor:
        """The motor on its drive, at rest at time 0.

        ``load_newton_metre`` is added to its own load, ``flywheel`` multiplies its inertia. ``peak_ampere`` is the
        driver's limit, of which full steps put 1/sqrt(2) through both phases (as most step/direction drivers do);
        it and ``supply_volt`` are the drive's own where None. With a ``seed`` it varies from move to move as
        ``move_variation`` has it, without it is steady.
        Raises ValueError for a motor without mechanics or a number that can't be.
        """
        from coilbench.board.virtual.move_variation import varying_moves
        from coilbench.board.virtual.running_motor import RunningMotor

        if self.mechanics is None:
            raise ValueError(f"{self.name} has no mechanics")
        if not 1 <= microsteps <= 256:
            raise ValueError(f"microsteps must be 1 to 256, not {microsteps}")
        if not 0 < flywheel <= 1000:
            raise ValueError(
                f"a flywheel multiplies the inertia by more than 0 and at most 1000, not by {flywheel:g}"
            )
        body, drive = self.mechanics.body, self.mechanics.drive
        loaded = replace(
            body,
            inertia_kilogram_metre2=body.inertia_kilogram_metre2 * flywheel,
            load_newton_metre=body.load_newton_metre + load_newton_metre,
        )
        drive = replace(drive, microsteps=microsteps)
        if peak_ampere is not None:
            if not 0 < peak_ampere <= 100:
                raise ValueError(f"a driver's limit must be above 0 and at most 100 A, not {peak_ampere:g}")
            drive = replace(drive, current_ampere=peak_ampere / (math.sqrt(2) if microsteps == 1 else 1.0))
        if supply_volt is not None:
            if not 0 < supply_volt <= 1000:
                raise ValueError(f"a supply must be above 0 and at most 1000 V, not {supply_volt:g}")
            drive = replace(drive, supply_volt=supply_volt)
        moves = None if seed is None else varying_moves(Random(seed))
        return RunningMotor(loaded, drive, moves=moves)
