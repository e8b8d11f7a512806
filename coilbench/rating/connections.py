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

# What small step/direction boards carry without a fan: common practice.
USUAL_DRIVER_AMPERE = 2.5
CONVENTION = (
    "the RMS current is per winding with two phases on (both coils carrying it, full step), and heats as much when "
    "microstepping; its sine then peaks at 1.41 times that, and a driver set to the RMS figure as its peak runs at "
    "half the heat"
)
MOST_HEAT_WATT = 500.0  # several times what the largest frame sheds
ONLY_LEFT = "all that the motor's fault leaves"
AS_GOOD = 0.97  # torque within this share counts as equal


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

FIVE_LEAD_NOTES = (
    "five leads: both centre taps are one lead inside, so only a unipolar driver can work it as it is",
    "on a bipolar driver the two windings would fight through the common lead: don't connect it so",
    "opening the motor and cutting the common apart makes it a four-lead motor (series connection); small tin cans "
    "have the joint on their connector board; the rotor's magnet loses strength when it is drawn out of a hybrid's "
    "stator, bearings and seals suffer, and the joint may be out of reach: only on one you can afford to lose",
)


@dataclass(frozen=True, slots=True)
class ConnectionRow:
    """One way to connect. ``ampere`` is per winding, two phases on; ``watt`` both phases, cold copper.

    ``torque_relative`` counts from one half-winding at its rated current. ``speed_limit_rev_per_second`` is where the
    supply no longer reaches the rated current (None: supply or inductance unknown). ``usable_ampere`` is what the
    driver's limit leaves, ``usable_torque`` the relative torque there.
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
    speed_limit_rev_per_second: float | None
    usable_ampere: float
    usable_torque: float
    says: str


@dataclass(frozen=True, slots=True)
class Choice:
    """All rows, the one to take for the driver at hand, why, and what else should be said."""

    rows: tuple[ConnectionRow, ...]
    choose: Connection
    why: str
    notes: tuple[str, ...]

    @property
    def chosen(self) -> ConnectionRow:
        return next(row for row in self.rows if row.connection == self.choose)


@dataclass(frozen=True, slots=True)
class Bench:
    """What is at hand: the driver's limit as peak ampere, the supply, and the speed wanted (None: not said)."""

    drive: Drive = "bipolar"
    driver_peak_ampere: float | None = None
    supply_volt: float | None = None
    wanted_rev_per_second: float | None = None


def speed_limit(supply_volt: float, henry: float, ampere: float, steps_per_turn: float) -> float:
    """Shaft turns a second up to which the supply still drives ``ampere`` through ``henry``, ohms left out.

    2 V / (N pi L I): common practice (weak: a motion hardware maker's wiki, with the example 200 steps, 4 mH, 1.5 A,
    12 V: 6.37).
    """
    return 2 * supply_volt / (steps_per_turn * math.pi * henry * ampere)


def compare_connections(
    leads: int,
    half_ohm: float,
    half_ampere: float,
    half_henry: float | None = None,
    bench: Bench | None = None,
    steps_per_turn: float = 200.0,
    only: Connection | None = None,
) -> Choice:
    """Every possible connection of a motor with so many leads, from its half-winding's figures.

    ``only`` is the one that a fault has left. Raises InputProblem for a lead count that is no two-phase motor's, for
    figures not above zero, and for a driver that can't work what there is.
    """
    bench = bench or Bench()
    names = [name for name, factor in FACTORS.items() if leads in factor.leads and only in (None, name)]
    if not names:
        raise InputProblem(f"{leads} leads: expected 4, 5, 6 or 8, those of a two-phase motor")
    for what, value in (
        ("coil resistance", half_ohm),
        ("current", half_ampere),
        ("inductance", half_henry),
        ("driver's limit", bench.driver_peak_ampere),
        ("supply", bench.supply_volt),
        ("steps per turn", steps_per_turn),
    ):
        if value is not None and not (value > 0 and math.isfinite(value)):
            raise InputProblem(f"{what} {value:g}: expected more than zero")
    heat_watt = 2 * half_ampere**2 * half_ohm
    if heat_watt > MOST_HEAT_WATT:
        raise InputProblem(
            f"{half_ampere:.3g} A through {half_ohm:.3g} ohm twice is {heat_watt:.0f} W: expected figures of one "
            f"motor, at most {MOST_HEAT_WATT:g} W; are the units right?"
        )
    rows = tuple(_row(name, half_ohm, half_ampere, half_henry, bench, steps_per_turn) for name in names)
    fitting = [row for row in rows if row.drive == bench.drive]
    if leads == 5:
        return Choice(rows, "unipolar", FIVE_LEAD_NOTES[0], FIVE_LEAD_NOTES[1:])
    if not fitting and only is not None:
        raise InputProblem(f"a fault leaves {only} alone: expected a {rows[0].drive} driver")
    if not fitting:
        raise InputProblem(f"{leads} leads on a unipolar driver: expected 5, 6 or 8, a motor with centre taps")
    best, why = (fitting[0], ONLY_LEFT) if only is not None else _choose(fitting, bench)
    return Choice(rows, best.connection, why, tuple(_notes(best, bench)))


def _row(
    name: Connection, ohm: float, ampere: float, henry: float | None, bench: Bench, steps_per_turn: float
) -> ConnectionRow:
    factor = FACTORS[name]
    amp = ampere * factor.ampere
    row_ohm = ohm * factor.ohm
    row_henry = henry * factor.henry if henry is not None else None
    usable = min(amp, bench.driver_peak_ampere) if bench.driver_peak_ampere else amp
    limit = None
    if row_henry is not None and bench.supply_volt is not None:
        limit = speed_limit(bench.supply_volt, row_henry, usable, steps_per_turn)
    return ConnectionRow(
        connection=name,
        drive=factor.drive,
        ampere=amp,
        ohm=row_ohm,
        henry=row_henry,
        volt=amp * row_ohm,
        watt=2 * amp**2 * row_ohm,
        equal_heat_peak_ampere=amp * _ROOT2,
        torque_relative=factor.torque,
        speed_limit_rev_per_second=limit,
        usable_ampere=usable,
        usable_torque=factor.torque * usable / amp,
        says=factor.says,
    )


def _quickness(row: ConnectionRow) -> float:
    """Larger is faster: the limit speed goes with 1/(L I); without an inductance the factors still rank."""
    return 1 / (FACTORS[row.connection].henry * row.usable_ampere)


def _choose(rows: list[ConnectionRow], bench: Bench) -> tuple[ConnectionRow, str]:
    if len(rows) == 1:
        row = rows[0]
        if row.connection == "bipolar":
            return row, "four leads: two whole windings, nothing to choose"
        return row, "a unipolar driver switches the halves in turn"
    candidates = rows
    speed_words = ""
    wanted = bench.wanted_rev_per_second
    if wanted is not None and all(row.speed_limit_rev_per_second is not None for row in rows):
        able = [row for row in rows if (row.speed_limit_rev_per_second or 0) >= wanted]
        if able:
            candidates = able
            speed_words = f"reaches {wanted:.3g} turns a second on this supply; "
        else:
            fastest = max(rows, key=_quickness)
            return fastest, "none reaches the wanted speed on this supply at full current: this one comes nearest"
    if bench.driver_peak_ampere is None:
        # Not knowing the driver, don't choose what common boards can't carry.
        light = [row for row in candidates if row.ampere <= USUAL_DRIVER_AMPERE]
        candidates = light or [min(candidates, key=lambda row: row.ampere)]
    most = max(row.usable_torque for row in candidates)
    strong = [row for row in candidates if row.usable_torque >= AS_GOOD * most]
    best = max(strong, key=_quickness)
    return best, speed_words + _why(best, rows, bench)


def _why(best: ConnectionRow, rows: list[ConnectionRow], bench: Bench) -> str:
    limit = bench.driver_peak_ampere
    parallel = next((row for row in rows if row.connection == "parallel"), None)
    if best.connection == "parallel":
        room = f"the driver's {limit:.3g} A carries" if limit else "a common driver board carries"
        return f"{room} its {best.usable_ampere:.3g} A; as strong as series and twice as fast for the same supply"
    if best.connection == "series":
        if parallel is not None and limit is not None:
            return (
                f"most torque within the driver's {limit:.3g} A: parallel would want {parallel.ampere:.3g} A, "
                f"series {best.ampere:.3g} A for the same torque"
            )
        if parallel is not None:
            return (
                f"{best.ampere:.3g} A suits common driver boards; parallel is as strong and twice as fast, "
                f"if your driver carries {parallel.ampere:.3g} A"
            )
        return f"1.41 times the half-coil's torque at only {best.ampere:.3g} A; half-coil is faster, with less torque"
    if limit is not None and best.usable_ampere < best.ampere:
        return f"the best of them within the driver's {limit:.3g} A"
    return "least inductance for its current: fast, with 0.71 of the torque of series"


def _notes(best: ConnectionRow, bench: Bench) -> list[str]:
    notes = []
    if best.usable_ampere < best.ampere:
        notes.append(
            f"the driver's limit leaves {best.usable_ampere:.3g} of {best.ampere:.3g} A, "
            f"{100 * best.usable_ampere / best.ampere:.0f} % of the torque"
        )
    if bench.supply_volt is not None and bench.supply_volt < 2 * best.usable_ampere * best.ohm:
        need = best.usable_ampere * best.ohm
        notes.append(
            f"the supply of {bench.supply_volt:.3g} V is under twice the {need:.3g} V the coil takes at rest: "
            "the chopper has little to work with"
        )
    return notes
