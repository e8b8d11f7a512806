"""The ways to connect a motor's half-windings, side by side, at equal copper heat.

Everything is counted from one half-winding (the unipolar rating): two halves in series have twice its resistance,
four times its inductance and carry 1/sqrt(2) of its current for the same heat; in parallel half the resistance, the
same inductance (both coils on one core), sqrt(2) of the current. Data sheets that print all three agree within their
rounding.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from coilbench.errors import InputProblem

Connection = Literal["half-coil", "series", "parallel", "unipolar", "bipolar"]
Drive = Literal["bipolar", "unipolar"]

CONVENTION = (
    "currents are per winding with two phases on: rated is a steady figure, and so an RMS one; the driver is set to "
    "the same figure as its peak, or to what it carries. In full step no coil then gets more than it is rated for; "
    "microstepping heats half as much and pulls 0.71 of it at rest; a peak of 1.41 times the rated figure heats as "
    "much as rated"
)
MOST_HEAT_WATT = 500.0  # several times what the largest frame sheds


@dataclass(frozen=True, slots=True)
class _Factors:
    ampere: float
    ohm: float
    henry: float
    torque: float
    drive: Drive
    leads: tuple[int, ...]
    says: str


_ROOT2 = math.sqrt(2)
FACTORS: dict[Connection, _Factors] = {
    "half-coil": _Factors(1, 1, 1, 1, "bipolar", (6, 8), "one half of each winding, the other idle"),
    "series": _Factors(1 / _ROOT2, 2, 4, _ROOT2, "bipolar", (6, 8), "both halves one after the other"),
    "parallel": _Factors(_ROOT2, 0.5, 1, _ROOT2, "bipolar", (8,), "both halves side by side"),
    "unipolar": _Factors(1, 1, 1, 1, "unipolar", (5, 6, 8), "the halves in turn, centre taps to the supply"),
    "bipolar": _Factors(1, 1, 1, 1, "bipolar", (4,), "whole windings, as they are"),
}


@dataclass(frozen=True, slots=True)
class ConnectionRow:
    """One way to connect. ``ampere`` is rated, per winding, two phases on; ``watt`` both phases, cold copper.

    ``torque_relative`` counts from one half-winding at its rated current. ``usable_ampere`` is the peak to set: the
    rated one or what the driver's limit leaves of it; ``usable_torque`` the relative torque there.
    """

    connection: Connection
    drive: Drive
    ampere: float
    ohm: float
    henry: float | None
    volt: float
    watt: float
    equal_heat_peak_ampere: float
    torque_relative: float
    usable_ampere: float
    usable_torque: float
    says: str

    @property
    def quickness(self) -> float:
        """Larger is faster, where no inductance is known: the speed of full current goes with 1/(L I)."""
        return 1 / (FACTORS[self.connection].henry * self.usable_ampere)


def connection_rows(
    leads: int,
    half_ohm: float,
    half_ampere: float,
    half_henry: float | None = None,
    limit_peak_ampere: float | None = None,
    only: Connection | None = None,
) -> tuple[ConnectionRow, ...]:
    """Every possible connection of a motor with so many leads, from its half-winding's figures.

    ``limit_peak_ampere`` is the most that the driver is set to, ``only`` the one that a fault has left. Raises
    InputProblem for a lead count that is no two-phase motor's and for figures not above zero.
    """
    names = [name for name, factor in FACTORS.items() if leads in factor.leads and only in (None, name)]
    if not names:
        raise InputProblem(f"{leads} leads: expected 4, 5, 6 or 8, those of a two-phase motor")
    for what, value in (
        ("coil resistance", half_ohm),
        ("current", half_ampere),
        ("inductance", half_henry),
        ("driver's limit", limit_peak_ampere),
    ):
        if value is not None and not (value > 0 and math.isfinite(value)):
            raise InputProblem(f"{what} {value:g}: expected more than zero")
    heat_watt = 2 * half_ampere**2 * half_ohm
    if heat_watt > MOST_HEAT_WATT:
        raise InputProblem(
            f"{half_ampere:.3g} A through {half_ohm:.3g} ohm twice is {heat_watt:.0f} W: expected figures of one "
            f"motor, at most {MOST_HEAT_WATT:g} W; are the units right?"
        )
    return tuple(_row(name, half_ohm, half_ampere, half_henry, limit_peak_ampere) for name in names)


def _row(name: Connection, ohm: float, ampere: float, henry: float | None, limit: float | None) -> ConnectionRow:
    factor = FACTORS[name]
    amp = ampere * factor.ampere
    row_ohm = ohm * factor.ohm
    usable = amp if limit is None else min(amp, limit)
    return ConnectionRow(
        connection=name,
        drive=factor.drive,
        ampere=amp,
        ohm=row_ohm,
        henry=henry * factor.henry if henry is not None else None,
        volt=amp * row_ohm,
        watt=2 * amp**2 * row_ohm,
        equal_heat_peak_ampere=amp * _ROOT2,
        torque_relative=factor.torque,
        usable_ampere=usable,
        usable_torque=factor.torque * usable / amp,
        says=factor.says,
    )
