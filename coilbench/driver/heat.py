"""What a driver chip turns into heat, and how warm that makes it inside."""

from __future__ import annotations

from dataclasses import dataclass

from coilbench.driver.chip import SQRT2, Chip

WARM_PER_KELVIN = 0.004  # of a power FET's resistance: TI and ST print 1.19 to 1.37 times from 25 to 85 C, 1.4 to 125
SHEET_CELSIUS = 25.0
WARM_CELSIUS = 85.0  # taken inside where nothing tells how a chip gets rid of its heat
USUAL_IDLE_AMPERE = 0.005  # makers print 0.5 to 19 mA, most 3 to 8
USUAL_CHOP_HERTZ = 35e3
USUAL_SUPPLY_VOLT = 24.0
# How long, each chop cycle, the full supply stands across a bridge that carries the full current: both edges of both
# half-bridges, dead time and the diodes' recovery. The one figure fitted here, to the powers that TRINAMIC prints for
# its chips; slopes of 0.1 to 0.2 us an edge stand in makers' tables.
SWITCHING_SECOND = 0.35e-6
_MEAN_OF_RMS = 0.9  # of a rectified sine


@dataclass(frozen=True, slots=True)
class Load:
    """What a chip carries a coil, both on: ``rms_ampere`` over a cycle, ``mean_ampere`` of the rectified current."""

    rms_ampere: float
    mean_ampere: float
    supply_volt: float
    chop_hertz: float = USUAL_CHOP_HERTZ


@dataclass(frozen=True, slots=True)
class Heat:
    """Watts in a chip by their cause, and the temperature they make inside; None without a thermal resistance."""

    conduction_watt: float
    switching_watt: float
    idle_watt: float
    junction_celsius: float | None = None

    @property
    def watt(self) -> float:
        return self.conduction_watt + self.switching_watt + self.idle_watt


def load_of(
    chip: Chip, rms_ampere: float, supply_volt: float | None, *, sine: bool = True, duty: float = 0.0
) -> Load:
    """The load of both coils at ``rms_ampere``; ``sine`` unless it stands or full-steps.

    ``duty`` is the share of a cycle in which the coil is on, for chips of fixed off time. Without a supply the usual
    one is taken, or what the chip stands.
    """
    supply = supply_volt if supply_volt is not None else min(USUAL_SUPPLY_VOLT, chip.supply_max_volt or 1e3)
    mean = rms_ampere * (_MEAN_OF_RMS if sine else 1.0)
    if chip.chop_khz is not None:
        return Load(rms_ampere, mean, supply, chip.chop_khz * 1e3)
    if chip.off_us is not None:
        return Load(rms_ampere, mean, supply, (1 - duty) * 1e6 / chip.off_us)
    return Load(rms_ampere, mean, supply)


def heat_at(chip: Chip, load: Load, inside_celsius: float) -> Heat | None:
    """The heat of ``chip`` with so much inside; None where its bridge is not known.

    Conduction is 2 R I^2 of the rms current, R the whole bridge's (TI SLVSA73F prints 4 R I^2 for one transistor's),
    plus its fixed drop; then switching, supply x mean current x time x frequency, and the chip's own current.
    """
    bridge = chip.bridge_ohm or chip.bridge_max_ohm
    if bridge is None:
        return None
    if not chip.drop_volt:
        bridge *= 1 + WARM_PER_KELVIN * (inside_celsius - SHEET_CELSIUS)
    conduction = 2 * (bridge * load.rms_ampere**2 + (chip.drop_volt or 0.0) * load.mean_ampere)
    if not chip.formula.regulates:
        return Heat(conduction, 0.0, 0.0)
    switching = 2 * load.supply_volt * load.mean_ampere * load.chop_hertz * SWITCHING_SECOND
    idle = USUAL_IDLE_AMPERE if chip.idle_milliampere is None else chip.idle_milliampere / 1e3
    return Heat(conduction, switching, idle * load.supply_volt)


def settled_heat(chip: Chip, load: Load, around_celsius: float, kelvin_per_watt: float | None) -> Heat | None:
    """The heat and temperature that a chip comes to: a warmer bridge makes more of it.

    Where it comes to more than its limit, what it makes at the limit, and the temperature that would follow.
    """
    cold, warm = (heat_at(chip, load, each) for each in (SHEET_CELSIUS, WARM_CELSIUS))
    if cold is None or warm is None or kelvin_per_watt is None:
        return warm
    watt_per_kelvin = (warm.watt - cold.watt) / (WARM_CELSIUS - SHEET_CELSIUS)
    rise = kelvin_per_watt * (cold.watt + watt_per_kelvin * (around_celsius - SHEET_CELSIUS))
    share = 1 - kelvin_per_watt * watt_per_kelvin  # none left: it warms itself without end
    limit = chip.junction_max_celsius or 150.0
    inside = min(around_celsius + rise / share, limit) if share > 0 else limit
    found = heat_at(chip, load, inside)
    assert found is not None
    after = around_celsius + kelvin_per_watt * found.watt
    return Heat(found.conduction_watt, found.switching_watt, found.idle_watt, after)


def rms_of_peak(chip: Chip, peak_ampere: float) -> float:
    """Per coil over a cycle: of the sine that microstepping makes; where nothing chops, on is on."""
    return peak_ampere / SQRT2 if chip.formula.regulates else peak_ampere
