"""The formulas of the chip table: one class each, by the name that a chip's row gives.

A new one is a class here, derived from the class in ``means`` for what is set, and its line in ``FORMULAS``. Its
dataclass fields name the columns of the row that it takes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from coilbench.driver.chip import Formula, Means, SenseUse
from coilbench.driver.means import NotSet, SetByReference, SetByRegister, SetByResistor, SetBySense
from coilbench.errors import InputProblem, NotEnoughKnown

SENSE_PATH_OHM = 0.020  # inside VREF_RS20 chips, between their pin and the comparator
_ROUNDING = 1 + 1e-9  # rounding must not cost a step


@dataclass(frozen=True, slots=True)
class VrefOverSense(SetByReference):
    """VREF_RS: peak = factor VREF / Rs; data sheets print VREF / (gain Rs)."""

    sense_use: ClassVar[SenseUse] = SenseUse.NEEDED
    has_gain: ClassVar[bool] = True

    factor: float

    @property
    def symbols(self) -> str:
        return f"peak = VREF / {_gain_and_sense(self.factor)}"

    def ampere_per_volt(self, sense_ohm: float | None, torque: float = 1.0) -> float:
        return _over(self.factor * torque, sense_ohm)


@dataclass(frozen=True, slots=True)
class OffsetVrefOverSense(SetByReference):
    """VREF_OFFSET_RS: peak = factor (VREF - offset) / Rs, within the range of references it is printed for."""

    sense_use: ClassVar[SenseUse] = SenseUse.NEEDED
    has_gain: ClassVar[bool] = True
    below_range: ClassVar[str] = "the formula does not hold there and the current may be another"

    factor: float
    offset_volt: float
    vref_min_volt: float
    vref_max_volt: float

    def __post_init__(self) -> None:
        if not self.offset_volt < self.vref_min_volt:
            raise InputProblem(f"offset_volt {self.offset_volt:g} is not below vref_min_volt {self.vref_min_volt:g}")

    @property
    def symbols(self) -> str:
        sign = "-" if self.offset_volt >= 0 else "+"
        return f"peak = (VREF {sign} {abs(self.offset_volt):g} V) / {_gain_and_sense(self.factor)}"

    @property
    def zero_volt(self) -> float:
        return self.offset_volt

    def ampere_per_volt(self, sense_ohm: float | None, torque: float = 1.0) -> float:
        return _over(self.factor * torque, sense_ohm)


@dataclass(frozen=True, slots=True)
class VrefOverSensePath(SetByReference):
    """VREF_RS20: peak = factor VREF / (Rs + 20 milliohm inside the chip), full scale from ``vref_max_volt`` on.

    Or by the current scale in its registers, TMC2130 Rev 1.09: (CS + 1) / 32 of full scale, whatever the torque.
    """

    sense_use: ClassVar[SenseUse] = SenseUse.NEEDED
    has_gain: ClassVar[bool] = True
    scales: ClassVar[int] = 32  # CS counts 0 to 31

    factor: float
    vref_max_volt: float = 2.5

    @property
    def symbols(self) -> str:
        return f"peak = {self.factor:g} VREF / (Rs + {SENSE_PATH_OHM:g} ohm)"

    @property
    def full_scale_volt(self) -> float:
        return self.vref_max_volt

    def ampere_per_volt(self, sense_ohm: float | None, torque: float = 1.0) -> float:
        return _over(self.factor * torque, sense_ohm, SENSE_PATH_OHM)

    def means_for(self, peak_ampere: float, sense_ohm: float | None, torque: float = 1.0) -> Means:
        share = min(peak_ampere / (self.vref_max_volt * self.ampere_per_volt(sense_ohm)), 1.0)
        scale = max(math.floor(share * _ROUNDING * self.scales) - 1, 0)
        return Means(vref_volt=peak_ampere / self.ampere_per_volt(sense_ohm, torque), register=(("CS", scale),))

    def peak_of(self, means: Means, sense_ohm: float | None, torque: float = 1.0) -> float:
        if means.vref_volt is None:
            share = (dict(means.register)["CS"] + 1) / self.scales
            return share * self.vref_max_volt * self.ampere_per_volt(sense_ohm)
        return min(means.vref_volt, self.vref_max_volt) * self.ampere_per_volt(sense_ohm, torque)


@dataclass(frozen=True, slots=True)
class VrefAlone(SetByReference):
    """VREF_ONLY: peak = factor VREF, the sense resistor being inside the chip."""

    factor: float

    @property
    def symbols(self) -> str:
        return f"peak = {self.factor:g} A/V x VREF"

    def ampere_per_volt(self, sense_ohm: float | None, torque: float = 1.0) -> float:
        return self.factor * torque


@dataclass(frozen=True, slots=True)
class ResistorOnPin(SetByResistor):
    """RSET: peak = factor / R_ISET in kilohm."""

    factor: float

    @property
    def symbols(self) -> str:
        return f"peak = {self.factor:g} kilohm A / R_ISET"

    def means_for(self, peak_ampere: float, sense_ohm: float | None, torque: float = 1.0) -> Means:
        return Means(set_resistor_ohm=1000.0 * self.factor / peak_ampere)

    def peak_of(self, means: Means, sense_ohm: float | None, torque: float = 1.0) -> float:
        assert means.set_resistor_ohm is not None
        return 1000.0 * self.factor / means.set_resistor_ohm


@dataclass(frozen=True, slots=True)
class FixedOverSense(SetBySense):
    """FIXED_RS: peak = factor volts / Rs."""

    factor: float

    @property
    def symbols(self) -> str:
        return f"peak = {self.factor:g} V / Rs"

    def means_for(self, peak_ampere: float, sense_ohm: float | None, torque: float = 1.0) -> Means:
        return Means(wanted_sense_ohm=self.factor * torque / peak_ampere)

    def peak_of(self, means: Means, sense_ohm: float | None, torque: float = 1.0) -> float:
        return _over(self.factor * torque, means.wanted_sense_ohm if sense_ohm is None else sense_ohm)


@dataclass(frozen=True, slots=True)
class RegisterSteps(SetByRegister):
    """REG: peak = (TVAL + 1) factor, TVAL 0 to 127; ST L6474 DocID022529."""

    top: ClassVar[int] = 127

    factor: float

    @property
    def symbols(self) -> str:
        return f"peak = (TVAL + 1) x {self.factor:g} A"

    def means_for(self, peak_ampere: float, sense_ohm: float | None, torque: float = 1.0) -> Means:
        code = min(math.floor(peak_ampere / self.factor * _ROUNDING) - 1, self.top)
        if code < 0:
            raise NotEnoughKnown(f"its register goes no lower than {self.factor:g} A, {peak_ampere:g} A was asked")
        return Means(register=(("TVAL", code),))

    def peak_of(self, means: Means, sense_ohm: float | None, torque: float = 1.0) -> float:
        return (dict(means.register)["TVAL"] + 1) * self.factor

    def full_scale_ampere(self, sense_ohm: float | None, torque: float = 1.0) -> float | None:
        return (self.top + 1) * self.factor


@dataclass(frozen=True, slots=True)
class RegisterOverSense(SetByRegister):
    """REG_RS: peak = GS/256 (CS + 1)/32 factor volts / Rs, GS 32 to 256, CS 0 to 31; TMC5160 Rev 1.18."""

    sense_use: ClassVar[SenseUse] = SenseUse.NEEDED
    scales: ClassVar[int] = 32
    whole: ClassVar[int] = 256
    least_global: ClassVar[int] = 32

    factor: float

    @property
    def symbols(self) -> str:
        return f"peak = (GS / {self.whole}) x ((CS + 1) / {self.scales}) x {self.factor:g} V / Rs"

    def means_for(self, peak_ampere: float, sense_ohm: float | None, torque: float = 1.0) -> Means:
        share = min(peak_ampere / self.full_scale_ampere(sense_ohm), 1.0) * _ROUNDING
        # The global scale first: it keeps all 32 steps of the current scale for the motor's own states.
        whole = math.floor(share * self.whole)
        if whole >= self.least_global:
            return Means(register=(("GS", whole), ("CS", self.scales - 1)))
        scale = max(math.floor(share * self.whole / self.least_global * self.scales) - 1, 0)
        return Means(register=(("GS", self.least_global), ("CS", scale)))

    def peak_of(self, means: Means, sense_ohm: float | None, torque: float = 1.0) -> float:
        codes = dict(means.register)
        share = codes["GS"] / self.whole * (codes["CS"] + 1) / self.scales
        return share * self.full_scale_ampere(sense_ohm)

    def full_scale_ampere(self, sense_ohm: float | None, torque: float = 1.0) -> float:
        return _over(self.factor, sense_ohm)


@dataclass(frozen=True, slots=True)
class SupplyOverResistance(NotSet):
    """LR: no current control, supply over resistance."""

    regulates: ClassVar[bool] = False

    @property
    def symbols(self) -> str:
        return "current = (supply - drops) / (coil + series resistor)"

    def means_for(self, peak_ampere: float, sense_ohm: float | None, torque: float = 1.0) -> Means:
        return Means()

    def peak_of(self, means: Means, sense_ohm: float | None, torque: float = 1.0) -> float:
        raise InputProblem("nothing on the board sets the current", remedy="measure it in the common lead")


@dataclass(frozen=True, slots=True)
class NotFound(NotSet):
    """UNKNOWN: the formula stands in no document found."""

    known: ClassVar[bool] = False

    @property
    def symbols(self) -> str:
        return ""

    def means_for(self, peak_ampere: float, sense_ohm: float | None, torque: float = 1.0) -> Means:
        raise _not_found()

    def peak_of(self, means: Means, sense_ohm: float | None, torque: float = 1.0) -> float:
        raise _not_found()


FORMULAS: Mapping[str, type[Formula]] = {
    "VREF_RS": VrefOverSense,
    "VREF_OFFSET_RS": OffsetVrefOverSense,
    "VREF_RS20": VrefOverSensePath,
    "VREF_ONLY": VrefAlone,
    "RSET": ResistorOnPin,
    "FIXED_RS": FixedOverSense,
    "REG": RegisterSteps,
    "REG_RS": RegisterOverSense,
    "LR": SupplyOverResistance,
    "UNKNOWN": NotFound,
}


def _not_found() -> NotEnoughKnown:
    return NotEnoughKnown("the formula was not found", remedy="look for its gain in its data sheet")


def _over(volt: float, sense_ohm: float | None, path_ohm: float = 0.0) -> float:
    assert sense_ohm is not None
    return volt / (sense_ohm + path_ohm)


def _gain_and_sense(factor: float) -> str:
    gain = f"{1 / factor:.6g}"
    return "Rs" if gain == "1" else f"({gain} Rs)"
