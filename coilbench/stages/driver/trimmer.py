"""The trimmer, live: what the voltage at the reference pin means now, and which way to turn.

Texts and marks for a screen and for plain lines alike; nothing here waits or reads.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from coilbench.board.session.voltmeter import BANDGAP_SHARE, PinVolt
from coilbench.driver.chip import Means
from coilbench.driver.reference_voltage import METER_FRACTION, METER_VOLT, current_range
from coilbench.errors import InputProblem
from coilbench.quantity import QuantityError, format_quantity, parse_quantity
from coilbench.stages.driver.answer import DriverAnswer

Turn = Literal["up", "down", "hold", "slip", "over"]

BAND = 0.03  # of the target: what is less is lost in the chip's own tolerance
HOLD_UPDATES = 5  # half a second in the band
DONE_UPDATES = 20
SCALE_TARGETS = 2.0  # the needle's scale ends at so many targets
_ZERO_SHARE = 0.05  # of the target: nothing is left
_JUMP_SHARE = 0.5  # of the target, between two readings: faster than a hand turns
_SUPPLY_ERROR = 0.003  # of a reading against the supply, whose mean follows slowly
_LEAST_TO_CALIBRATE_VOLT = 0.2  # under that a meter's last digits weigh too much
_CALIBRATED_AT_VOLT = 0.5  # as a rule
_MEAN_OF = 10
_NO_TELLING = 0.3
_LEAST_AMPERE = 0.002  # less is none

WORDS: dict[Turn, str] = {
    "up": "turn up ▲",
    "down": "turn down ▼",
    "hold": "hold ■",
    "slip": "slipped !",
    "over": "too high !",
}
PLAIN: dict[Turn, str] = {
    "up": "turn up",
    "down": "turn down",
    "hold": "hold",
    "slip": "slipped",
    "over": "too high",
}
WIRING = (
    "a wire from reference pin or trimmer's wiper to {pin}, by 1 kohm",
    "the board's GND to the driver's logic ground, no other wire between",
    "motor unplugged; never more than the board's own supply on the pin",
)


@dataclass(frozen=True, slots=True)
class Needle:
    """Where it stands. ``place`` and ``band`` are shares of the scale, 0 to 1, ``place`` held at its ends.

    ``rings`` once as it comes to rest in the band, ``done`` when it has stood there for two seconds.
    """

    volt: float
    peak_ampere: float
    turn: Turn
    says: str
    place: float
    band: tuple[float, float]
    error_share: float
    rings: bool = False
    done: bool = False

    @property
    def shown(self) -> tuple[str, str]:
        """The voltage and the current it means."""
        ampere = "0 A" if self.peak_ampere < _LEAST_AMPERE else format_quantity(self.peak_ampere, "ampere", 3)
        return format_quantity(self.volt, "volt", 3), f"{ampere} peak"


@dataclass
class LiveTrimmer:
    """Readings in, where the needle stands out. ``calibrated``: the board was held against a meter once. Raises
    InputProblem for a chip whose trimmer tells nothing so."""

    answer: DriverAnswer
    calibrated: bool = False
    _before: float | None = None
    _slipped: bool = False
    _held: int = 0
    _raw: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        situation = self.answer.situation
        assert situation is not None
        setting = self._setting = situation.setting
        if not setting.chip.formula.has_vref or setting.vref_volt is None:
            formula = setting.chip.formula_text or "it has no reference pin"
            raise InputProblem(
                f"no voltage at a trimmer tells the current of {setting.chip.chip}: {formula}",
                remedy="`coilbench vref` says what is set instead",
            )
        self.target_volt = setting.vref_volt

    @property
    def band_volt(self) -> tuple[float, float]:
        """Between which it may stand."""
        return self.target_volt * (1 - BAND), self.target_volt * (1 + BAND)

    @property
    def needs_motor_supply(self) -> bool:
        """The chip makes its reference from the motor supply."""
        return self._setting.chip.vref_needs_supply == "yes"

    def check_supply(self, supply_volt: float) -> None:
        """Raises InputProblem for a target that the board's own supply (volt) doesn't reach."""
        if self.band_volt[1] > supply_volt:
            raise InputProblem(
                f"VREF {format_quantity(self.target_volt, 'volt', 3)} is above the board's own supply of "
                f"{format_quantity(supply_volt, 'volt', 3)}: more than that at its pin kills it",
                remedy="set this one with a meter",
            )

    def feed(self, reading: PinVolt) -> Needle:
        """The next reading."""
        volt = reading.volt
        self._raw = [*self._raw, volt][-_MEAN_OF:]
        turn = self._turn(volt, at_top=reading.at_top)
        if turn in ("slip", "over"):
            self._raw.clear()
        self._before = volt
        self._held = self._held + 1 if turn == "hold" else 0
        end = SCALE_TARGETS * self.target_volt
        low, high = self.band_volt
        formula = self._setting.chip.formula
        return Needle(
            volt=volt,
            peak_ampere=formula.peak_of(Means(vref_volt=volt), self._setting.sense_ohm, self._setting.torque),
            turn=turn,
            says=self._says(turn, reading),
            place=min(max(volt / end, 0.0), 1.0),
            band=(low / end, high / end),
            error_share=self.error_share(volt, reading),
            rings=self._held == HOLD_UPDATES,
            done=self._held >= DONE_UPDATES,
        )

    def _turn(self, volt: float, *, at_top: bool) -> Turn:
        low, high = self.band_volt
        if at_top:
            self._slipped = True
            return "over"
        near_zero = volt < _ZERO_SHARE * self.target_volt
        full = self._setting.chip.trimmer_full_volt
        near_full = full is not None and volt > (1 - _ZERO_SHARE) * full
        jumped = self._before is not None and abs(volt - self._before) > _JUMP_SHARE * self.target_volt
        if (near_zero or near_full) and (jumped or self._slipped):
            self._slipped = True
            return "slip"
        self._slipped = False
        return "up" if volt < low else "down" if volt > high else "hold"

    def _says(self, turn: Turn, reading: PinVolt) -> str:
        if turn == "over":
            supply = format_quantity(reading.supply_volt, "volt", 3)
            return f"at the board's own {supply} or above: take the wire off the pin"
        if turn == "slip":
            return "it jumped: the blade or wire slipped, or the supply went; look first"
        if turn == "hold":
            return "in the band: take the blade off, and see that it stays"
        return f"slowly, to {format_quantity(self.target_volt, 'volt', 3)}"

    # How good it is

    def error_share(self, volt: float, reading: PinVolt) -> float:
        """How far the reading may be off, a share of it."""
        step = reading.step_volt / max(volt, reading.step_volt)
        if not self.calibrated:
            return BANDGAP_SHARE + step
        return METER_FRACTION + METER_VOLT / _CALIBRATED_AT_VOLT + _SUPPLY_ERROR + step

    @property
    def tolerance_share(self) -> float:
        """How far the current may be off the formula, by chip and sense resistor, a share of it."""
        low, high = current_range(self._setting)
        return (high - low) / (2 * self._setting.peak_ampere)

    def accuracy(self, needle: Needle) -> str:
        """How good the reading is, beside what matters."""
        ours, driver = f"{100 * needle.error_share:.2g} %", f"{100 * self.tolerance_share:.2g} %"
        if needle.error_share > _NO_TELLING:
            return "too low to be read well"
        finer = "" if self.calibrated else "; your meter makes it finer"
        return f"read to {ours}, driver's error {driver}{finer}"

    def calibrate(self, meter_text: str) -> float:
        """What the board's readings are to be multiplied by, for what the person's meter shows at the same pin now.
        Raises InputProblem."""
        try:
            told = parse_quantity(meter_text, "volt", bare=True)
        except QuantityError as problem:
            raise InputProblem(problem.happened, remedy="type what your meter shows, such as 0.412 V") from None
        if len(self._raw) < _MEAN_OF or max(self._raw) - min(self._raw) > BAND * max(self._raw):
            raise InputProblem(
                "the voltage has just moved", remedy="leave the trimmer alone for two seconds, then type it"
            )
        mean = sum(self._raw) / len(self._raw)
        if told < _LEAST_TO_CALIBRATE_VOLT:
            raise InputProblem(
                f"{format_quantity(told, 'volt', 3)} is too little to go by",
                remedy="turn it up to 0.2 V or more first",
            )
        return told / mean

    def told_by_meter(self) -> None:
        """The board goes by the meter from here on."""
        self.calibrated = True
        self._raw.clear()
