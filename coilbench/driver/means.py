"""What is set on a board or in a chip, and the words for it: one base class of formulas for each such means."""

from __future__ import annotations

from abc import abstractmethod
from typing import ClassVar

from coilbench.driver.chip import Chip, Formula, Means, SenseUse, Setting, Step
from coilbench.driver.figure_text import amps, ohms, volts


class SetByReference(Formula):
    """A voltage at the reference pin sets the current: peak = (VREF - zero) x ampere per volt, up to full scale."""

    __slots__ = ()
    has_vref: ClassVar[bool] = True

    @abstractmethod
    def ampere_per_volt(self, sense_ohm: float | None, torque: float = 1.0) -> float:
        """Ampere of peak per volt over ``zero_volt``."""

    @property
    def zero_volt(self) -> float:
        """The reference at which the formula gives no current."""
        return 0.0

    def means_for(self, peak_ampere: float, sense_ohm: float | None, torque: float = 1.0) -> Means:
        return Means(vref_volt=self.zero_volt + peak_ampere / self.ampere_per_volt(sense_ohm, torque))

    def peak_of(self, means: Means, sense_ohm: float | None, torque: float = 1.0) -> float:
        assert means.vref_volt is not None
        top = self.full_scale_volt
        in_force = means.vref_volt if top is None else min(means.vref_volt, top)
        return max(in_force - self.zero_volt, 0.0) * self.ampere_per_volt(sense_ohm, torque)

    def full_scale_ampere(self, sense_ohm: float | None, torque: float = 1.0) -> float | None:
        top = self.full_scale_volt
        return None if top is None else self.peak_of(Means(vref_volt=top), sense_ohm, torque)

    def means_text(self, setting: Setting) -> str:
        return f"VREF {volts(_vref(setting))}"

    def means_rows(self, setting: Setting, trimmer_volt: float | None) -> list[tuple[str, str]]:
        vref, full = _vref(setting), trimmer_volt or setting.chip.trimmer_full_volt
        turn = ""
        if full is not None and vref <= full:
            turn = f"  ({vref / full:.0%} of a trimmer that ends at {volts(full)})"
        rows = [("VREF", volts(vref) + turn)]
        if setting.means.register:
            rows.append(("or by register", _codes(setting, " ")))
        return rows

    def means_steps(self, setting: Setting) -> list[Step]:
        return [
            Step(
                "turn the trimmer to its low end; on most boards that is anticlockwise, but not on all: "
                "watch the meter"
            ),
            Step(_power_for_reference(setting.chip), "check the supply's polarity first"),
            Step(
                "meter on DC volts: black probe on logic ground, red on the trimmer's wiper or the reference pin",
                "a probe that slips from a pin to its neighbour can kill the chip",
            ),
            Step(
                "turn the trimmer slowly with an insulated screwdriver until the meter shows "
                + volts(_vref(setting)),
                "a metal blade can short the trimmer's body",
            ),
        ]


class SetByResistor(Formula):
    """A resistor from a pin to ground sets the current."""

    __slots__ = ()
    has_set_resistor: ClassVar[bool] = True

    def means_text(self, setting: Setting) -> str:
        return f"set resistor {_set_resistor(setting)}"

    def means_rows(self, setting: Setting, trimmer_volt: float | None) -> list[tuple[str, str]]:
        return [("set resistor", _set_resistor(setting))]

    def means_steps(self, setting: Setting) -> list[Step]:
        fit = f"with the power off, fit {_set_resistor(setting)} from the chip's set pin to ground"
        return [Step(f"{fit}; a trimmer there is set by its resistance, not by a voltage")]


class SetBySense(Formula):
    """The sense resistor alone sets the current: one that is fitted fixes it, otherwise one is chosen for it."""

    __slots__ = ()
    sense_use: ClassVar[SenseUse] = SenseUse.DECIDES
    differs_because: ClassVar[str] = "its sense resistor fixes the current"

    def can_be_changed(self, setting: Setting) -> bool:
        return setting.sense_ohm is None

    def means_text(self, setting: Setting) -> str:
        return "" if setting.sense_ohm is not None else f"sense resistors {_wanted_sense(setting)}"

    def means_rows(self, setting: Setting, trimmer_volt: float | None) -> list[tuple[str, str]]:
        return [] if setting.sense_ohm is not None else [("sense to fit", _wanted_sense(setting))]

    def means_steps(self, setting: Setting) -> list[Step]:
        if setting.sense_ohm is not None:
            fixed = f"{ohms(setting.sense_ohm)} gives {amps(setting.peak_ampere)}"
            return [Step(f"nothing to trim: {fixed}; the torque pins choose a share of it")]
        fit = f"with the power off, fit sense resistors of {_wanted_sense(setting)}, rated for the heat"
        return [Step(f"{fit}; nothing else sets the current")]


class SetByRegister(Formula):
    """Codes written into the chip's registers set the current, in steps."""

    __slots__ = ()
    differs_because: ClassVar[str] = "its register has steps"

    def means_text(self, setting: Setting) -> str:
        return _codes(setting, " = ")

    def means_rows(self, setting: Setting, trimmer_volt: float | None) -> list[tuple[str, str]]:
        return [("register", _codes(setting, " "))]

    def means_steps(self, setting: Setting) -> list[Step]:
        return [Step(f"write {_codes(setting, ' = ')} into the chip's registers before it is enabled")]


class NotSet(Formula):
    """Nothing on the board sets the current."""

    __slots__ = ()

    def can_be_changed(self, setting: Setting) -> bool:
        return False

    def means_text(self, setting: Setting) -> str:
        return ""

    def means_rows(self, setting: Setting, trimmer_volt: float | None) -> list[tuple[str, str]]:
        return []

    def means_steps(self, setting: Setting) -> list[Step]:
        return []


def _vref(setting: Setting) -> float:
    assert setting.means.vref_volt is not None
    return setting.means.vref_volt


def _set_resistor(setting: Setting) -> str:
    assert setting.means.set_resistor_ohm is not None
    return ohms(setting.means.set_resistor_ohm)


def _wanted_sense(setting: Setting) -> str:
    assert setting.means.wanted_sense_ohm is not None
    return ohms(setting.means.wanted_sense_ohm)


def _codes(setting: Setting, between: str) -> str:
    return ", ".join(f"{name}{between}{code}" for name, code in setting.means.register)


def _power_for_reference(chip: Chip) -> str:
    if chip.vref_needs_supply == "yes":
        return "motor still unplugged, switch on the motor supply: this chip makes its reference from it"
    if chip.vref_needs_supply == "no":
        return "motor still unplugged, switch on the logic supply alone: the reference comes from it"
    return "motor still unplugged, switch on the logic supply; if the reference reads zero, the motor supply too"
