"""Findings on what is set: reference, current, microsteps, tolerances."""

from __future__ import annotations

import math

from coilbench.driver.chip import Chip, Setting
from coilbench.driver.figure_text import amps, volts
from coilbench.driver.finding import Notebook, Situation, Weight
from coilbench.driver.reference_voltage import equal_heat

MOST_VREF_VOLT = 12.0  # common practice: references end at the logic supply, a divider on the motor supply at most
_KIND = {"peak": "peak", "rms": "RMS"}


def assess_vref(setting: Setting, book: Notebook) -> None:
    """The reference against its pin, its scale and its trimmer."""
    chip, vref = setting.chip, setting.vref_volt
    if vref is None:
        return
    if chip.vref_max_volt is None and vref > MOST_VREF_VOLT:
        book.add(
            Weight.STOP,
            "reference",
            f"{volts(vref)} is more than any driver's reference pin can take",
            "the gain, the sense resistor or the current is not right",
            "read the three again",
        )
    shown, lowest, scale_end = volts(vref), chip.vref_min_volt, chip.formula.full_scale_volt
    highest = chip.vref_max_volt if scale_end is None else scale_end
    if highest is not None and vref > highest * (1 + 1e-9):
        if scale_end is not None:
            book.add(
                Weight.STOP,
                "reference",
                f"{shown} is over the {volts(highest)} at which the chip's scale ends",
                "the current stays at full scale",
                "a smaller sense resistor, or less current",
            )
        else:
            book.add(
                Weight.STOP,
                "reference",
                f"{shown} is over the {volts(highest)} that the reference pin is made for",
                "the current is not what the formula says and the chip may be harmed",
                "less current, or a smaller sense resistor",
            )
    elif lowest is not None and vref < lowest:
        book.add(
            Weight.WARN,
            "reference",
            f"{shown} is below the recommended minimum of {volts(lowest)}",
            chip.formula.below_range,
            "check with the current in the coil, or a larger sense resistor",
        )
    if chip.trimmer_full_volt is not None and vref > chip.trimmer_full_volt and scale_end is None:
        book.add(
            Weight.WARN,
            "reference",
            f"the usual trimmer ends at {volts(chip.trimmer_full_volt)}",
            f"{shown} can't be reached with it",
            "less current, or a smaller sense resistor",
        )


def hotter_setting(situation: Situation, carried_ampere: float | None) -> Setting | None:
    """The setting of equal heat: only where the motor has a rating, and what turns it is a sine."""
    if situation.rated_ampere is None or situation.steps == 1:
        return None
    most = [each for each in (carried_ampere, situation.chip.most_peak_ampere) if each is not None]
    return equal_heat(situation.setting, situation.rated_ampere, min(most, default=None))


def tell_hotter(situation: Situation, hotter: Setting, book: Notebook) -> None:
    """The remark on more current than the one to set."""
    assert situation.rated_ampere is not None
    means = hotter.chip.formula.means_text(hotter)
    less = "" if hotter.peak_ampere >= 1.41 * situation.rated_ampere else ", as far as the driver goes"
    book.add(
        Weight.NOTE,
        "equal heat",
        f"a motor that keeps turning may have up to {amps(hotter.peak_ampere)} peak ({means}){less}",
        f"its sine heats no more than the rating of {amps(situation.rated_ampere)} RMS; standing still on one coil, "
        "that coil may get twice its heat",
    )


def assess_current(situation: Situation, flowing_ampere: float | None, book: Notebook) -> None:
    """The current against the chip's limits, and against what was asked."""
    setting, chip = situation.setting, situation.chip
    used = situation.running_rms_ampere if chip.max_kind == "rms" else setting.peak_ampere
    kind = _KIND[chip.max_kind]
    if not chip.formula.regulates:
        used, kind = used if flowing_ampere is None else flowing_ampere, "a coil"
    shown = f"{amps(used)} {kind}"
    if chip.max_ampere is None:
        book.withhold("current", f"current against the chip's maximum: not found for {chip.chip}")
    elif used > chip.max_ampere * (1 + 1e-9):
        book.add(
            Weight.STOP,
            "current",
            f"{shown} is over the {amps(chip.max_ampere)} {kind} of {chip.chip}",
            "it cuts out or fails",
            "less current or another driver",
        )
    elif used > 0.9 * chip.max_ampere:
        book.add(
            Weight.WARN,
            "current",
            f"{shown} is within a tenth of the {amps(chip.max_ampere)} {kind} of {chip.chip}",
            "the tolerances alone can carry it over",
            "less current or another driver",
        )
    if chip.least_ampere is not None and setting.peak_ampere < chip.least_ampere:
        book.add(
            Weight.WARN,
            "current",
            f"its maker advises no less than {amps(chip.least_ampere)} for {chip.chip}",
            "offsets spoil the small levels",
            "a driver for smaller motors",
        )
    if abs(setting.peak_ampere / setting.asked_ampere - 1) > 0.005:
        most = chip.formula.full_scale_ampere(setting.sense_ohm, setting.torque)
        over = most is not None and setting.asked_ampere > most
        why = "that is the most the chip can be set to" if over else chip.formula.differs_because
        far = abs(setting.peak_ampere / setting.asked_ampere - 1) > 0.1
        book.add(
            Weight.WARN if far else Weight.NOTE,
            "current",
            f"{amps(setting.peak_ampere)} peak flows, {amps(setting.asked_ampere)} peak was asked: {why}",
        )


def assess_steps(situation: Situation, book: Notebook) -> None:
    """Whether the chip has such microsteps, and what they are good for."""
    chip, steps = situation.chip, situation.microsteps
    if situation.steps > 1 and chip.formula.regulates:
        push = math.sin(math.pi / 2 / situation.steps)
        book.add(
            Weight.NOTE,
            "microsteps",
            f"1/{situation.steps} step gives smoothness, not stiffness",
            f"pushed one microstep away the shaft holds against {push:.0%} of the holding torque, "
            "pushed a whole step against all of it",
        )
    if steps is not None:
        assess_pins(chip, steps, book)


def assess_pins(chip: Chip, steps: int, book: Notebook) -> None:
    """Whether the chip has such microsteps."""
    if chip.microsteps and steps not in chip.microsteps:
        book.add(
            Weight.WARN,
            "microsteps",
            f"{chip.chip} has no 1/{steps} step by its pins",
            f"it has {', '.join(str(each) for each in chip.microsteps)}",
            "choose one of these",
        )


def assess_range(setting: Setting, span: tuple[float, float], book: Notebook) -> None:
    """How far off the peak may be."""
    chip = setting.chip
    sense = "sense resistor 1 %, " if setting.sense_ohm is not None and not chip.sense_inside else ""
    share = "chip 5 % (assumed), " if chip.accuracy_percent is None else f"chip {chip.accuracy_percent:g} %, "
    meter = "meter on the trimmer" if setting.vref_volt is not None else ""
    low, high = (amps(each) for each in span)
    book.add(
        Weight.NOTE,
        "range",
        f"the peak lies between {low} and {high}",
        f"tolerances: {(sense + share + meter).rstrip(', ')}",
    )
