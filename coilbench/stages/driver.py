"""The driver: what to set it to for the motor's current, and whether it can do it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, ClassVar

from coilbench.errors import InputProblem
from coilbench.records.own_chips import own_chips
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.stages import motor
from coilbench.stages.fitness import check_usable, fitness_of
from coilbench.stages.form import Answer, Field, FieldProblem, FormStage, Missing, Texts
from coilbench.stages.stage import Known

if TYPE_CHECKING:
    from coilbench.driver.chip import Chip, Setting
    from coilbench.driver.finding import Judgement, Situation

FULL_STEP = "full"  # typed in place of a number of microsteps
USUAL_AIR_CELSIUS = 40.0
_CURRENT_RANGE_AMPERE = (0.001, 20.0)
_SENSE_RANGE_OHM = (0.001, 20.0)
_VREF_RANGE_VOLT = (0.001, 12.0)
_AIR_RANGE_CELSIUS = (-60.0, 150.0)
_WHOLE = ("VREF", "smallest")  # rows whose remarks belong beside the work, too


@dataclass(frozen=True)
class DriverAnswer(Answer):
    """The setting and what was found about it."""

    situation: Situation | None = None
    judgement: Judgement | None = None
    trimmer_volt: float | None = None

    @property
    def can_be_set(self) -> bool:
        """Whether nothing says stop."""
        return self.judgement is not None and not self.judgement.stops

    @property
    def chip(self) -> str:
        """The chip's name."""
        assert self.situation is not None
        return self.situation.chip.chip

    def sense_unused(self, typed: str | None) -> bool:
        """Whether a sense resistor was typed that this chip's current does not depend on."""
        assert self.situation is not None
        return bool(typed) and self.situation.setting.sense_ohm is None

    @property
    def headline(self) -> str:
        """The one thing to set, in a line."""
        from coilbench.driver.report import headline

        assert self.situation is not None and self.judgement is not None
        return headline(self.situation, self.judgement)

    @property
    def findings(self) -> list[str]:
        """One line a finding, most serious first."""
        from coilbench.driver.report import finding_lines

        assert self.judgement is not None
        return finding_lines(self.judgement)

    @property
    def to_do(self) -> tuple[str, list[str]]:
        """A heading and what to do; where it says stop, what to change first."""
        from coilbench.driver.report import to_do

        assert self.situation is not None and self.judgement is not None
        return to_do(self.situation, self.judgement)

    @property
    def rows(self) -> list[tuple[str, str]]:
        """The figures of the setting as names and values, the chip first."""
        from coilbench.driver.report import set_rows

        assert self.situation is not None and self.judgement is not None
        return set_rows(self.situation, self.judgement, self.trimmer_volt)

    def as_json(self) -> dict[str, Any]:
        """The answer as one JSON-plain object, SI units."""
        from coilbench.driver.report import result_object

        assert self.situation is not None and self.judgement is not None
        return result_object(self.situation, self.judgement)


class DriverStage(FormStage[DriverAnswer]):
    """Which chip, its sense resistor, the supply; the current comes from connection or ratings."""

    id = "driver"
    TITLE = "set the driver"
    CAUTION = "never plug or unplug a motor on a live driver; more with each step to do"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("chip", "chip", "A4988", "The chip that is printed on the driver."),
        Field("sense", "sense", "its marking", "The marking on the resistors beside the chip, or their ohms."),
        Field(
            "current",
            "current",
            "amps, peak",
            "The rated current per coil, two phases on: set as the peak.",
            "ampere",
            "A",
        ),
        Field("supply", "supply", "volts", "The motor supply. May stay empty: less can then be judged.", "volt", "V"),
        Field("steps", "steps", "16", "Microsteps to a full step, or full."),
        Field(
            "measured",
            "measured",
            "VREF volts",
            "A measured reference voltage: says the current it means.",
            "volt",
            "V",
        ),
        Field("resistor", "set resistor", "78k", "The resistor on the set pin.", "ohm", "ohm", shown=False),
        Field("rms", "RMS", "yes", "Whether the current is RMS, not peak.", shown=False),
        Field("gain", "gain", "8", "Of a chip that is not in the table.", shown=False),
        Field("torque", "torque", "50 %", "The share set by the chip's torque pins.", "percent", "%", shown=False),
        Field("decay", "decay", "mixed", "How the board straps the decay pin.", shown=False),
        Field("trimmer", "trimmer", "3.3 V", "The voltage at the trimmer's far end.", "volt", "V", shown=False),
        Field("logic", "logic", "3.3 V", "The controller's logic level.", "volt", "V", shown=False),
        Field("air", "air", "40 C", "The air around the driver.", "celsius", "C", positive=False, shown=False),
        Field("coil", "ohms", "34 ohm", "Of one coil as connected.", "ohm", "ohm", shown=False),
        Field("inductance", "inductance", "20 mH", "Of one coil as connected.", "henry", shown=False),
    )

    def chips(self) -> tuple[Chip, ...]:
        """All chips, the person's own first. Raises InputProblem for a file of theirs that can't be read."""
        from coilbench.driver.catalogue import all_chips

        return all_chips(own_chips())

    def chips_of_the_table(self) -> tuple[Chip, ...]:
        """All chips but the person's own."""
        from coilbench.driver.catalogue import all_chips

        return all_chips()

    def texts(self) -> dict[str, str]:
        known = self.desk.known
        saved, connection = known.get(Driver), known.get(Connection)
        at_hand = connection.typed if connection is not None else {}  # the driver as typed a stage before
        if saved is None:
            chip = chip_called(at_hand.get("driver", ""))
            texts = {"chip": "" if chip is None else chip.chip, "supply": _volts(at_hand.get("supply", ""))}
        elif saved.typed:
            texts = dict(saved.typed)
        else:
            texts = self._texts_of_figures(saved)
        current = motor.as_connected(known).current_ampere
        if current is not None and not any(map(texts.get, ("current", "measured", "resistor"))):
            texts["current"] = _shown(current, "ampere")
        return {each.id: texts.get(each.id, "") for each in self.FIELDS}

    def _texts_of_figures(self, saved: Driver) -> dict[str, str]:
        """The fields by which a setting came about that was kept without them."""
        chip = chip_called(saved.chip)
        full = saved.microsteps == 1
        ratio = (chip.full_step_ratio if chip is not None else None) or 1.0
        return {
            "chip": saved.chip,
            "sense": "" if saved.sense_ohm is None else _shown(saved.sense_ohm, "ohm"),
            "current": _shown(saved.peak_ampere * (ratio if full else 1.0), "ampere"),
            "supply": "" if saved.supply_volt is None else _shown(saved.supply_volt, "volt"),
            "steps": FULL_STEP if full else "" if saved.microsteps is None else str(saved.microsteps),
        }

    def answer(self, texts: Texts) -> DriverAnswer:
        from coilbench.driver.finding import Situation
        from coilbench.driver.findings import judgement_of

        known = self.desk.known
        check_usable(known)
        chip = self._chip(texts)
        figures = motor.as_connected(known)
        steps = _steps(texts)
        situation = Situation(
            setting=self._setting(texts, chip, figures),
            supply_volt=self.value(texts, "supply"),
            coil_ohm=self.value(texts, "coil") or figures.coil_ohm,
            inductance_henry=self.value(texts, "inductance") or figures.inductance_henry,
            microsteps=steps or None,
            full_step=steps == 0,
            logic_volt=self.value(texts, "logic"),
            connection=figures.connection,
            half_winding=figures.half_winding and _is_usual(texts, figures),
            ambient_celsius=self._air(texts),
        )
        judgement = judgement_of(situation)
        answer = DriverAnswer(
            situation=situation,
            judgement=judgement,
            trimmer_volt=self.value(texts, "trimmer"),
            can_keep=not judgement.stops,
        )
        return replace(answer, known=self._known(answer, figures))

    def keep(self, texts: Texts) -> DriverAnswer:
        answer = self.answer(texts)
        self.check_can_keep(answer)
        assert answer.situation is not None
        setting = answer.situation.setting
        typed = self.typed(texts)
        if "current" in typed and _is_usual(texts, motor.as_connected(self.desk.known)):
            del typed["current"]  # not typed but known: it follows the connection
        fact = Driver(
            chip=answer.situation.chip.chip,
            peak_ampere=_six(setting.peak_ampere),
            sense_ohm=None if setting.sense_ohm is None else _six(setting.sense_ohm),
            vref_volt=None if setting.vref_volt is None else _six(setting.vref_volt),
            supply_volt=None if answer.situation.supply_volt is None else _six(answer.situation.supply_volt),
            microsteps=answer.situation.steps,
            typed=typed,
        )
        self.desk.keep(self.id, fact)
        return answer

    def check_can_keep(self, answer: DriverAnswer) -> None:
        """Raises InputProblem for a setting that is not to be set."""
        assert answer.judgement is not None
        if answer.judgement.stops:
            raise InputProblem(f"not kept with {self.desk.motor!r}: {answer.judgement.stops[0].text}")

    def warning(self) -> str:
        """What stands before the steps to do of a faulty motor; empty for a sound one."""
        return fitness_of(self.desk.known).says

    # Reading the fields

    def _chip(self, texts: Texts) -> Chip:
        from coilbench.driver.catalogue import by_gain, find, is_known

        name, gain, own = texts.get("chip", "").strip(), texts.get("gain", "").strip(), own_chips()
        if gain:
            if name and is_known(name, own):
                raise InputProblem(f"{name} is in the table with its own gain", remedy="leave out --gain")
            try:
                chip = by_gain(name or "own chip", float(gain.replace(",", ".")))
            except ValueError:
                raise FieldProblem("gain", f"{gain!r} is not a number, expected a gain such as 5 or 8") from None
        elif not name:
            raise FieldProblem("chip", "no chip named", remedy="choose the chip on your driver board")
        else:
            chip = find(name, own)
        decay = texts.get("decay", "").strip()
        return replace(chip, decay=decay) if decay else chip

    def _setting(self, texts: Texts, chip: Chip, figures: motor.AsConnected) -> Setting:
        from coilbench.driver import reference_voltage as reference
        from coilbench.driver.chip import SQRT2

        sense, torque = self._sense(texts), self.value(texts, "torque")
        torque = 1.0 if torque is None else torque / 100
        if not 0 < torque <= 1:
            raise FieldProblem("torque", f"a torque share of {texts['torque']!r} is over 100 %, expected such as 50%")
        vref, resistor = self.value(texts, "measured"), self.value(texts, "resistor")
        if vref is not None:
            _check_range(vref, "volt", _VREF_RANGE_VOLT, "a reference voltage")
            return reference.read_vref(chip, vref, sense, torque)
        if resistor is not None:
            return reference.read_resistor(chip, resistor)
        current = self.value(texts, "current") or figures.current_ampere
        if current is None and not chip.sense_decides:
            said = f"no current is known yet for {self.desk.motor!r}"
            raise Missing(("current", "measured"), said, remedy="rate the motor first")
        if current is None:
            return reference.fixed_setting(chip, sense, torque)
        _check_range(current, "ampere", _CURRENT_RANGE_AMPERE, "a current of these drivers")
        if texts.get("rms", "").strip():
            current *= SQRT2
        if _steps(texts) == 0:
            current = reference.peak_for_full_step(chip, current)
        return reference.set_peak(chip, current, sense, torque)

    def _sense(self, texts: Texts) -> float | None:
        from coilbench.quantity import QuantityError, parse_marking

        text = texts.get("sense", "").strip()
        if not text:
            return None
        try:
            ohm = parse_marking(text)
        except QuantityError as problem:
            raise FieldProblem("sense", problem.happened, remedy=problem.remedy) from None
        _check_range(ohm, "ohm", _SENSE_RANGE_OHM, "a sense resistor")
        return ohm

    def _air(self, texts: Texts) -> float:
        air = self.value(texts, "air")
        if air is None:
            return USUAL_AIR_CELSIUS
        low, high = _AIR_RANGE_CELSIUS
        if not low <= air <= high:
            raise FieldProblem("air", f"{texts['air']!r}, expected air of {low:g} to {high:g} C")
        return air

    # Words

    def _known(self, answer: DriverAnswer, figures: motor.AsConnected) -> tuple[Known, ...]:
        lines = [
            Known(name, text if name in _WHOLE else text.split("  (")[0])
            for name, text in answer.rows
            if name not in ("chip", "formula")
        ]
        if not answer.can_be_set:
            lines.insert(0, Known("stop", "not to be set like this"))
        return (*lines, *_of_the_motor(figures))

    def known_before(self) -> list[Known]:
        """What is known of the motor while nothing is worked out."""
        return list(_of_the_motor(motor.as_connected(self.desk.known)))

    @classmethod
    def summary(cls, known: Facts) -> list[Known]:
        saved = known.get(Driver)
        if saved is None:
            return []
        at = "" if saved.vref_volt is None else f", VREF {_shown(saved.vref_volt, 'volt', 3)}"
        return [Known("driver", f"{saved.chip} {_shown(saved.peak_ampere, 'ampere', 3)} peak{at}")]


def chip_called(name: str) -> Chip | None:
    """A driver chip of the table or of the person's own rows; None where it isn't known: one set up by its gain
    alone has no row."""
    from coilbench.driver.catalogue import find

    try:
        return find(name, own_chips())
    except InputProblem:
        return None


def marking(ohm: float) -> str:
    """A sense resistor as it is marked (IEC 60062): 0.1 ohm is R100, 1 ohm 1R00."""
    return f"R{round(ohm * 1000):03d}" if ohm < 1 else f"{ohm:.2f}".replace(".", "R")


def _of_the_motor(figures: motor.AsConnected) -> tuple[Known, ...]:
    lines = []
    if figures.coil_ohm is not None:
        henry = figures.inductance_henry
        more = "" if henry is None else f", {_shown(henry, 'henry', 3)}"
        lines.append(Known("coil", _shown(figures.coil_ohm, "ohm", 3) + more))
    if figures.basis:
        lines.append(Known("from", figures.basis))
    return tuple(lines)


def _is_usual(texts: Texts, figures: motor.AsConnected) -> bool:
    """Whether the current is the one that is known of the motor, typed or not."""
    text = texts.get("current", "").strip()
    return not text or (figures.current_ampere is not None and text == _shown(figures.current_ampere, "ampere"))


def _steps(texts: Texts) -> int | None:
    """Microsteps to a full step as typed, 0 for full steps, None where nothing is said."""
    text = texts.get("steps", "").strip()
    if not text:
        return None
    if text == FULL_STEP:
        return 0
    match = re.fullmatch(r"(?:1/)?([0-9]{1,3})", text)
    steps = int(match[1]) if match else 0
    if not 1 <= steps <= 256:
        raise FieldProblem("steps", f"{text!r}, expected a whole number of 1 to 256 such as 16")
    return steps


def _volts(typed: str) -> str:
    """A supply typed for the connection, with its unit; empty where it is none."""
    from coilbench.quantity import QuantityError, parse_quantity

    try:
        return _shown(parse_quantity(typed, "volt", bare=True), "volt")
    except QuantityError:
        return ""


def _shown(value: float, unit: str, digits: int = 4) -> str:
    from coilbench.quantity import format_quantity

    return format_quantity(value, unit, digits)


def _check_range(value: float, unit: str, bounds: tuple[float, float], what: str) -> None:
    if not bounds[0] <= value <= bounds[1]:
        low, high = (_shown(bound, unit, 3) for bound in bounds)
        raise InputProblem(f"{_shown(value, unit, 3)} is not {what}, expected {low} to {high}")


def _six(value: float) -> float:
    return float(f"{value:.6g}")
