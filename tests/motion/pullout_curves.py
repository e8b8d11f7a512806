"""The printed pull-out curves that the torque model is fitted to and held against."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from coilbench.motion.pullout import MotorFigures
from coilbench.motion.torque_curve import Array, Drive


@dataclass(frozen=True)
class PrintedCurve:
    """One motor on one supply: rates in full steps a second, printed pull-out torque in newton metre."""

    name: str
    motor: MotorFigures
    drive: Drive
    rate_sps: Array
    torque: Array


def printed_curves() -> list[PrintedCurve]:
    """All curves of the table, in its order."""
    with (Path(__file__).parent / "pullout_curves.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    groups: dict[tuple[str, str], list[dict[str, str]]] = {}
    for row in rows:
        groups.setdefault((row["motor"], row["supply_volt"]), []).append(row)
    return [_curve(name, float(supply), found) for (name, supply), found in groups.items()]


def _curve(name: str, supply: float, rows: list[dict[str, str]]) -> PrintedCurve:
    first = rows[0]
    ampere = float(first["peak_ampere"])
    motor = MotorFigures(
        holding_torque_newton_metre=float(first["holding_mnm"]) * 1e-3,
        rated_current_ampere=ampere,
        resistance_ohm=float(first["coil_ohm"]),
        inductance_henry=float(first["inductance_mh"]) * 1e-3,
        rotor_teeth=float(first["steps_per_turn"]) / 4,
    )
    rates = np.array([float(row["rate_sps"]) for row in rows])
    return PrintedCurve(
        name, motor, Drive(supply, ampere), rates, np.array([float(r["torque_mnm"]) for r in rows]) / 1e3
    )
