"""A rotor's inertia and swing by its motor's size, where nobody knows better: fitted to published hybrids.

``rotors.csv`` beside this file holds the rows. Inertia and holding torque are power laws of face and body length
(a rotor's inertia goes with its length and the fourth power of its diameter); the rows lie about them by the spread
that is given with each figure.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np

from coilbench.motion.pullout import small_swing_hz

_GRAM_CENTIMETRE2 = 1e-7


@dataclass(frozen=True)
class RotorGuess:
    """Inertia and holding torque at the rating of a motor of this size; spreads are of the logarithm."""

    inertia_kilogram_metre2: float
    inertia_spread: float
    holding_newton_metre: float
    holding_spread: float

    def swing_hz(self, rotor_teeth: float = 50) -> float:
        """The small-swing frequency with nothing on the shaft, at the motor's rated current."""
        return small_swing_hz(self.holding_newton_metre, self.inertia_kilogram_metre2, rotor_teeth)


def rotor_guess(face_metre: float, length_metre: float) -> RotorGuess:
    """What a square hybrid of this face and body length has about; both in metre and above zero."""
    place = np.array([1.0, math.log(face_metre), math.log(length_metre)])
    (inertia, inertia_spread), (torque, torque_spread) = _fits()
    return RotorGuess(
        math.exp(float(place @ np.array(inertia))),
        inertia_spread,
        math.exp(float(place @ np.array(torque))),
        torque_spread,
    )


@cache
def _fits() -> tuple[tuple[tuple[float, ...], float], tuple[tuple[float, ...], float]]:
    text = (resources.files("coilbench.motion") / "rotors.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))

    def column(name: str, unit: float) -> list[float]:
        return [math.log(float(row[name]) * unit) for row in rows]

    sizes = np.column_stack([np.ones(len(rows)), column("face_mm", 1e-3), column("length_mm", 1e-3)])

    def fit(name: str, unit: float) -> tuple[tuple[float, ...], float]:
        values = np.array(column(name, unit))
        found = np.linalg.lstsq(sizes, values, rcond=None)[0]
        spread = math.sqrt(float(((values - sizes @ found) ** 2).sum()) / (len(rows) - 3))
        return tuple(float(each) for each in found), spread

    return fit("inertia_gram_centimetre2", _GRAM_CENTIMETRE2), fit("holding_newton_metre", 1.0)
