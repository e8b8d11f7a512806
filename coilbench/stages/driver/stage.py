"""The driver without a screen: texts and what is known of the motor in, a setting and its judgement out."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from coilbench.cautions import LIVE_DRIVER
from coilbench.errors import InputProblem
from coilbench.records.own_chips import own_chips
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.own import Own, OwnDriver, OwnSupply
from coilbench.stages import motor
from coilbench.stages.at_bench import driver_with, note
from coilbench.stages.driver.answer import DriverAnswer
from coilbench.stages.driver.chips import chip_called
from coilbench.stages.driver.fields import FIELDS, FULL_STEP
from coilbench.stages.fitness import check_usable, fitness_of
from coilbench.stages.form import Field, FormStage, Texts
from coilbench.stages.stage import Known

if TYPE_CHECKING:
    from coilbench.driver.chip import Chip

_WHOLE = ("VREF", "smallest")  # rows whose remarks belong beside the work, too


_OF_DRIVER = ("chip", "sense", "sink")  # the fields that a driver of the bench fills in


class DriverStage(FormStage[DriverAnswer]):
    """Which chip, its sense resistor, the supply; the current comes from connection or ratings."""

    id = "driver"
    TITLE = "set the driver"
    ASKS = "which chip is on the driver, and which sense resistor?"
    CAUTION = LIVE_DRIVER
    OFFERS = True
    FIELDS: ClassVar[tuple[Field, ...]] = FIELDS

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
        self.taken = {}
        if saved is None:
            chip = chip_called(at_hand.get("driver", ""))
            texts = {"chip": "" if chip is None else chip.chip, "supply": _volts(at_hand.get("supply", ""))}
            if not at_hand.get("driver") or chip is not None:
                texts = self.with_own_driver(texts)
            supply = self.desk.own.usual(OwnSupply)
            if supply is not None and not texts["supply"]:
                texts["supply"] = supply.supply
                self.taken = {**self.taken, "supply": supply}
        elif saved.typed:
            texts = dict(saved.typed)
        else:
            texts = _texts_of_figures(saved)
        if not any(map(texts.get, ("current", "measured", "resistor"))):
            from coilbench.stages.driver.reading import usual_current

            texts["current"] = usual_current(texts, motor.as_connected(known))
        return {each.id: texts.get(each.id, "") for each in self.FIELDS}

    def with_own_driver(self, texts: Texts) -> dict[str, str]:
        """The texts with what the bench knows of the driver that has their chip, of the usual one where none is
        chosen: its sense resistor and heat sink, unless they are typed."""
        chip = chip_called(texts.get("chip", ""))
        own = driver_with(self.desk.own, texts.get("chip", "") if chip is None else chip.chip)
        told = {} if own is None else {"chip": own.chip, "sense": own.sense, "sink": own.sink}
        filled = {field: text for field, text in told.items() if text and not texts.get(field, "").strip()}
        if own is not None:
            self.taken = {**self.taken, **dict.fromkeys(filled, own)}
        return {**texts, **filled}

    def with_chip(self, texts: Texts, chip: str) -> dict[str, str]:
        """The texts with another chip: what came from the bench for the one before goes, what it knows of this one
        comes; so does the motor's own current, as far as this one carries it."""
        from coilbench.stages.driver.reading import is_usual, usual_current

        figures = motor.as_connected(self.desk.known)
        found = self.with_own_driver({**self.without_own(texts), "chip": chip})
        if texts.get("current", "").strip() and is_usual(texts, figures):
            found["current"] = usual_current(found, figures)
        return found

    def without_own(self, texts: Texts) -> dict[str, str]:
        """The texts without a chip, and without what came with it from the bench."""
        gone = {field for field in self.taken if field in _OF_DRIVER}
        self.taken = {field: own for field, own in self.taken.items() if field not in gone}
        return {**texts, **dict.fromkeys(gone, ""), "chip": ""}

    def answer(self, texts: Texts) -> DriverAnswer:
        from coilbench.driver.findings import judgement_of
        from coilbench.stages.driver import reading

        known = self.desk.known
        check_usable(known)
        figures = motor.as_connected(known)
        situation = reading.situation(texts, figures, self.desk.motor)
        connection = known.get(Connection)
        judgement = judgement_of(situation)
        answer = DriverAnswer(
            situation=situation,
            judgement=judgement,
            trimmer_volt=reading.trimmer_volt(texts),
            wires=() if connection is None else connection.wiring,
            can_keep=not judgement.stops,
        )
        return replace(answer, known=_known(answer, figures))

    def keep(self, texts: Texts) -> DriverAnswer:
        from coilbench.driver.figure_text import six_digits
        from coilbench.stages.driver.reading import is_usual

        answer = self.answer(texts)
        self.check_can_keep(answer)
        assert answer.situation is not None
        setting = answer.situation.setting
        typed = self.typed(texts)
        if "current" in typed and is_usual(texts, motor.as_connected(self.desk.known)):
            del typed["current"]  # not typed but known: it follows the connection
        fact = Driver(
            chip=answer.chip,
            peak_ampere=six_digits(setting.peak_ampere),
            sense_ohm=six_digits(setting.sense_ohm),
            vref_volt=six_digits(setting.vref_volt),
            supply_volt=six_digits(answer.situation.supply_volt),
            microsteps=answer.situation.steps,
            typed=typed,
        )
        self.desk.keep(self.id, fact)
        self.remembered = self._remember(answer, typed)
        return answer

    def _remember(self, answer: DriverAnswer, typed: Texts) -> tuple[str, ...]:
        """Put driver and supply among what is at the bench; a chip that its gain alone tells of has no name there."""
        things: list[Own] = []
        if chip_called(answer.chip) is not None:
            sense, sink = typed.get("sense", ""), typed.get("sink", "")
            things.append(OwnDriver(name="", chip=answer.chip, sense=sense, sink=sink))
        if supply := _volts(typed.get("supply", "")):
            things.append(OwnSupply(name="", supply=supply))
        return tuple(filter(None, (note(self.desk, each) for each in things)))

    def check_can_keep(self, answer: DriverAnswer) -> None:
        """Raises InputProblem for a setting that is not to be set."""
        assert answer.judgement is not None
        if answer.judgement.stops:
            stop = answer.judgement.stops[0]
            raise InputProblem(f"not kept with {self.desk.motor!r}: {stop.fact}", remedy=stop.remedy)

    def warning(self) -> str:
        """What stands before the steps to do of a faulty motor; empty for a sound one."""
        return fitness_of(self.desk.known).says

    def known_before(self) -> list[Known]:
        """What is known of the motor while nothing is worked out."""
        return list(_of_the_motor(motor.as_connected(self.desk.known)))

    @classmethod
    def summary(cls, known: Facts) -> list[Known]:
        saved = known.get(Driver)
        if saved is None:
            return []
        at = "" if saved.vref_volt is None else f", VREF {_shown(saved.vref_volt, 'volt', 3)}"
        chip = chip_called(saved.chip)
        kind = "a coil" if chip is not None and not chip.formula.regulates else "peak"
        return [Known("driver", f"{saved.chip} {_shown(saved.peak_ampere, 'ampere', 3)} {kind}{at}")]


def _texts_of_figures(saved: Driver) -> dict[str, str]:
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


def _known(answer: DriverAnswer, figures: motor.AsConnected) -> tuple[Known, ...]:
    lines = [
        Known(name, text if name in _WHOLE else text.split("  (")[0])
        for name, text in answer.rows
        if name not in ("chip", "formula", "because")
    ]
    if not answer.can_be_set:
        lines.insert(0, Known("stop", "not to be set like this"))
    return (*lines, *_of_the_motor(figures))


def _of_the_motor(figures: motor.AsConnected) -> tuple[Known, ...]:
    lines = []
    if figures.coil_ohm is not None:
        henry = figures.inductance_henry
        more = "" if henry is None else f", {_shown(henry, 'henry', 3)}"
        lines.append(Known("coil", _shown(figures.coil_ohm, "ohm", 3) + more))
    if figures.basis:
        lines.append(Known("from", figures.basis))
    return tuple(lines)


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
