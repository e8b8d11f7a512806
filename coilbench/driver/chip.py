"""One driver chip as its documents describe it, a setting of it, and what every current formula can be asked."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass
from enum import Enum
from typing import ClassVar, Literal

CurrentKind = Literal["peak", "rms"]
CooledBy = Literal["board", "chip"]
Codes = tuple[tuple[str, int], ...]
SQRT2 = math.sqrt(2.0)


class SenseUse(Enum):
    """What a sense resistor is to a formula."""

    UNUSED = "unused"
    NEEDED = "needed"  # the current can't be worked out without it
    DECIDES = "decides"  # it alone sets the current, and may be chosen to suit


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do; ``caution`` belongs right beside it."""

    act: str
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Means:
    """What is set to bring a current about; None or empty where the chip has no such means."""

    vref_volt: float | None = None
    set_resistor_ohm: float | None = None
    wanted_sense_ohm: float | None = None
    register: Codes = ()


class Formula(ABC):
    """How the peak current (the chopping level at the 100 % step) follows from what is set.

    An instance holds one chip's figures: its dataclass fields are the columns it takes from the chip's row.
    """

    __slots__ = ()
    sense_use: ClassVar[SenseUse] = SenseUse.UNUSED
    known: ClassVar[bool] = True
    regulates: ClassVar[bool] = True  # the chip chops; otherwise supply and resistance alone hold the current
    has_vref: ClassVar[bool] = False  # a voltage on a pin sets the current
    has_set_resistor: ClassVar[bool] = False  # a resistor on a pin sets the current
    has_gain: ClassVar[bool] = False  # documents print 1/factor as a gain
    differs_because: ClassVar[str] = ""  # why another current than the one asked can flow; empty: it can't
    below_range: ClassVar[str] = "the current is less exact than the chip can do"  # under the least reference

    @property
    @abstractmethod
    def symbols(self) -> str:
        """The formula as a document would print it."""

    @abstractmethod
    def means_for(self, peak_ampere: float, sense_ohm: float | None, torque: float = 1.0) -> Means:
        """What to set for ``peak_ampere``. ``torque`` is the share chosen by torque pins, 0 to 1.

        Raises NotEnoughKnown for a current that the chip can't be set to.
        """

    @abstractmethod
    def peak_of(self, means: Means, sense_ohm: float | None, torque: float = 1.0) -> float:
        """The peak ampere that ``means`` gives. Raises InputProblem where nothing is set."""

    @property
    def full_scale_volt(self) -> float | None:
        """The reference above which the current rises no more; None where the formula has no such end."""
        return None

    def full_scale_ampere(self, sense_ohm: float | None, torque: float = 1.0) -> float | None:
        """The most peak ampere that can be set; None where the formula has no end of its own."""
        return None

    def can_be_changed(self, setting: Setting) -> bool:
        """Whether another current can be set on the board as it is."""
        return True

    @abstractmethod
    def means_text(self, setting: Setting) -> str:
        """The one thing to set, in a few words; empty when there is nothing to set."""

    @abstractmethod
    def means_rows(self, setting: Setting, trimmer_volt: float | None) -> list[tuple[str, str]]:
        """What to set, as rows of name and value. ``trimmer_volt`` is the voltage at the trimmer's far end."""

    @abstractmethod
    def means_steps(self, setting: Setting) -> list[Step]:
        """What to do on the board, in order, to set it."""


@dataclass(frozen=True, slots=True)
class Chip:
    """A row of the chip table. None or an empty text: not found in a document, so nothing may rest on it."""

    chip: str
    formula: Formula
    motor: str = "bipolar"
    formula_text: str = ""
    vref_min_volt: float | None = None
    vref_max_volt: float | None = None
    max_ampere: float | None = None
    max_kind: CurrentKind = "peak"
    supply_min_volt: float | None = None
    supply_max_volt: float | None = None
    blank_us: float | None = None
    off_us: float | None = None
    chop_khz: float | None = None
    full_step_ratio: float | None = None
    microsteps: tuple[int, ...] = ()
    cool_free_ampere: float | None = None
    cool_free_kind: CurrentKind = "peak"
    carrier_sense_ohm: tuple[float, ...] = ()
    internal_sense_ohm: float | None = None
    bridge_ohm: float | None = None
    bridge_max_ohm: float | None = None
    drop_volt: float | None = None
    thermal_kelvin_per_watt: float | None = None
    thermal_on: CooledBy = "board"
    idle_milliampere: float | None = None
    junction_max_celsius: float | None = None
    accuracy_percent: float | None = None
    decay: str = ""
    fast_fraction: float | None = None
    decay_note: str = ""
    torque_percent: tuple[float, ...] = ()
    least_ampere: float | None = None
    quiet_mode_duty: float | None = None
    logic_high_volt: float | None = None
    logic_note: str = ""
    vref_needs_supply: str = "unknown"
    vref_source: str = ""
    trimmer_full_volt: float | None = None
    status: str = "memory"
    memory: tuple[str, ...] = ()
    document: str = ""
    conflict: str = ""
    note: str = ""
    off_rc: float | None = None  # its off time, or its period where that is fixed, over R times C that set it

    @property
    def verified(self) -> bool:
        """Whether the current formula was read in a document of this very chip."""
        return self.status == "verified"

    def from_memory(self, field: str) -> bool:
        """Whether the figure in ``field`` was not read in a document."""
        return "all" in self.memory or any(each.split(":")[0] == field for each in self.memory)

    @property
    def sense_inside(self) -> bool:
        """Whether the sense resistor is in the chip, its value found or not."""
        return self.internal_sense_ohm is not None or "inside" in self.formula_text

    @property
    def needs_sense(self) -> bool:
        """Whether the current depends on a sense resistor that is not inside the chip."""
        return not self.sense_inside and self.formula.sense_use is not SenseUse.UNUSED

    @property
    def sense_decides(self) -> bool:
        """Whether the sense resistor alone sets the current."""
        return self.formula.sense_use is SenseUse.DECIDES

    @property
    def most_peak_ampere(self) -> float | None:
        """The chip's limit as a peak: an RMS limit stands for a sine."""
        if self.max_ampere is None:
            return None
        return self.max_ampere * (SQRT2 if self.max_kind == "rms" else 1.0)

    @property
    def blank_second(self) -> float | None:
        return None if self.blank_us is None else self.blank_us * 1e-6

    def off_second(self) -> float | None:
        """Off time at the floor: the fixed one, or what blanking leaves of a fixed period."""
        if self.off_us is not None:
            return self.off_us * 1e-6
        if self.chop_khz is None or self.blank_us is None:
            return None
        return max(1e-3 / self.chop_khz - self.blank_us * 1e-6, 0.0)


@dataclass(frozen=True, slots=True)
class Setting:
    """A driver set to a current. Currents in ampere per coil.

    ``peak_ampere`` is the chopping level at the 100 % step; ``asked_ampere`` the peak that was wanted, which
    differs where the hardware fixes the current or a register has steps.
    """

    chip: Chip
    sense_ohm: float | None
    peak_ampere: float
    asked_ampere: float
    means: Means = Means()
    torque: float = 1.0

    @property
    def vref_volt(self) -> float | None:
        """At the reference pin; None where no voltage sets the current."""
        return self.means.vref_volt

    @property
    def rms_ampere(self) -> float:
        """Of the sine that microstepping makes."""
        return self.peak_ampere / SQRT2

    @property
    def full_step_ampere(self) -> float | None:
        """In each of the two coils in full step; None where the chip's ratio is not known."""
        ratio = self.chip.full_step_ratio
        return None if ratio is None else self.peak_ampere * ratio
