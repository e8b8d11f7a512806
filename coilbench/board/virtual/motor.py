"""A virtual motor: its windings and, where it can be turned, its mechanics."""

from __future__ import annotations

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
        seed: int | None = None,
    ) -> RunningMotor:
        """The motor on its drive, at rest at time 0.

        ``load_newton_metre`` is added to its own load, ``flywheel`` multiplies its inertia. With a ``seed`` it varies
        from move to move as ``move_variation`` has it, without it is steady.
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
        moves = None if seed is None else varying_moves(Random(seed))
        return RunningMotor(loaded, replace(drive, microsteps=microsteps), moves=moves)
