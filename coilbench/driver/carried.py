"""What a driver chip carries for good on a bare carrier board: no heat sink, no moving air."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coilbench.driver.chip import SQRT2, Chip
from coilbench.driver.heat import load_of, rms_of_peak, settled_heat

USUAL_SINK_KELVIN_PER_WATT = {"board": 25.0, "chip": 10.0}  # a stuck-on one, one screwed to a tab: common practice
# From inside a chip to where its heat sink sits: TI SLVSA73F prints 15.9 K/W to the top of a DRV8825, ST and Toshiba
# 1.5 to 3 K/W to a tab.
_TO_SINK_KELVIN_PER_WATT = {"board": 16.0, "chip": 3.0}

# Common practice: a carrier of 15 by 20 mm gets rid of half of what the makers' test board does. So reckoned, the
# current is 0.7 to 1.0 of what pages of carriers print for boards without cooling, where both are known.
CARRIER_TIMES = 2.0
AROUND_CELSIUS = 40.0  # inside a case, as standards on heating of electronics take it
MARGIN_KELVIN = 25.0  # kept under the chip's limit
_WITHIN = 0.9  # of the absolute maximum: the tolerances alone can use up the rest
_HALVINGS = 40


@dataclass(frozen=True, slots=True)
class Carried:
    """A chip's continuous current, peak ampere per coil (the chopping level; of a driver that doesn't chop, what
    flows in each coil), and whether its makers print it or it was ``reckoned`` from the chip's heat."""

    peak_ampere: float
    basis: Literal["printed", "reckoned"]

    @property
    def words(self) -> str:
        """What the figure is, to stand behind it."""
        printed = "peak, which a bare board of this chip carries"
        return printed if self.basis == "printed" else f"{printed}, reckoned from its heat"


def carried(chip: Chip, sink_kelvin_per_watt: float | None = None) -> Carried | None:
    """The continuous current of ``chip`` on a bare carrier board, or with a heat sink; None where nothing tells it.

    What is printed for boards without cooling, as far as the chip's heat on its document's own test board allows it
    (some makers print what that board carries for a short time); else by its heat on a carrier. Never its absolute
    maximum, which says where it breaks and not what it carries.
    """
    limits = [] if chip.most_peak_ampere is None else [_WITHIN * chip.most_peak_ampere]
    if sink_kelvin_per_watt is not None:
        bare = carried(chip)
        cooled = cooled_kelvin_per_watt(chip, bare_kelvin_per_watt(chip), sink_kelvin_per_watt)
        with_sink = _by_heat(chip, min(limits), cooled) if limits else None
        if with_sink is None or (bare is not None and bare.peak_ampere > with_sink):
            return bare
        return Carried(with_sink, "reckoned")
    if chip.cool_free_ampere is not None:
        printed = chip.cool_free_ampere * (SQRT2 if chip.cool_free_kind == "rms" else 1.0)
        reckoned = _by_heat(chip, max([*limits, printed]), chip.thermal_kelvin_per_watt)
        least = min(each for each in (printed, reckoned, *limits) if each is not None)
        return Carried(least, "printed" if least == printed else "reckoned")
    reckoned = _by_heat(chip, min(limits), bare_kelvin_per_watt(chip)) if limits else None
    return None if reckoned is None else Carried(reckoned, "reckoned")


def bare_kelvin_per_watt(chip: Chip) -> float | None:
    """Thermal resistance from inside a chip to the air, on a bare carrier board; None where not known."""
    if chip.thermal_kelvin_per_watt is None:
        return None
    return chip.thermal_kelvin_per_watt * (CARRIER_TIMES if chip.thermal_on == "board" else 1.0)


def cooled_kelvin_per_watt(
    chip: Chip, kelvin_per_watt: float | None, sink_kelvin_per_watt: float | None
) -> float | None:
    """Thermal resistance with a heat sink of its own beside what there was; that alone where none is fitted."""
    if kelvin_per_watt is None or sink_kelvin_per_watt is None:
        return kelvin_per_watt
    by_sink = _TO_SINK_KELVIN_PER_WATT[chip.thermal_on] + sink_kelvin_per_watt
    return 1 / (1 / kelvin_per_watt + 1 / by_sink)


def _by_heat(chip: Chip, most_ampere: float, kelvin_per_watt: float | None) -> float | None:
    """The peak ampere, up to ``most_ampere``, that leaves the chip its margin; None where not known."""
    limit = chip.junction_max_celsius
    if kelvin_per_watt is None or limit is None:
        return None

    def stays_cool(peak_ampere: float) -> bool | None:
        load = load_of(chip, rms_of_peak(chip, peak_ampere), None, sine=chip.formula.regulates)
        heat = settled_heat(chip, load, AROUND_CELSIUS, kelvin_per_watt)
        if heat is None or heat.junction_celsius is None:
            return None
        return heat.junction_celsius <= limit - MARGIN_KELVIN

    cool = stays_cool(most_ampere)
    if cool is None or cool:
        return most_ampere if cool else None
    low, high = 0.0, most_ampere
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if stays_cool(middle) else (low, middle)
    return low or None
