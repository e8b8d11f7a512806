"""Branches with resistance and inductance between nodes: their voltages, for good or while currents rise."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_CLAMP_SHARE, _CLAMP_OHM = -0.1, 230.0  # a pin's diode, half a volt below ground, and the resistor before it
_STAGE = 1 - math.sqrt(0.5)  # two implicit stages a step (R. Alexander, SIAM J. Numer. Anal. 14, 1977; from memory)

_LEAKS = 1e-10  # what nothing holds stays solvable

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Circuit:
    """Branches with resistance and inductance between nodes, the clips first; ``holds`` are clip, ohm and share of
    the supply behind it."""

    incidence: Floats
    ohm: Floats
    henry: Floats
    holds: list[tuple[int, float, float]]
    may_clamp: list[int]

    def stands(self) -> Floats:
        """The voltages once all currents stand."""
        return self._solver(math.inf)(np.zeros(len(self.ohm)))[0]

    def after(self, seconds: float, flows: Floats | None) -> tuple[Floats, Floats]:
        """Voltages and currents so much later; ``flows`` are those before, None for none."""
        before, solve = np.zeros(len(self.ohm)) if flows is None else flows, self._solver(_STAGE * seconds)
        _, first = solve(before)
        return solve(before + (first - before) * (1 - _STAGE) / _STAGE)

    def _solver(self, seconds: float) -> Callable[[Floats], tuple[Floats, Floats]]:
        """Gives voltages and currents one implicit stage later, for the currents before."""
        held = self.henry / seconds
        admittance = np.linalg.inv(self.ohm + held)
        between = self.incidence @ admittance @ self.incidence.T + _LEAKS * np.eye(len(self.incidence))

        def solve(flows: Floats) -> tuple[Floats, Floats]:
            anyhow, clamped = admittance @ (held @ flows), set[int]()
            while True:
                matrix, current = between.copy(), -self.incidence @ anyhow
                for clip, ohm, share in [*self.holds, *((clip, _CLAMP_OHM, _CLAMP_SHARE) for clip in clamped)]:
                    matrix[clip, clip] += 1 / ohm
                    current[clip] += share / ohm
                volts = np.asarray(np.linalg.solve(matrix, current), dtype=np.float64)
                more = {clip for clip in self.may_clamp if volts[clip] < _CLAMP_SHARE} - clamped
                if not more:
                    return volts, anyhow + admittance @ (self.incidence.T @ volts)
                clamped |= more

        return solve
