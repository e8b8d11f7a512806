"""What to set for a current, and the current that a setting gives, for any chip."""

from __future__ import annotations

from coilbench.driver.chip import SQRT2, Chip, Formula, Means, SenseUse, Setting
from coilbench.errors import InputProblem, NotEnoughKnown

SENSE_TOLERANCE = 0.01  # common sense resistors
CHIP_TOLERANCE = 0.05  # where the chip's own is not known: what most of the table's documents print
# Hand-held meter on direct volts, common practice: 0.5 % and two counts of 1 mV.
METER_FRACTION = 0.005
METER_VOLT = 0.002
_WORTH_IT = 1.03  # less than that more current is lost in the tolerances
MOST_AMPERE = 20.0  # common practice: no step/direction driver gives more; a slip in gain or resistor does


def set_peak(chip: Chip, peak_ampere: float, sense_ohm: float | None = None, torque: float = 1.0) -> Setting:
    """What to set so that ``chip`` chops at ``peak_ampere``.

    Raises NotEnoughKnown for a missing sense resistor or formula, or a current under what the chip can be set to.
    """
    formula = _known_formula(chip)
    # A sense resistor that alone decides may be left open, to be chosen.
    sense = sense_ohm if chip.sense_decides else _sense_for(chip, sense_ohm)
    means = formula.means_for(peak_ampere, sense, torque)
    peak = formula.peak_of(means, sense, torque) if formula.differs_because else peak_ampere
    return Setting(chip, sense, peak, peak_ampere, means, torque)


def read_vref(chip: Chip, vref_volt: float, sense_ohm: float | None = None, torque: float = 1.0) -> Setting:
    """The current that a measured reference voltage means. Above full scale some chips give no more.

    Raises NotEnoughKnown when the sense resistor is needed and missing, InputProblem when no voltage sets the
    chip's current or for a current that no such driver gives.
    """
    if not _known_formula(chip).has_vref:
        raise InputProblem(f"no reference voltage sets the current of {chip.chip}: {chip.formula_text}")
    sense = _sense_for(chip, sense_ohm)
    means = Means(vref_volt=vref_volt)
    peak = chip.formula.peak_of(means, sense, torque)
    if peak <= 0:
        raise InputProblem(
            f"{vref_volt:g} V gives no current with {chip.chip}: {chip.formula_text}",
            remedy="measure the reference again, or turn it up",
        )
    if peak > MOST_AMPERE:
        with_sense = "" if sense is None else f" on {sense:g} ohm"
        raise InputProblem(
            f"{vref_volt:g} V{with_sense} would be {peak:.3g} A, expected {MOST_AMPERE:g} A at most",
            remedy="look again at the sense resistor, the volts and the gain",
        )
    return Setting(chip, sense, peak, peak, means, torque)


def read_resistor(chip: Chip, set_resistor_ohm: float) -> Setting:
    """The current that the resistor on the set pin means. Raises InputProblem for a chip that is set otherwise."""
    if not chip.formula.has_set_resistor:
        raise InputProblem(f"no resistor on a pin sets the current of {chip.chip}: {chip.formula_text}")
    means = Means(set_resistor_ohm=set_resistor_ohm)
    peak = chip.formula.peak_of(means, None)
    return Setting(chip, None, peak, peak, means)


def fixed_setting(chip: Chip, sense_ohm: float | None, torque: float = 1.0) -> Setting:
    """The current of a chip whose sense resistor alone decides. Raises InputProblem for any other chip."""
    if not chip.sense_decides:
        raise InputProblem("neither a current nor a reference voltage given", remedy="give --current or --vref")
    means = Means(wanted_sense_ohm=sense_of(chip, sense_ohm))
    peak = chip.formula.peak_of(means, means.wanted_sense_ohm, torque)
    return Setting(chip, means.wanted_sense_ohm, peak, peak, means, torque)


def sense_of(chip: Chip, sense_ohm: float | None) -> float:
    """The sense resistor in force, ohm: the chip's internal one where it is known, else as given."""
    if chip.internal_sense_ohm is not None:
        return chip.internal_sense_ohm
    if sense_ohm is not None:
        return sense_ohm
    if chip.sense_inside:
        raise NotEnoughKnown(
            f"the resistor inside {chip.chip} was not found in a document", remedy="give it as the sense resistor"
        )
    seen = ", ".join(f"{each:g}" for each in chip.carrier_sense_ohm)
    raise NotEnoughKnown(
        f"the sense resistor of the {chip.chip} board is needed"
        + (f" ({seen} ohm have been seen on boards; yours may differ)" if seen else ""),
        remedy="read its marking and give it, such as R100",
    )


def peak_for_full_step(chip: Chip, coil_ampere: float) -> float:
    """The peak to set so that full step puts ``coil_ampere`` into each of the two coils."""
    if chip.full_step_ratio is None:
        raise NotEnoughKnown(
            f"the full-step current ratio of {chip.chip} was not found", remedy="leave out --full-step"
        )
    return coil_ampere / chip.full_step_ratio


def equal_heat(setting: Setting, rated_ampere: float, most_ampere: float | None) -> Setting | None:
    """The set-point up to which a motor that keeps turning gets no warmer than its rating, RMS with two phases on.

    A sine whose peak is 1.41 times the rating heats as much as the rating in both coils. The chip (``most_ampere``,
    peak) and the scale of its reference may end it sooner. At a standstill on a full position of one coil it holds
    all of the peak in that coil, which then makes up to twice its rated heat. None where that is no more than what is
    set, or can't be set.
    """
    formula, chip = setting.chip.formula, setting.chip
    if not formula.regulates or not formula.can_be_changed(setting):
        return None
    ends = [rated_ampere * SQRT2, most_ampere, formula.full_scale_ampere(setting.sense_ohm, setting.torque)]
    for volt in (chip.vref_max_volt, chip.trimmer_full_volt):
        if volt is not None and setting.vref_volt is not None:
            ends.append(formula.peak_of(Means(vref_volt=volt), setting.sense_ohm, setting.torque))
    peak = min(each for each in ends if each is not None)
    if peak < setting.peak_ampere * _WORTH_IT:
        return None
    return set_peak(chip, peak, setting.sense_ohm, setting.torque)


def current_range(setting: Setting) -> tuple[float, float]:
    """Least and most peak ampere that sense resistor, chip and the meter on the trimmer leave, all at their worst."""
    chip = setting.chip
    share = CHIP_TOLERANCE if chip.accuracy_percent is None else chip.accuracy_percent / 100
    low, high = 1 - share, 1 + share
    if setting.sense_ohm is not None and chip.internal_sense_ohm is None:
        low, high = low / (1 + SENSE_TOLERANCE), high / (1 - SENSE_TOLERANCE)
    if setting.vref_volt is None:
        return setting.peak_ampere * low, setting.peak_ampere * high
    meter = METER_FRACTION * setting.vref_volt + METER_VOLT
    least, most = (
        chip.formula.peak_of(Means(vref_volt=setting.vref_volt + error), setting.sense_ohm, setting.torque)
        for error in (-meter, meter)
    )
    return least * low, most * high


def _known_formula(chip: Chip) -> Formula:
    if chip.formula.known:
        return chip.formula
    raise NotEnoughKnown(f"the formula of {chip.chip} was not found", remedy="look for its gain in its data sheet")


def _sense_for(chip: Chip, sense_ohm: float | None) -> float | None:
    return None if chip.formula.sense_use is SenseUse.UNUSED else sense_of(chip, sense_ohm)
