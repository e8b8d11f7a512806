"""The form of what there is to say about a driver setting, and what it is judged from."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum
from typing import Literal

from coilbench.driver.chip import Chip, Setting
from coilbench.driver.heat import Heat

Asked = Literal["rated", "peak", "rms", "measured", "fixed"]


class Weight(IntEnum):
    """How serious a finding is; the lower, the sooner it is said."""

    STOP = 0  # damage, or it can't work
    WARN = 1  # it works worse than it looks
    NOTE = 2


@dataclass(frozen=True, slots=True)
class Finding:
    """A fact, what follows from it, and what to do about it. ``subject`` is one of the few fixed words."""

    weight: Weight
    subject: str
    fact: str
    consequence: str = ""
    remedy: str = ""

    @property
    def text(self) -> str:
        """All three in one line."""
        return "; ".join(part for part in (self.fact, self.consequence, self.remedy) if part)


@dataclass(frozen=True, slots=True)
class Withheld:
    """A finding that could not be made, and why."""

    subject: str
    why: str


@dataclass(frozen=True, slots=True)
class Series:
    """Resistors fitted to a driver without current control: ``ohm`` each. ``shared`` is one in the only common lead
    of a five-lead motor, which both phases' current passes; otherwise a phase has its own, in its common lead or one
    in each of its end leads."""

    ohm: float
    shared: bool = False

    @property
    def phase_ohm(self) -> float:
        """What each phase sees with two phases on."""
        return self.ohm * (2 if self.shared else 1)


@dataclass(frozen=True, slots=True)
class Situation:
    """A setting with what is known of the supply, the coil in the connection chosen and the way it is driven.

    ``asked`` says what the setting came from; ``rated_ampere`` is the motor's rating as connected, RMS with two
    phases on, None where it has none. ``made_for_volt`` is the winding's own voltage, where a label or the person
    tells it. ``clamp_volt`` is that of a zener in the clamp's lead, zero for the diodes alone.
    """

    setting: Setting
    supply_volt: float | None = None
    coil_ohm: float | None = None
    inductance_henry: float | None = None
    microsteps: int | None = None
    full_step: bool = False
    logic_volt: float | None = None
    connection: str | None = None  # as the connection stage names it: half-coil, series, parallel, unipolar, bipolar
    half_winding: bool = False  # current and coil are those of one half-winding, no connection is chosen
    ambient_celsius: float = 40.0  # inside a case, as standards on heating of electronics and motors take it
    asked: Asked = "peak"
    rated_ampere: float | None = None
    made_for_volt: float | None = None
    leads: int | None = None
    series: Series | None = None
    clamp_volt: float | None = None
    sink_kelvin_per_watt: float | None = None  # of a heat sink fitted
    off_parts: tuple[float, float] | None = None  # ohm and farad that set the chip's off time, where they were told

    @property
    def chip(self) -> Chip:
        return self.setting.chip

    @property
    def steps(self) -> int:
        """Microsteps to a full step in use: as said, one in full step, else the finest the chip has by its pins."""
        if self.full_step:
            return 1
        return self.microsteps or max(self.chip.microsteps, default=1)

    @property
    def running_rms_ampere(self) -> float:
        """Per coil over a cycle: the sine's, or in full step the standing current."""
        ratio = self.chip.full_step_ratio
        if not self.chip.formula.regulates:
            return self.setting.peak_ampere  # on is on: there is no sine
        if self.steps == 1:
            return self.setting.peak_ampere * (1.0 if ratio is None else ratio)
        return self.setting.rms_ampere


@dataclass(frozen=True, slots=True)
class Judgement:
    """All there is to say, most serious first, with the figures it rests on (None: not known).

    ``carried_ampere`` is the peak that the chip carries for good as it is cooled; ``hotter`` the setting up to which
    a motor that keeps turning gets no warmer than its rating.
    """

    findings: tuple[Finding, ...] = ()
    withheld: tuple[Withheld, ...] = ()
    reach_ampere: float | None = None
    floor_ampere: float | None = None
    floor_peak_ampere: float | None = None
    falling_floor_ampere: float | None = None
    smallest_step_ampere: float | None = None
    quiet_mode_ampere: float | None = None
    heat: Heat | None = None
    carried_ampere: float | None = None
    hotter: Setting | None = None
    range_ampere: tuple[float, float] = (0.0, 0.0)

    @property
    def stops(self) -> tuple[Finding, ...]:
        """The findings that forbid the setting: it is not to be set, and how is not said."""
        return tuple(each for each in self.findings if each.weight is Weight.STOP)


@dataclass(slots=True)
class Notebook:
    """Collects findings while a situation is gone through."""

    findings: list[Finding] = field(default_factory=list)
    withheld: list[Withheld] = field(default_factory=list)

    def add(self, weight: Weight, subject: str, fact: str, consequence: str = "", remedy: str = "") -> None:
        self.findings.append(Finding(weight, subject, fact, consequence, remedy))

    def withhold(self, subject: str, why: str) -> None:
        self.withheld.append(Withheld(subject, why))
