"""One driver chip as its documents describe it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Formula = Literal["VREF_RS", "VREF_RS20", "VREF_ONLY", "RSET", "FIXED_RS", "REG", "LR", "UNKNOWN"]
"""How the peak current (the chopping level at the 100 % step) follows from what is set; k is ``factor``.

VREF_RS: k VREF / Rs. VREF_RS20: k VREF / (Rs + 20 milliohm inside the chip). VREF_ONLY: k VREF.
RSET: k / R_ISET in kilohm. FIXED_RS: k volts / Rs. REG: written into registers. LR: no current control,
supply over resistance. UNKNOWN: not found.
"""
FORMULAS: tuple[Formula, ...] = get_args(Formula)

CurrentKind = Literal["peak", "rms"]
SENSE_PATH_OHM = 0.020  # inside VREF_RS20 chips, between their pin and the comparator


@dataclass(frozen=True, slots=True)
class Chip:
    """A row of the chip table. None or an empty text: not found in a document, so nothing may rest on it."""

    chip: str
    motor: str = "bipolar"
    formula: Formula = "UNKNOWN"
    factor: float | None = None
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

    @property
    def verified(self) -> bool:
        """Whether the current formula was read in a document of this very chip."""
        return self.status == "verified"

    def from_memory(self, field: str) -> bool:
        """Whether the figure in ``field`` was not read in a document."""
        return "all" in self.memory or any(each.split(":")[0] == field for each in self.memory)

    @property
    def has_vref(self) -> bool:
        """Whether a voltage on a pin sets the current."""
        return self.formula in ("VREF_RS", "VREF_RS20", "VREF_ONLY")

    @property
    def needs_sense(self) -> bool:
        """Whether the current depends on a sense resistor that is not inside the chip."""
        return self.internal_sense_ohm is None and (
            self.formula in ("VREF_RS", "VREF_RS20", "FIXED_RS")
            or (self.formula == "REG" and bool(self.carrier_sense_ohm))
        )

    @property
    def most_peak_ampere(self) -> float | None:
        """The chip's limit as a peak: an RMS limit stands for a sine."""
        if self.max_ampere is None:
            return None
        return self.max_ampere * (2**0.5 if self.max_kind == "rms" else 1.0)

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
