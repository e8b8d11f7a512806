"""Can it work at all: everything there is to say about a driver setting, most serious first."""

from __future__ import annotations

from coilbench.driver.chip import Chip, Setting
from coilbench.driver.figure_text import amps, volts
from coilbench.driver.finding import Judgement, Notebook, Situation, Weight
from coilbench.driver.findings_power import assess_heat, assess_logic, assess_supply
from coilbench.driver.findings_regulation import assess_floor, assess_quiet_mode, assess_reach, loop_of
from coilbench.driver.reference_voltage import current_range
from coilbench.driver.regulation import microstep_ampere

MOST_VREF_VOLT = 12.0  # common practice: references end at the logic supply, a divider on the motor supply at most


def judgement_of(situation: Situation) -> Judgement:
    """All findings on a setting; what can't be found for want of a figure is withheld and named."""
    book = Notebook()
    setting, chip = situation.setting, situation.chip
    _assess_connection(situation, book)
    _assess_vref(setting, book)
    _assess_current(situation, book)
    _assess_steps(situation, book)
    assess_supply(situation, book)
    loop = loop_of(situation)
    reach = assess_reach(situation, loop, book)
    rising, falling = assess_floor(situation, loop, book)
    quiet = assess_quiet_mode(situation, book)
    assess_logic(situation, book)
    watt, junction = assess_heat(situation, reach, book)
    span = current_range(setting)
    if chip.formula.regulates:
        _assess_range(setting, span, book)
    _assess_source(chip, book)
    return Judgement(
        findings=tuple(sorted(book.findings, key=lambda finding: finding.weight)),
        withheld=tuple(book.withheld),
        reach_ampere=reach,
        floor_ampere=None if rising is None else rising.mean_ampere,
        floor_peak_ampere=None if rising is None else rising.peak_ampere,
        falling_floor_ampere=None if falling is None else falling.mean_ampere,
        smallest_step_ampere=None if situation.steps == 1 else microstep_ampere(setting.peak_ampere, situation.steps),
        quiet_mode_ampere=quiet,
        chip_watt=watt,
        junction_celsius=junction,
        range_ampere=span,
    )


def _assess_source(chip: Chip, book: Notebook) -> None:
    if chip.status == "memory":
        book.add(
            Weight.WARN,
            "source",
            f"the figures of {chip.chip} are not verified: they were not read in its own document",
            "they may be wrong",
            "check them in its data sheet before relying on them",
        )
    elif chip.status == "own":
        book.add(Weight.NOTE, "source", f"the figures of {chip.chip} are your own")
    elif chip.memory:
        words = ", ".join(each.split(":")[0].replace("_", " ") for each in chip.memory)
        book.add(Weight.NOTE, "source", f"verified in {chip.document.split(';')[0]}, but from memory: {words}")
    if chip.note:
        book.add(Weight.NOTE, "chip", chip.note)
    if chip.decay_note:
        book.add(Weight.NOTE, "decay", f"decay: {chip.decay_note}")
    if chip.conflict:
        book.add(Weight.NOTE, "conflict", f"documents disagree: {chip.conflict}")


def _assess_connection(situation: Situation, book: Notebook) -> None:
    chip, connection = situation.chip, situation.connection
    if situation.half_winding and chip.motor == "bipolar":
        book.add(
            Weight.WARN,
            "connection",
            "the current is that of one half-winding and no connection is chosen",
            "right for half-coil; in series it takes 0.71 times as much or gets twice the heat",
            "choose the connection first",
        )
    if connection is None or (connection == "unipolar") == (chip.motor == "unipolar"):
        return
    book.add(
        Weight.STOP,
        "connection",
        f"{chip.chip} drives {chip.motor} windings, the motor's connection is {connection}",
        "they do not go together",
        "choose the other kind of driver, or connect the motor another way",
    )


def _assess_vref(setting: Setting, book: Notebook) -> None:
    chip, vref = setting.chip, setting.vref_volt
    if vref is None:
        return
    if chip.vref_max_volt is None and vref > MOST_VREF_VOLT:
        book.add(
            Weight.STOP,
            "reference",
            f"{volts(vref)} is more than any driver's reference pin stands",
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


def _assess_current(situation: Situation, book: Notebook) -> None:
    setting, chip = situation.setting, situation.chip
    used = situation.running_rms_ampere if chip.max_kind == "rms" else setting.peak_ampere
    shown = f"{amps(used)} {chip.max_kind}"
    if chip.max_ampere is None:
        book.withhold("current", f"current against the chip's maximum: not found for {chip.chip}")
    elif used > chip.max_ampere * (1 + 1e-9):
        book.add(
            Weight.STOP,
            "current",
            f"{shown} is over the {amps(chip.max_ampere)} {chip.max_kind} of {chip.chip}",
            "it cuts out or fails",
            "less current or another driver",
        )
    elif used > 0.9 * chip.max_ampere:
        book.add(
            Weight.WARN,
            "current",
            f"{shown} is within a tenth of the {amps(chip.max_ampere)} {chip.max_kind} of {chip.chip}",
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
            f"{amps(setting.peak_ampere)} flows, {amps(setting.asked_ampere)} was asked: {why}",
        )


def _assess_steps(situation: Situation, book: Notebook) -> None:
    chip, steps = situation.chip, situation.microsteps
    if steps is not None and chip.microsteps and steps not in chip.microsteps:
        book.add(
            Weight.WARN,
            "microsteps",
            f"{chip.chip} has no 1/{steps} step by its pins",
            f"it has {', '.join(str(each) for each in chip.microsteps)}",
            "choose one of these",
        )


def _assess_range(setting: Setting, span: tuple[float, float], book: Notebook) -> None:
    sense = "sense resistor 1 %, " if setting.sense_ohm is not None else ""
    chip = setting.chip
    share = "chip 5 % (assumed), " if chip.accuracy_percent is None else f"chip {chip.accuracy_percent:g} %, "
    meter = "meter on the trimmer" if setting.vref_volt is not None else ""
    low, high = (amps(each) for each in span)
    book.add(
        Weight.NOTE,
        "range",
        f"the peak lies between {low} and {high}",
        f"tolerances: {(sense + share + meter).rstrip(', ')}",
    )
