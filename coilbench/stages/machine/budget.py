"""What each supply of a machine has to give, against what it can; a fuse and a wire for each axis."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from coilbench.cautions import CHARGED, MAINS
from coilbench.driver.budget import Driven, Wire, draw_of, fuse_for, wire_for
from coilbench.driver.computer_supply import MOST_VOLT_AMPERE, PEAK_SECOND, rail_of
from coilbench.quantity import format_quantity
from coilbench.stages.driver.chips import chip_called
from coilbench.stages.machine.axis_fit import AxisFit
from coilbench.stages.machine.machine import Supply

HIGH_AMPERE = 5.0  # from here up a short melts thin wire before the supply gives in (common practice)
FUSE_CAUTION = "a fuse at the supply in every branch: a rail of many amperes melts a thin wire before it trips"
HEADS = ("supply", "branch", "standing", "worst", "fuse", "wire")
_FULL = 0.8  # of what it can give, for good (common practice)


@dataclass(frozen=True)
class Branch:
    """One axis on its supply, all of its motors, in watt and ampere."""

    axis: str
    standing_watt: float
    worst_watt: float
    standing_ampere: float
    worst_ampere: float
    flash_ampere: float
    fuse_ampere: float | None
    wire: Wire | None

    @property
    def cells(self) -> tuple[str, str, str, str, str]:
        """To read, under ``HEADS`` without the supply."""
        fuse = "none is enough" if self.fuse_ampere is None else f"{self.fuse_ampere:g} A time-lag"
        wire = "thicker" if self.wire is None else f"AWG {self.wire.gauge}, {self.wire.square_mm:.2g} mm²"
        return (
            self.axis,
            _both(self.standing_watt, self.standing_ampere),
            _both(self.worst_watt, self.worst_ampere),
            fuse,
            wire,
        )


@dataclass(frozen=True)
class SupplyBudget:
    """All branches of one supply. ``within`` is None where nobody told what it can give."""

    supply: Supply
    branches: tuple[Branch, ...]
    findings: tuple[str, ...]

    @property
    def standing_ampere(self) -> float:
        return sum(each.standing_ampere for each in self.branches)

    @property
    def worst_ampere(self) -> float:
        return sum(each.worst_ampere for each in self.branches)

    @property
    def within(self) -> bool | None:
        most = self.supply.most_ampere
        return None if most is None else self.worst_ampere <= most

    @property
    def rows(self) -> list[tuple[str, ...]]:
        """Rows under ``HEADS``, the sum last."""
        most = self.supply.most_ampere
        can = "" if most is None else f"of {most:g} A"
        standing = _both(self.supply.volt * self.standing_ampere, self.standing_ampere)
        worst = _both(self.supply.volt * self.worst_ampere, self.worst_ampere)
        branches = [(self.supply.name, *each.cells) for each in self.branches]
        return [*branches, (self.supply.name, "in all", standing, worst, can, "")]

    def as_json(self) -> dict[str, Any]:
        """JSON-plain, SI units."""
        return {
            "supply": self.supply.name,
            "volt": self.supply.volt,
            "standing_amp": self.standing_ampere,
            "worst_amp": self.worst_ampere,
            "standing_watt": self.supply.volt * self.standing_ampere,
            "worst_watt": self.supply.volt * self.worst_ampere,
            "most_amp": self.supply.most_ampere,
            "within": self.within,
            "branches": [
                {
                    "axis": each.axis,
                    "standing_watt": each.standing_watt,
                    "worst_watt": each.worst_watt,
                    "standing_amp": each.standing_ampere,
                    "worst_amp": each.worst_ampere,
                    "flash_amp": each.flash_ampere,
                    "fuse_amp": each.fuse_ampere,
                    "wire_awg": None if each.wire is None else each.wire.gauge,
                    "wire_square_mm": None if each.wire is None else each.wire.square_mm,
                }
                for each in self.branches
            ],
            "findings": list(self.findings),
        }


def _both(watt: float, ampere: float) -> str:
    return f"{format_quantity(watt, 'watt', 2)}, {format_quantity(ampere, 'ampere', 2)}"


def budgets_of(axes: Sequence[AxisFit], supplies: Sequence[Supply]) -> tuple[SupplyBudget, ...]:
    """One for each supply that drives anything; an axis without a motor takes nothing yet."""
    found = []
    for supply in supplies:
        branches = tuple(_branch(each) for each in axes if each.axis.supply == supply and each.there)
        if branches:
            found.append(SupplyBudget(supply, branches, tuple(_findings(supply, branches))))
    return tuple(found)


def _branch(fit: AxisFit) -> Branch:
    volt = fit.axis.supply.volt
    standing = worst = flash = 0.0
    for each in fit.there:
        turns = each.worth.asked.rate_sps / each.motor.steps_per_turn
        draw = draw_of(
            Driven(
                peak_ampere=each.offer.peak_ampere,
                ohm=each.offer.ohm,
                supply_volt=volt,
                shaft_watt=max(each.worth.asked.total_newton_metre, 0.0) * turns * 2 * math.pi,
                sine=each.offer.drive.microstepping,
                chops=each.offer.chops,
                chip=chip_called(fit.axis.driver.at_hand),
            )
        )
        standing, worst, flash = standing + draw.standing_watt, worst + draw.worst_watt, flash + draw.flash_ampere
    fuse = fuse_for(worst / volt)
    wire = None if fuse is None else wire_for(fuse)
    return Branch(fit.axis.name, standing, worst, standing / volt, worst / volt, flash, fuse, wire)


def _findings(supply: Supply, branches: Sequence[Branch]) -> Iterator[str]:
    standing, worst = (
        sum(each) for each in zip(*((one.standing_ampere, one.worst_ampere) for one in branches), strict=True)
    )
    most = supply.most_ampere
    if most is None:
        yield f"what {supply.name!r} can give is not told: most = such as '5 A'"
    elif worst > most:
        yield f"{supply.name!r} gives {most:g} A, the worst case takes {worst:.2g} A: move an axis, or a larger one"
    elif worst > _FULL * most:
        yield f"{supply.name!r} is at {worst / most:.0%} of what it gives: {_FULL:.0%} is the usual most for good"
    if supply.computer:
        yield from _of_computer(supply, standing, worst)
    if most is not None and most >= HIGH_AMPERE:
        yield FUSE_CAUTION


def _of_computer(supply: Supply, standing: float, worst: float) -> Iterator[str]:
    rail = rail_of(supply.computer, supply.rail)
    if rail.peak_ampere is not None and rail.most_ampere < worst <= rail.peak_ampere:
        yield f"{rail.rail} can give {rail.peak_ampere:g} A for {PEAK_SECOND:g} s, once a minute"
    if worst * rail.volt > MOST_VOLT_AMPERE:
        yield f"each 12 V rail is cut off at {MOST_VOLT_AMPERE:g} VA"
    if standing < rail.least_ampere:
        yield (
            f"an old one needs {rail.least_ampere:g} A on {rail.rail} before it regulates, the machine takes "
            f"{standing:.2g} A at rest: a load resistor; newer ones don't mind"
        )
    yield f"{rail.rail} is {rail.lowest_volt:g} to {rail.highest_volt:g} V by the design guide: reckon with the least"
    yield f"{CHARGED}: leave its case shut; {MAINS}"
