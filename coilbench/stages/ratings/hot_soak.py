"""A temperature-rise test as it is told: its figures with their doubt, rows and JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from coilbench.rating.run_current import RunCurrent
    from coilbench.rating.soak import Soak, SoakResult


@dataclass(frozen=True)
class HotSoak:
    """A soak with its readings complete. ``currents`` give the wanted rise in ampere RMS a coil: the middle, and the
    range of 90 of 100; None where they can't be told. ``run`` is what the coils carried."""

    measured: Soak
    result: SoakResult
    wanted_rise_kelvin: float
    currents: tuple[float, float, float] | None = None
    run: RunCurrent | None = None

    @property
    def current_ampere(self) -> float | None:
        """The current that gives the wanted rise."""
        return None if self.currents is None else self.currents[0]

    @property
    def rise_words(self) -> str:
        """The rise with its doubt, as a range where that is not the same on both sides."""
        result = self.result
        down = result.rise_kelvin - result.rise_low_kelvin
        up = result.rise_high_kelvin - result.rise_kelvin
        if abs(up - down) < 1.0:
            return f"{result.rise_kelvin:.0f} ±{result.plus_minus_kelvin:.0f} K"
        return f"{result.rise_kelvin:.0f} K ({result.rise_low_kelvin:.0f} to {result.rise_high_kelvin:.0f})"

    @property
    def notes(self) -> tuple[str, ...]:
        """What goes with the soak."""
        if self.run is None:
            return self.result.notes
        if self.run.told:
            return (f"run with {self.run.text}", *self.result.notes)
        return (
            f"run with {self.run.text}: if it was a driver's set-point, the coils carried less, and can take less. "
            "Say which it was (coil, RMS or peak) and what the driver leaves at rest; until then begin with half",
            *self.result.notes,
        )

    @property
    def cold_ohm(self) -> float:
        """The coil alone, cold."""
        return self.measured.cold_ohm - (self.measured.probes_ohm or 0.0)

    def as_json(self) -> dict[str, Any]:
        """One JSON-plain object, SI units."""
        result = self.result
        plain: dict[str, Any] = {
            "winding_celsius": result.winding_celsius,
            "rise_kelvin": result.rise_kelvin,
            "thermal_class": result.thermal_class,
            "plus_minus_kelvin": result.plus_minus_kelvin,
            "rise_low_kelvin": result.rise_low_kelvin,
            "rise_high_kelvin": result.rise_high_kelvin,
            "switch_off_ohm": result.off_ohm,
            "cold_ohm": self.measured.cold_ohm,
            "probes_left_in_kelvin": result.probes_kelvin,
            "time_constant_second": result.time_constant_second,
            "constant_kelvin": self.measured.constant_kelvin,
            "notes": list(self.notes),
        }
        if self.run is not None:
            plain |= {"run_amp": self.run.ampere, "run_amp_told": self.run.told}
        if self.currents is not None:
            middle, low, high = self.currents
            plain |= {
                "wanted_rise_kelvin": self.wanted_rise_kelvin,
                "current_for_rise_amp": middle,
                "current_for_rise_low_amp": low,
                "current_for_rise_high_amp": high,
            }
        return plain

    def rows(self) -> list[tuple[str, str]]:
        """The soak as names and values."""
        result = self.result
        rows = [
            ("winding", f"{result.winding_celsius:.0f} °C"),
            ("rise", f"{self.rise_words}, 68 of 100 such tests"),
            ("thermal class needed", f"{result.thermal_class or 'above H'} (by rise, at 40 °C ambient)"),
            ("at switch-off", shown(result.off_ohm, "ohm")),
        ]
        if self.current_ampere is not None:
            rows.append(
                (f"for {self.wanted_rise_kelvin:g} K", f"{shown(self.current_ampere, 'ampere')} RMS per coil")
            )
        return rows


def shown(value: float, unit: str, digits: int = 3) -> str:
    """A figure with its unit; the module that knows units comes along when one is shown."""
    from coilbench.quantity import format_quantity

    return format_quantity(value, unit, digits)
