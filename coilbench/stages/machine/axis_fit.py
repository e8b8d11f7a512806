"""One axis of a machine with the motors that go there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from coilbench.motion.axis.fit import NOTHING_ASKED, margin_text
from coilbench.quantity import format_quantity
from coilbench.stages.figures import FiguresAnswer
from coilbench.stages.machine.machine import MachineAxis
from coilbench.stages.machine.setting import vref_of
from coilbench.stages.machine.weighing import OnAxis

HEADS = ("axis", "motor", "connected", "VREF", "steps/s", "needs", "pulls", "margin")


@dataclass(frozen=True)
class AxisFit:
    """One axis with the motors that go there; none where nothing can be there. ``figures`` are those of
    ``coilbench axis`` with the motor on it, ``findings`` and ``warnings`` what there is to say."""

    axis: MachineAxis
    there: tuple[OnAxis, ...]
    figures: FiguresAnswer
    findings: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def margin(self) -> float:
        """Torque there over torque asked, of the weaker motor, on the move or at rest."""
        return min((each.worth.margin for each in self.there), default=0.0)

    @property
    def fits(self) -> bool:
        return self.margin >= self.axis.wanted_margin

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(each.motor.name for each in self.there)

    @property
    def basis(self) -> str:
        """What the torque rests on: a trial, or the model; nothing where no motor is there."""
        if not self.there:
            return ""
        proved = [each.worth.proved for each in self.there]
        return "trial" if proved and all(proved) else "trial says no" if False in proved else "model"

    @property
    def good_for_sps(self) -> float | None:
        """Full steps/s up to which the weaker motor pulls what is asked with the margin wanted: by its trial, or by
        the model. None where no motor is there."""
        wanted = self.axis.wanted_margin
        rates = (each.offer.good_for_sps(wanted * each.worth.asked.total_newton_metre) for each in self.there)
        return min(rates, default=None)

    @property
    def rates_text(self) -> str:
        """The rate needed against the one it is good for; empty where no motor is there."""
        if self.good_for_sps is None:
            return ""
        proved = [each for each in self.there if each.offer.proof is not None]
        basis = "as a trial found" if len(proved) == len(self.there) else "by the model, no trial yet"
        return (
            f"{self.there[0].worth.asked.rate_sps:.0f} steps/s needed, good for {_two_digits(self.good_for_sps):.0f} "
            f"with the margin, {basis}"
        )

    def figure(self, key: str) -> float | None:
        """A figure of the axis by its key; None where it isn't known."""
        value = next((each.value for each in self.figures.figures if each.key == key), None)
        return None if isinstance(value, bool) else value

    @property
    def peak_ampere(self) -> float | None:
        """What the drivers are set to, as peak; of two motors the lesser. None where no motor is there."""
        return min((each.offer.peak_ampere for each in self.there), default=None)

    @property
    def vref_volt(self) -> float | None:
        """The reference voltage that sets it, where the driver has one and its sense resistor is known."""
        return None if self.peak_ampere is None else vref_of(self.axis.driver, self.peak_ampere)

    @property
    def cells(self) -> tuple[str, ...]:
        """A row to read, under ``HEADS``."""
        if not self.there:
            return (self.axis.name, "none", "", "", "", "", "", "0")
        first = self.there[0]
        asked = first.worth.asked
        pulls = min(each.worth.pulls_newton_metre for each in self.there)
        return (
            self.axis.name,
            " + ".join(self.names),
            f"{first.offer.connection}, {format_quantity(first.offer.peak_ampere, 'ampere', 3)}",
            "" if self.vref_volt is None else format_quantity(self.vref_volt, "volt", 3),
            f"{asked.rate_sps:.0f}",
            format_quantity(asked.total_newton_metre, "newton_metre", 2),
            format_quantity(pulls, "newton_metre", 2),
            margin_text(self.margin),
        )

    def as_json(self) -> dict[str, Any]:
        """JSON-plain, SI units."""
        first = self.there[0] if self.there else None
        asked = None if first is None else first.worth.asked
        return {
            "axis": self.axis.name,
            "kind": self.axis.kind,
            "motors": list(self.names),
            "fits": self.fits,
            "margin": self.margin,
            "margin_wanted": self.axis.wanted_margin,
            "run_margin": _told(min((each.worth.run for each in self.there), default=0.0)),
            "hold_margin": _told(min((each.worth.hold for each in self.there), default=0.0)),
            "basis": self.basis,
            "connection": None if first is None else first.offer.connection,
            "driver": self.axis.driver.name,
            "supply": self.axis.supply.name,
            "peak_amp": self.peak_ampere,
            "vref_volt": self.vref_volt,
            "rate_sps": None if asked is None else asked.rate_sps,
            "good_for_sps": self.good_for_sps,
            "needed_newton_metre": None if asked is None else asked.total_newton_metre,
            "hold_newton_metre": None if asked is None else asked.hold_newton_metre,
            "there_newton_metre": min((each.worth.pulls_newton_metre for each in self.there), default=None),
            "figures": {each.key: each.value for each in self.figures.figures},
            "findings": list(self.findings),
            "warnings": list(self.warnings),
        }


def _two_digits(value: float) -> float:
    return float(f"{value:.2g}")


def _told(margin: float) -> float | None:
    """A margin to pass on; None where nothing is asked."""
    return None if margin >= NOTHING_ASKED else margin
