"""What a supply has to give: the power that its motors and drivers take, and the fuse and wire of each branch."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

from coilbench.driver.carried import AROUND_CELSIUS, bare_kelvin_per_watt
from coilbench.driver.chip import SQRT2, Chip
from coilbench.driver.heat import load_of, settled_heat

WARM_COPPER = 1.3  # of the cold ohms, 80 K warmer (0.39 % a kelvin, IEC 60034-1)
USUAL_DRIVER_SHARE = 0.15  # of the coils' heat, for a driver of which nothing is known (common practice)
FUSE_TIMES = 1.25  # over the branch's worst case, so that the fuse doesn't age (common practice)
LEAST_FUSE_AMPERE = 1.0  # a smaller one goes when the drivers' capacitors are charged (common practice)
# Time-lag cartridges, ampere: the rated currents of IEC 60127-2, from memory.
FUSES_AMPERE = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0, 12.5)


@dataclass(frozen=True, slots=True)
class Driven:
    """One motor on its driver: the current that is set, as its peak, cold ohms a winding as connected, and the power
    its shaft gives at the most. ``sine`` where it microsteps; ``chops`` false where resistors hold the current."""

    peak_ampere: float
    ohm: float
    supply_volt: float
    shaft_watt: float
    sine: bool = True
    chops: bool = True
    chip: Chip | None = None


@dataclass(frozen=True, slots=True)
class Draw:
    """From the supply: at rest, and at the worst with all of it at full speed and warm. ``flash_ampere`` is the most
    that can flow for a moment, both windings straight on the supply."""

    standing_watt: float
    worst_watt: float
    flash_ampere: float


def draw_of(motor: Driven) -> Draw:
    """2 I^2 R + T w + driver, watt, I the current's RMS.

    A chopper takes power from the supply, not the coils' current; without one both windings' current comes from it.
    """
    if not motor.chops:
        watt = 2 * motor.peak_ampere * motor.supply_volt
        return Draw(watt, watt, 2 * motor.peak_ampere)
    rms = motor.peak_ampere / SQRT2 if motor.sine else motor.peak_ampere
    coils = 2 * rms**2 * motor.ohm
    driver = _driver_watt(motor, rms, coils)
    return Draw(coils + driver, WARM_COPPER * coils + motor.shaft_watt + driver, 2 * motor.peak_ampere)


def _driver_watt(motor: Driven, rms_ampere: float, coils_watt: float) -> float:
    if motor.chip is not None:
        load = load_of(motor.chip, rms_ampere, motor.supply_volt, sine=motor.sine)
        heat = settled_heat(motor.chip, load, AROUND_CELSIUS, bare_kelvin_per_watt(motor.chip))
        if heat is not None:
            return heat.watt
    return USUAL_DRIVER_SHARE * coils_watt


@dataclass(frozen=True, slots=True)
class Wire:
    """A copper wire by its gauge (AWG); ``bundled_ampere`` is the cautious figure, for wires among others."""

    gauge: int
    square_mm: float
    bundled_ampere: float


@cache
def wires() -> tuple[Wire, ...]:
    """The table beside this module, the thinnest first."""
    text = (resources.files("coilbench.driver") / "wires.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return tuple(Wire(int(row["gauge"]), float(row["square_mm"]), float(row["bundled_ampere"])) for row in rows)


def fuse_for(worst_ampere: float) -> float | None:
    """The smallest that holds; None where the branch wants more than the largest."""
    least = max(FUSE_TIMES * worst_ampere, LEAST_FUSE_AMPERE)
    return next((each for each in FUSES_AMPERE if each >= least), None)


def wire_for(fuse_ampere: float) -> Wire | None:
    """The thinnest that the fuse protects; None where none of the table is thick enough."""
    return next((each for each in wires() if each.bundled_ampere >= fuse_ampere), None)
