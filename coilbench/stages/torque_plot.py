"""Torque against rpm on the supplies at hand, with what is asked drawn in: to plot, or to read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coilbench.motion.axis.fit import margin_text
from coilbench.quantity import format_quantity, parse_quantity
from coilbench.records.saved.own import OwnBench, OwnSupply

if TYPE_CHECKING:
    from coilbench.motion.pullout import MotorFigures
    from coilbench.motion.torque_curve import Drive

MOST_SUPPLIES = 4
USUAL_VOLTS = (12.0, 24.0)  # of salvaged supplies (common practice), where none is told
_LEFT = 0.12  # of the torque at rest: what is less is not drawn
_POINTS = 32


@dataclass(frozen=True, slots=True)
class TorqueLine:
    """Pull-out torque on one supply, in newton metre, with its band; all of the length of ``rpm``."""

    name: str
    rpm: tuple[float, ...]
    torque: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    half_torque_rpm: float


@dataclass(frozen=True, slots=True)
class Demand:
    """What the shaft has to give, newton metre at rpm; ``margin`` times as much is wanted."""

    rpm: float
    newton_metre: float
    margin: float


@dataclass(frozen=True)
class TorquePlot:
    """``lines`` in the order of their supplies, ``first`` the place of the one at work; ``notes`` what was taken."""

    title: str
    lines: tuple[TorqueLine, ...]
    first: int = 0
    demand: Demand | None = None
    notes: tuple[str, ...] = ()

    def says(self, chosen: int) -> tuple[str, str]:
        """The chosen line in words, and what is asked of it."""
        line = self.lines[chosen]
        told = (
            f"{line.name}: {format_quantity(line.torque[0], 'newton_metre', 2)} at rest, half of it left at "
            f"{line.half_torque_rpm:.0f} rpm"
        )
        if self.demand is None:
            return told, "the dotted lines hold nine in ten real motors; plan with half of the torque"
        pulls = _between(self.demand.rpm, line.rpm, line.torque)
        asked = format_quantity(self.demand.newton_metre, "newton_metre", 2)
        margin = pulls / self.demand.newton_metre if self.demand.newton_metre > 0 else float("inf")
        said = margin_text(margin)
        return told, f"asked {asked} at {self.demand.rpm:.0f} rpm: margin {said}, {self.demand.margin:g} wanted"


def _between(at: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    import numpy as np

    return float(np.interp(at, xs, ys, right=0.0))


def taken_as_usual(what: Sequence[str]) -> tuple[str, ...]:
    """A note of what stands in for a measurement; none where nothing does."""
    return (f"taken as usual for want of a measurement: {', '.join(what)}",) if what else ()


def volts_at_hand(own: OwnBench, *more: tuple[str, float]) -> list[tuple[str, float]]:
    """Supplies by their name and volts, the lowest first: those at the bench and ``more``; usual ones for none."""
    there = [
        *more,
        *((each.name, parse_quantity(each.supply, "volt")) for each in own if isinstance(each, OwnSupply)),
    ]
    there = there or [(f"{volt:g} V", volt) for volt in USUAL_VOLTS]
    by_volt: dict[float, str] = {}
    for name, volt in there:
        by_volt.setdefault(volt, name)
    kept = [volt for _, volt in more] + [volt for volt in by_volt if volt not in {each for _, each in more}]
    return [(by_volt[volt], volt) for volt in sorted(dict.fromkeys(kept[:MOST_SUPPLIES]))]


def line_of(name: str, volt: float, figures: MotorFigures, drive: Drive) -> TorqueLine:
    """The curve from rest to where next to nothing is left."""
    import numpy as np

    from coilbench.motion.torque_curve import BAND, whole_curve

    curve = whole_curve(figures, drive)
    per_sps = 60 / figures.steps_per_turn
    last = curve.fastest_sps(_LEFT * curve.ends.at_rest_newton_metre)
    rates = np.linspace(0.0, last, _POINTS)
    torque = [curve.torque_at(max(float(rate), float(curve.points.rate_sps[0]))) for rate in rates]
    return TorqueLine(
        name=name if name.endswith(" V") else f"{name}, {volt:g} V",
        rpm=tuple(float(rate) * per_sps for rate in rates),
        torque=tuple(torque),
        low=tuple(BAND[0] * each for each in torque),
        high=tuple(BAND[1] * each for each in torque),
        half_torque_rpm=curve.ends.half_torque_sps * per_sps,
    )


def table_of(plot: TorquePlot, rpms: Iterable[float] = (60, 120, 300, 600, 900)) -> list[tuple[str, ...]]:
    """The same to read: a row a speed, a column a supply, in newton metre."""
    heads = ("rpm", *(line.name for line in plot.lines))
    rows = [
        (
            f"{rpm:g}",
            *(format_quantity(_between(rpm, line.rpm, line.torque), "newton_metre", 2) for line in plot.lines),
        )
        for rpm in rpms
    ]
    return [heads, *rows]
