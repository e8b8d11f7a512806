"""What to set for a current, and the current that a setting gives, for every kind of formula."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbench.driver.chip import SENSE_PATH_OHM, Chip
from coilbench.driver.registers import register_for_peak
from coilbench.errors import InputProblem, NotEnoughKnown

SQRT2 = math.sqrt(2.0)
SENSE_TOLERANCE = 0.01  # common sense resistors
CHIP_TOLERANCE = 0.05  # where the chip's own is not known: what most of the table's documents print
# Hand-held meter on direct volts, common practice: 0.5 % and two counts of 1 mV.
METER_FRACTION = 0.005
METER_VOLT = 0.002
MOST_AMPERE = 20.0  # common practice: no step/direction driver gives more; a slip in gain or resistor does


@dataclass(frozen=True, slots=True)
class Setting:
    """A driver set to a current. Currents in ampere per coil.

    ``peak_ampere`` is the chopping level at the 100 % step; ``asked_ampere`` the peak that was wanted, which
    differs where the hardware fixes the current or a register has steps. Exactly the means that the chip has
    is filled in: ``vref_volt``, ``set_resistor_ohm`` (RSET), ``wanted_sense_ohm`` (FIXED_RS), ``register``.
    """

    chip: Chip
    sense_ohm: float | None
    peak_ampere: float
    asked_ampere: float
    torque: float = 1.0
    vref_volt: float | None = None
    set_resistor_ohm: float | None = None
    wanted_sense_ohm: float | None = None
    register: tuple[tuple[str, int], ...] = ()

    @property
    def rms_ampere(self) -> float:
        """Of the sine that microstepping makes."""
        return self.peak_ampere / SQRT2

    @property
    def full_step_ampere(self) -> float | None:
        """In each of the two coils in full step; None where the chip's ratio is not known."""
        ratio = self.chip.full_step_ratio
        return None if ratio is None else self.peak_ampere * ratio


def peak_per_volt(chip: Chip, sense_ohm: float | None, torque: float = 1.0) -> float:
    """Ampere of peak per volt at the reference pin.

    Raises NotEnoughKnown when the sense resistor is needed and missing, InputProblem when no voltage sets it.
    """
    if chip.formula == "UNKNOWN":
        raise _unknown_formula(chip)
    if not chip.has_vref or chip.factor is None:
        raise InputProblem(
            f"no reference voltage sets the current of {chip.chip}: {chip.formula_text or 'formula not known'}"
        )
    if chip.formula == "VREF_ONLY":
        return chip.factor * torque
    sense = sense_of(chip, sense_ohm)
    return chip.factor * torque / (sense + (SENSE_PATH_OHM if chip.formula == "VREF_RS20" else 0.0))


def sense_of(chip: Chip, sense_ohm: float | None) -> float:
    """The sense resistor in force, ohm: as given, or the chip's internal one."""
    if sense_ohm is not None:
        return sense_ohm
    if chip.internal_sense_ohm is not None:
        return chip.internal_sense_ohm
    if "inside" in chip.formula_text:
        raise NotEnoughKnown(
            f"the resistor inside {chip.chip} was not found in a document", remedy="give it as the sense resistor"
        )
    seen = ", ".join(f"{each:g}" for each in chip.carrier_sense_ohm)
    raise NotEnoughKnown(
        f"the sense resistor of the {chip.chip} board is needed"
        + (f" ({seen} ohm have been seen on boards; yours may differ)" if seen else ""),
        remedy="read its marking and give it, such as R100",
    )


def _unknown_formula(chip: Chip) -> NotEnoughKnown:
    return NotEnoughKnown(f"the formula of {chip.chip} was not found", remedy="look for its gain in its data sheet")


def set_peak(chip: Chip, peak_ampere: float, sense_ohm: float | None = None, torque: float = 1.0) -> Setting:
    """What to set so that ``chip`` chops at ``peak_ampere``.

    Raises NotEnoughKnown for a missing sense resistor or formula, InputProblem for a chip without current control.
    """
    if chip.formula == "UNKNOWN" or (chip.factor is None and chip.formula != "LR"):
        raise _unknown_formula(chip)
    if chip.formula == "LR":
        return Setting(chip, None, peak_ampere, peak_ampere)
    assert chip.factor is not None
    if chip.has_vref:
        vref = peak_ampere / peak_per_volt(chip, sense_ohm, torque)
        sense = None if chip.formula == "VREF_ONLY" else sense_of(chip, sense_ohm)
        register = register_for_peak(chip, peak_ampere, sense)[0] if chip.formula == "VREF_RS20" else ()
        return Setting(chip, sense, peak_ampere, peak_ampere, torque, vref_volt=vref, register=register)
    if chip.formula == "RSET":
        return Setting(chip, None, peak_ampere, peak_ampere, set_resistor_ohm=1000.0 * chip.factor / peak_ampere)
    if chip.formula == "FIXED_RS":
        wanted = chip.factor * torque / peak_ampere
        actual = peak_ampere if sense_ohm is None else chip.factor * torque / sense_ohm
        return Setting(chip, sense_ohm, actual, peak_ampere, torque, wanted_sense_ohm=wanted)
    sense = sense_of(chip, sense_ohm) if chip.needs_sense else None
    register, actual = register_for_peak(chip, peak_ampere, sense)
    return Setting(chip, sense, actual, peak_ampere, register=register)


def read_vref(chip: Chip, vref_volt: float, sense_ohm: float | None = None, torque: float = 1.0) -> Setting:
    """The current that a measured reference voltage means. Above full scale some chips give no more.

    Raises InputProblem for a current that no such driver gives.
    """
    per_volt = peak_per_volt(chip, sense_ohm, torque)
    sense = None if chip.formula == "VREF_ONLY" else sense_of(chip, sense_ohm)
    in_force = vref_volt
    if chip.formula == "VREF_RS20" and chip.vref_max_volt is not None:
        # These chips clamp their scale: at the top of the range or above it is 100 %.
        in_force = min(vref_volt, chip.vref_max_volt)
    peak = in_force * per_volt
    if peak > MOST_AMPERE:
        with_sense = "" if sense is None else f" on {sense:g} ohm"
        raise InputProblem(
            f"{vref_volt:g} V{with_sense} would be {peak:.3g} A, expected {MOST_AMPERE:g} A at most",
            remedy="look again at the sense resistor, the volts and the gain",
        )
    return Setting(chip, sense, peak, peak, torque, vref_volt=vref_volt)


def read_resistor(chip: Chip, set_resistor_ohm: float) -> Setting:
    """The current that the resistor on the set pin means. Raises InputProblem for a chip that is set otherwise."""
    if chip.formula != "RSET" or chip.factor is None:
        raise InputProblem(f"no resistor on a pin sets the current of {chip.chip}: {chip.formula_text}")
    peak = 1000.0 * chip.factor / set_resistor_ohm
    return Setting(chip, None, peak, peak, set_resistor_ohm=set_resistor_ohm)


def fixed_setting(chip: Chip, sense_ohm: float | None, torque: float = 1.0) -> Setting:
    """The current of a chip whose sense resistor alone decides. Raises InputProblem for any other chip."""
    if chip.formula != "FIXED_RS" or chip.factor is None:
        raise InputProblem("neither a current nor a reference voltage given", remedy="give --current or --vref")
    sense = sense_of(chip, sense_ohm)
    peak = chip.factor * torque / sense
    return Setting(chip, sense, peak, peak, torque, wanted_sense_ohm=sense)


def peak_for_full_step(chip: Chip, coil_ampere: float) -> float:
    """The peak to set so that full step puts ``coil_ampere`` into each of the two coils."""
    if chip.full_step_ratio is None:
        raise NotEnoughKnown(
            f"the full-step current ratio of {chip.chip} was not found", remedy="leave out --full-step"
        )
    return coil_ampere / chip.full_step_ratio


def equal_heat(setting: Setting) -> Setting | None:
    """The set-point whose sine heats the coils as much as the rated current in both: 1.41 times.

    At a standstill on a full position of one coil it holds 1.41 times the rated current in that coil, which
    then makes twice its rated heat. None where the current can't be set.
    """
    if setting.chip.formula == "LR" or (setting.chip.formula == "FIXED_RS" and setting.sense_ohm is not None):
        return None
    return set_peak(setting.chip, setting.asked_ampere * SQRT2, setting.sense_ohm, setting.torque)


def current_range(setting: Setting) -> tuple[float, float]:
    """Least and most peak ampere that sense resistor, chip and the meter on the trimmer leave, all at their worst."""
    chip = setting.chip
    share = CHIP_TOLERANCE if chip.accuracy_percent is None else chip.accuracy_percent / 100
    low, high = 1 - share, 1 + share
    if setting.sense_ohm is not None and chip.internal_sense_ohm is None:
        low, high = low / (1 + SENSE_TOLERANCE), high / (1 - SENSE_TOLERANCE)
    if chip.has_vref and setting.vref_volt:
        meter = METER_FRACTION + METER_VOLT / setting.vref_volt
        low, high = low * max(0.0, 1 - meter), high * (1 + meter)
    return setting.peak_ampere * low, setting.peak_ampere * high


def trimmer_turn(vref_volt: float, full_volt: float) -> float:
    """Share of an even trimmer's travel, 0 to 1, that gives ``vref_volt`` when its far end is ``full_volt``."""
    return vref_volt / full_volt
