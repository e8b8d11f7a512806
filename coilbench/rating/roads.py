"""Every road from step and direction to the windings of a motor with taps: what it takes, and what flows.

Counted like the connections: from one half-winding at its rating, RMS, two phases on. The resistor of an L/nR drive
is counted so that the whole circuit has n times the half-winding's ohms.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from coilbench.errors import InputProblem
from coilbench.rating.connections import FACTORS, Connection, Drive

RESISTOR_TIMES = 2.0  # a resistor's rating over the heat in it (common practice)
_AS_RATED = 1.02
_FIVE = "both taps are one lead inside: it can't be parted without opening the motor"
_TWICE = "a switched-off half swings to twice the supply: switches for that and its spike"
_HOT = "the resistors get hot enough to burn: clear of wires and wood"
_SERIES_SAYS = {1: "L/R, its own voltage", 2: "L/2R", 4: "L/4R"}


@dataclass(frozen=True, slots=True)
class Road:
    """One road. ``ampere`` flows in each of ``phases_volt``'s windings with two phases on, ``ohm`` and ``henry`` are
    those of what is driven, ``ohm`` without ``series_ohm``, which stands in each phase and takes ``series_watt``.

    ``chops``: the driver holds the current; otherwise supply and ohms do. ``connection`` is the winding that is
    driven. ``supply_volt`` is None where a chopper takes what there is. ``supply_watt`` of both phases at rest.
    """

    name: str
    says: str
    connection: Connection
    drive: Drive
    ampere: float
    ohm: float
    henry: float
    torque_relative: float
    chops: bool
    microsteps: str
    parts: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    supply_volt: float | None = None
    series_ohm: float = 0.0

    @property
    def series_watt(self) -> float:
        """Heat in the resistor of one phase, I^2 R."""
        return self.ampere**2 * self.series_ohm

    @property
    def coil_watt(self) -> float:
        """Heat in both phases' copper."""
        return 2 * self.ampere**2 * self.ohm

    @property
    def supply_watt(self) -> float:
        """From the supply, both phases on at rest, without the driver's own."""
        return self.coil_watt + 2 * self.series_watt

    @property
    def time_constant_second(self) -> float:
        """L over all ohms of the circuit."""
        return self.henry / (self.ohm + self.series_ohm)


def roads(
    leads: int,
    half_ohm: float,
    half_ampere: float,
    half_henry: float,
    supply_volt: float | None = None,
    limit_peak_ampere: float | None = None,
) -> tuple[Road, ...]:
    """All of them, what a bipolar chopper drives first. ``limit_peak_ampere`` is a bipolar driver's.

    Raises InputProblem for a motor without taps.
    """
    if leads not in (5, 6, 8):
        raise InputProblem(f"{leads} leads: expected 5, 6 or 8, those of a motor with taps or halves")
    half = _Half(half_ohm, half_ampere, half_henry)
    found = [half.bipolar(name, limit_peak_ampere) for name, each in FACTORS.items() if leads in each.leads
             and each.drive == "bipolar"]  # fmt: skip
    found += half.resistor_drives(leads, supply_volt)
    found.append(half.chopped())
    if leads == 5:
        found += [half.common_open(supply_volt), half.cut(limit_peak_ampere)]
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Half:
    ohm: float
    ampere: float
    henry: float

    @property
    def volt(self) -> float:
        """What it is made for, without a resistor."""
        return self.ampere * self.ohm

    def bipolar(self, name: Connection, limit: float | None) -> Road:
        factor = FACTORS[name]
        rated = self.ampere * factor.ampere
        ampere = rated if limit is None else min(rated, limit)
        idle = {"series": "taps", "half-coil": "the other halves"}.get(name)
        return Road(
            name=name,
            says=f"{factor.says}, on a bipolar chopper" + (f"; {idle} insulated" if idle else ""),
            connection=name,
            drive="bipolar",
            ampere=ampere,
            ohm=self.ohm * factor.ohm,
            henry=self.henry * factor.henry,
            torque_relative=factor.torque * ampere / rated,
            chops=True,
            microsteps="as the driver's",
            parts=("a bipolar step/direction board",),
            cautions=("an idle lead carries voltage: insulate it",) if idle else (),
        )

    def resistor_drives(self, leads: int, supply_volt: float | None) -> list[Road]:
        """L/R, L/2R, L/4R each on the supply it wants, and the one for the supply at hand."""
        times = [1.0, 2.0, 4.0]
        own = None if supply_volt is None else supply_volt / self.volt
        if own is not None and own >= 1 / _AS_RATED:
            near = next((each for each in times if abs(own - each) <= (_AS_RATED - 1) * each), None)
            times = sorted({*times, own}) if near is None else times
        return [self._with_resistor(leads, each, own) for each in times]

    def _with_resistor(self, leads: int, times: float, own: float | None) -> Road:
        series = (times - 1) * self.ohm
        name = "four switches, " + _SERIES_SAYS.get(int(times) if times == int(times) else 0, f"L/{times:.2g}R")
        parts: list[str] = ["four switches with logic-level gates", "step/direction sequencing", "a clamp"]
        says = "the halves in turn, supply and ohms hold the current"
        if series:
            rating = RESISTOR_TIMES * self.ampere**2 * series
            if leads == 5:
                parts.append(f"{series / 2:.3g} ohm, {2 * rating:.2g} W in the one common (two phases on), or "
                             f"{series:.3g} ohm, {rating:.2g} W in each end")  # fmt: skip
            else:
                parts.append(f"two resistors of {series:.3g} ohm, {rating:.2g} W, one in each common")
        at_hand = own is not None and abs(own - times) <= (_AS_RATED - 1) * times
        return self._in_turn(
            name=name + (", your supply" if at_hand else ""),
            says=says,
            chops=False,
            microsteps="full and half steps",
            parts=tuple(parts),
            cautions=(_TWICE, _HOT, "a fuse: nothing limits a stuck current") if series else (_TWICE,),
            supply_volt=times * self.volt,
            series_ohm=series,
        )

    def chopped(self) -> Road:
        return self._in_turn(
            name="chopping unipolar stage",
            says="the halves in turn, each phase's current held by a chopper",
            chops=True,
            microsteps="full and half steps; finer where its chip has a table",
            parts=("four switches for twice the supply", "a sense resistor a phase", "a chopper for each phase",
                   "step/direction sequencing"),
            cautions=(_TWICE, "the off half's energy goes back into the supply, which has to take it"),
        )  # fmt: skip

    def _in_turn(self, **road: Any) -> Road:
        """The halves of a phase in turn, each with its own current: what unipolar drives have in common."""
        return Road(
            connection="unipolar",
            drive="unipolar",
            ampere=self.ampere,
            ohm=self.ohm,
            henry=self.henry,
            torque_relative=1.0,
            **road,
        )

    def common_open(self, supply_volt: float | None) -> Road:
        """A phase is its two halves in series between two half-bridges; each half gets half of the supply."""
        rated = self.ampere / math.sqrt(2)
        supply = 2 * self.ohm * rated if supply_volt is None else supply_volt
        ampere = supply / (2 * self.ohm)
        over = ampere > _AS_RATED * rated
        most = 2 * self.ohm * rated
        return Road(
            name="common left open",
            says="a hard-switched dual bridge on the four ends, both phases always on",
            connection="series",
            drive="bipolar",
            ampere=ampere,
            ohm=2 * self.ohm,
            henry=4 * self.henry,
            torque_relative=2 * min(ampere, rated) / self.ampere,
            chops=False,
            microsteps="full steps alone",
            parts=("a plain dual bridge", "sequencing from step/direction"),
            cautions=(
                *(
                    (f"{ampere:.3g} A is over the {rated:.3g} A it can take: {most:.3g} V is the most",)
                    if over
                    else ()
                ),
                "never on a chopping board: one phase's current goes home through the other by the common",
                "a fuse: nothing limits the current",
            ),
            supply_volt=supply,
        )

    def cut(self, limit: float | None) -> Road:
        rated = self.ampere / math.sqrt(2)
        ampere = rated if limit is None else min(rated, limit)
        return Road(
            name="common cut apart",
            says="a four-lead motor for a bipolar chopper, after its joint is parted inside",
            connection="series",
            drive="bipolar",
            ampere=ampere,
            ohm=2 * self.ohm,
            henry=4 * self.henry,
            torque_relative=math.sqrt(2) * ampere / rated,
            chops=True,
            microsteps="as the driver's",
            parts=("a bipolar step/direction board", "the motor opened, its joint parted"),
            cautions=(
                _FIVE,
                "seldom worth it: the magnet weakens when a hybrid's rotor leaves its stator, and bearings suffer; "
                "some small cans have the joint on a board outside",
            ),
        )
