"""Which motor goes where, and what the supplies have to give: to show and to pass on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from coilbench.motion.axis.fit import margin_text
from coilbench.stages.machine.axis_fit import AxisFit
from coilbench.stages.machine.budget import SupplyBudget
from coilbench.stages.machine.changes import Change
from coilbench.stages.machine.machine import Machine


@dataclass(frozen=True)
class FitAnswer:
    """The whole machine. ``changes`` say what would make the axes work that have no motor that does; ``left_out``
    are motors with the reason why nobody could weigh them, ``short_of`` the drivers of which there are too few."""

    machine: Machine
    axes: tuple[AxisFit, ...]
    changes: tuple[Change, ...] = ()
    budgets: tuple[SupplyBudget, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()
    short_of: tuple[str, ...] = ()

    @property
    def fits(self) -> bool:
        """Whether each axis has a motor with the margin wanted."""
        return all(each.fits for each in self.axes)

    @property
    def worst(self) -> AxisFit:
        return min(self.axes, key=lambda each: each.margin / each.axis.wanted_margin)

    @property
    def verdict(self) -> str:
        """One line."""
        worst = self.worst
        if self.fits:
            return (
                f"every axis has its motor; the least margin is {margin_text(worst.margin)}, of {worst.axis.name!r}"
            )
        short = [each for each in self.axes if not each.fits]
        said = ", ".join(
            f"{each.axis.name!r} ({margin_text(each.margin)} of {each.axis.wanted_margin:g})" if each.there
            else f"{each.axis.name!r} (nothing)" for each in short
        )  # fmt: skip
        return f"the bin does not fit the machine yet: {said}"

    def as_json(self) -> dict[str, Any]:
        """JSON-plain, SI units."""
        return {
            "machine": self.machine.name,
            "fits": self.fits,
            "worst_margin": self.worst.margin,
            "axes": [each.as_json() for each in self.axes],
            "changes": [
                {
                    "axis": each.axis,
                    "change": each.says,
                    "cost": each.cost,
                    "margin": each.margin,
                    "motors": list(each.motors),
                }
                for each in self.changes
            ],
            "supplies": [each.as_json() for each in self.budgets],
            "left_out": [{"motor": name, "why": why} for name, why in self.left_out],
            "short_of": list(self.short_of),
            "notes": list(self.notes),
        }
