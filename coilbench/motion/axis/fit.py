"""What a motor is worth on an axis: what it pulls and holds there over what is asked of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
import numpy.typing as npt

from coilbench.motion.axis.axis import Axis, Motor

Array = npt.NDArray[np.float64]

NOTHING_ASKED = 1000.0  # the margin where next to nothing is asked; keeps comparisons and JSON finite
_AMPLE = 99.5


def margin_text(margin: float) -> str:
    """To read: two digits, or that there is more than enough."""
    return "ample" if margin >= _AMPLE else f"{margin:.2g}"


@dataclass(frozen=True, slots=True)
class Asked:
    """What one motor's shaft has to do: a steady rate in full steps a second, a torque for the load at that speed and
    in all while it speeds up, and a torque that it has to hold at rest."""

    rate_sps: float
    steady_newton_metre: float
    total_newton_metre: float
    hold_newton_metre: float


@dataclass(frozen=True, slots=True)
class Proof:
    """What a trial found: up to ``rate_sps`` it ran with ``load_newton_metre`` on its shaft, above it skipped."""

    rate_sps: float
    load_newton_metre: float = 0.0


@dataclass(frozen=True, slots=True)
class Worth:
    """Torque there over torque asked, on the move and at rest; the lesser one is the ``margin``."""

    asked: Asked
    pulls_newton_metre: float
    run: float
    hold: float
    proved: bool | None

    @property
    def margin(self) -> float:
        return min(self.run, self.hold)


@dataclass(frozen=True, slots=True)
class Asking:
    """What an axis asks of one motor's shaft, whichever motor that is: ``on_top_newton_metre`` speeds up load and
    drive, ``shaft_rad_per_s2`` the rotor with them."""

    turns_per_second: float
    steady_newton_metre: float
    on_top_newton_metre: float
    shaft_rad_per_s2: float
    hold_newton_metre: float

    @classmethod
    def of(cls, axis: Axis, speed: float, acceleration: float | None) -> Asking:
        """Speed and acceleration along the axis in metre and second (of a table, in radian)."""
        return cls(
            turns_per_second=axis.turns(speed),
            steady_newton_metre=axis.steady_newton_metre,
            on_top_newton_metre=0.0 if acceleration is None else axis.acceleration_newton_metre(acceleration),
            shaft_rad_per_s2=0.0 if acceleration is None else axis.turns(acceleration) * 2 * math.pi,
            hold_newton_metre=max(-axis.back_newton_metre, 0.0),
        )


@dataclass(frozen=True, slots=True)
class Shafts:
    """Motors as an axis sees them: arrays of shape (motors,). The rate is infinite where no trial was made."""

    steps_per_turn: Array
    rotor_inertia_kilogram_metre2: Array
    holding_newton_metre: Array
    proof_sps: Array
    proof_newton_metre: Array

    @classmethod
    def of(cls, motors: Sequence[tuple[Motor, Proof | None]]) -> Shafts:
        """A row for each, with what its trial found."""
        rows = [
            (
                motor.steps_per_turn,
                motor.rotor_inertia_kilogram_metre2 or 0.0,
                motor.holding_newton_metre or 0.0,
                math.inf if proof is None else proof.rate_sps,
                0.0 if proof is None else proof.load_newton_metre,
            )
            for motor, proof in motors
        ]
        return cls(*np.array(rows, dtype=float).reshape(len(rows), 5).T)


class Worths:
    """What motors are worth on an axis, by what they pull by the model at the rate asked of each, ``rate_sps``."""

    def __init__(self, asking: Asking, shafts: Shafts) -> None:
        self._asking, self._shafts = asking, shafts
        self.rate_sps = asking.turns_per_second * shafts.steps_per_turn
        rotors = shafts.rotor_inertia_kilogram_metre2 * asking.shaft_rad_per_s2
        self._total = asking.steady_newton_metre + (asking.on_top_newton_metre + rotors)
        self._hold = _over(shafts.holding_newton_metre, np.full(len(rotors), asking.hold_newton_metre))

    def margins(self, modelled_newton_metre: Array) -> Array:
        """Of each; nan where the torque is."""
        return np.minimum(_over(self._pulls(modelled_newton_metre), self._total), self._hold)

    def _pulls(self, modelled: Array) -> Array:
        """What a trial measured outweighs the model: pull-out torque falls with speed, so up to the rate that was run
        it is at least the trial's load, and above at most that."""
        load = self._shafts.proof_newton_metre
        ran_so_fast = self.rate_sps <= self._shafts.proof_sps
        return np.where(ran_so_fast, np.maximum(modelled, load), np.minimum(modelled, load))

    def of(self, row: int, modelled_newton_metre: Array) -> Worth:
        """One of them."""
        asking, pulls = self._asking, self._pulls(modelled_newton_metre)
        proof_sps = self._shafts.proof_sps[row]
        return Worth(
            asked=Asked(
                rate_sps=float(self.rate_sps[row]),
                steady_newton_metre=asking.steady_newton_metre,
                total_newton_metre=float(self._total[row]),
                hold_newton_metre=asking.hold_newton_metre,
            ),
            pulls_newton_metre=float(pulls[row]),
            run=float(_over(pulls, self._total)[row]),
            hold=float(self._hold[row]),
            proved=bool(self.rate_sps[row] <= proof_sps) if math.isfinite(proof_sps) else None,
        )


def _over(there: Array, needed: Array) -> Array:
    ample = np.full(len(there), NOTHING_ASKED)
    share = np.divide(there, needed, out=ample, where=~(needed * NOTHING_ASKED <= there))
    return cast(Array, np.where(there <= 0, 0.0, share))
