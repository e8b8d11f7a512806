"""Pull-out torque against speed: of a motor as it is connected, or of figures typed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from coilbench.errors import InputProblem
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.stages import motor
from coilbench.stages.driver.chips import chip_called
from coilbench.stages.fitness import check_usable
from coilbench.stages.form import Answer, Field, FieldProblem, FormStage, Missing, Texts

if TYPE_CHECKING:
    from coilbench.motion.pullout import MotorFigures
    from coilbench.motion.torque_curve import CurveEnds, Drive, PullOut

MOST_RATES = 1000
_FROM_MOTOR = "take what is known of a motor: --motor NAME"
_RATE_RANGE_SPS = (1.0, 100_000.0)
_STEPS_RANGE = (4.0, 10_000.0)
_USUAL_RPM = (15, 30, 60, 120, 200, 300, 450, 600, 900, 1200)
CAUTION = (
    "pull-out torque is the most there is, at a steady speed: plan with half of it, two thirds where the load is "
    "measured (common practice); starting without a ramp holds far less"
)


@dataclass(frozen=True)
class TorqueAnswer(Answer):
    """The curve's points, its ends, and what was not known but taken."""

    figures: MotorFigures | None = None
    driven: Drive | None = None
    points: PullOut | None = None
    ends: CurveEnds | None = None

    def rpm(self, rate_sps: float) -> float:
        """The shaft's turns a minute at a rate in full steps a second."""
        assert self.figures is not None
        return 60 * rate_sps / self.figures.steps_per_turn

    @property
    def rows(self) -> list[tuple[float, float, float, float, float]]:
        """Rate in full steps/s, rpm, torque in newton metre, and the band's two ends."""
        assert self.points is not None
        found = self.points
        return [
            (float(rate), self.rpm(float(rate)), float(torque), float(low), float(high))
            for rate, torque, low, high in zip(found.rate_sps, found.torque, found.low, found.high, strict=True)
        ]

    @property
    def full_current_until_rpm(self) -> float:
        assert self.ends is not None
        return self.rpm(self.ends.full_current_until_sps)

    @property
    def half_torque_rpm(self) -> float:
        assert self.ends is not None
        return self.rpm(self.ends.half_torque_sps)

    def as_json(self) -> dict[str, Any]:
        """The answer as one JSON-plain object, SI units."""
        names = ("rate_sps", "rpm", "torque_newton_metre", "low", "high")
        return {
            "points": [dict(zip(names, row, strict=True)) for row in self.rows],
            "full_current_until_rpm": self.full_current_until_rpm,
            "half_torque_rpm": self.half_torque_rpm,
            "notes": list(self.notes),
        }


class TorqueCurve(FormStage[TorqueAnswer]):
    """The figures of the winding that is driven. There is nothing to keep: the curve follows from what is known."""

    id = "torque-curve"
    CAUTION = CAUTION
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("coil", "ohms", "3.1 ohm", "Of the winding that is driven.", "ohm", "ohm"),
        Field("inductance", "inductance", "2.3 mH", "Of the winding that is driven.", "henry", "mH"),
        Field("current", "current", "0.87 A", "The peak the driver is set to, per winding.", "ampere", "A"),
        Field("hold", "holding", "0.17 Nm", "Holding torque, two phases on at the current.", "newton_metre"),
        Field("steps", "steps", "200", "Full steps in a turn."),
        Field("drive", "driver's kind", "bipolar", "What drives it: bipolar or unipolar."),
        Field("supply", "supply", "24 V", "The motor supply.", "volt", "V"),
        Field("at", "rates", "1000,2000", "Full steps a second, or 300 rpm; several with commas."),
        Field("microsteps", "microsteps", "16", "Microsteps to a full step, 1 for full steps."),
    )

    def texts(self) -> dict[str, str]:
        return {each.id: "" for each in self.FIELDS}

    def keep(self, texts: Texts) -> TorqueAnswer:
        return self.answer(texts)

    def answer(self, texts: Texts) -> TorqueAnswer:
        import numpy as np

        from coilbench.motion.pullout import MotorFigures
        from coilbench.motion.torque_curve import Drive, pull_out, whole_curve

        known = self.desk.known
        check_usable(known)
        kind, steps = self._kind(texts, known), self._steps(texts, known)
        notes = self.rung(texts)
        if motor.as_connected(known).half_winding and not texts.get("coil", "").strip():
            notes.append("of one half-winding: no connection is chosen yet")
        ohm, ampere, supply = self._needed(texts, known)
        henry = self._henry(texts, known, ohm, notes)
        hold = self._hold(texts, known, henry, ampere, steps / 4, notes)
        circuit_ohm = self._circuit_ohm(known, ohm, ampere, supply, notes)
        figures = MotorFigures(hold, ampere, circuit_ohm, henry, steps / 4)
        driven = Drive(supply, ampere, self._microstepping(texts))
        rates = self._rates(texts, steps)
        if supply < ohm * ampere:
            notes.append(
                f"{supply:.3g} V brings only {supply / ohm:.3g} A through {ohm:.3g} ohm, not {ampere:.3g} A: "
                "there is no speed with the full current"
            )
        if kind == "unipolar":
            notes.append(
                "unipolar: a switched-off half must be free to swing to twice the supply; a diode straight across it "
                "holds its current up and costs torque at speed"
            )
        return TorqueAnswer(
            notes=(*notes, CAUTION),
            figures=figures,
            driven=driven,
            points=pull_out(figures, np.array(rates), driven),
            ends=whole_curve(figures, driven).ends,
        )

    def _kind(self, texts: Texts, known: Facts) -> str:
        motor_ = motor.as_connected(known)
        five = motor_.connection is None and motor_.leads == 5
        as_connected = "unipolar" if five or motor_.connection == "unipolar" else "bipolar"
        kind = texts.get("drive", "").strip() or as_connected
        if kind not in ("bipolar", "unipolar"):
            raise FieldProblem("drive", f"{kind!r} is no kind of driver, expected bipolar or unipolar")
        settled = five or motor_.connection is not None
        if settled and kind != as_connected and not texts.get("coil", "").strip():
            joined = "with both taps in one lead" if five else f"connected {motor_.connection}"
            what = f"it is {joined}, for a {as_connected} driver"
            raise FieldProblem("drive", f"{what}: expected {as_connected}, or another connection kept first")
        return kind

    def _needed(self, texts: Texts, known: Facts) -> tuple[float, float, float]:
        """Ohms, peak ampere and supply, as typed or as known of the motor. Raises Missing."""
        figures, driver = motor.as_connected(known), known.get(Driver) or None
        ampere = self.value(texts, "current") or (driver.peak_ampere if driver is not None else None)
        supply = self.value(texts, "supply") or (driver.supply_volt if driver is not None else None)
        if supply is None and (connection := known.get(Connection)) is not None:
            supply = self.field("supply").figure(connection.typed.get("supply", ""))
        ohm = self.value(texts, "coil") or figures.coil_ohm
        ampere = ampere or figures.current_ampere
        named = (("coil", "the winding's ohms", ohm), ("current", "its current", ampere), ("supply", "volts", supply))
        missing = [(field, what) for field, what, value in named if value is None]
        if missing:
            fields, words = zip(*missing, strict=True)
            raise Missing(fields, f"not known: {', '.join(words)}", remedy=_FROM_MOTOR)
        assert ohm is not None and ampere is not None and supply is not None
        return ohm, ampere, supply

    def _circuit_ohm(self, known: Facts, ohm: float, ampere: float, supply: float, notes: list[str]) -> float:
        """The winding's ohms, with the series resistor that its driver takes where it doesn't chop."""
        driver = known.get(Driver)
        chip = None if driver is None else chip_called(driver.chip)
        if chip is None or chip.formula.regulates or supply <= ohm * ampere:
            return ohm
        notes.append(
            f"{chip.chip} limits no current: reckoned with {supply / ampere - ohm:.3g} ohm in series with the winding"
        )
        return supply / ampere

    def _henry(self, texts: Texts, known: Facts, ohm: float, notes: list[str]) -> float:
        from coilbench.rating.typical import INDUCTANCE_TIMES

        typed = self.value(texts, "inductance")
        if typed is not None:
            return typed
        henry = motor.as_connected(known).inductance_henry
        if henry is not None:
            if (measured := motor.measured_half(known)) is not None and not motor.told_inductance(known):
                notes.append(f"of one coil or half-winding, {measured.words}")
            return henry
        if motor.as_connected(known).coil_ohm is None:
            raise Missing(("inductance",), "not known: inductance", remedy=_FROM_MOTOR)
        henry = motor.usual_inductance(known, ohm)
        notes.append(
            f"inductance not known: {1e3 * henry:.2g} mH is usual for such a winding, but {INDUCTANCE_TIMES:g} times "
            "less or more is possible, and speed goes with it"
        )
        return henry

    def _hold(self, texts: Texts, known: Facts, henry: float, ampere: float, teeth: float, notes: list[str]) -> float:
        from coilbench.rating.typical import usual_holding_torque

        typed = self.value(texts, "hold")
        if typed is not None:
            return typed
        if (constant := motor.holding_per_ampere(known)) is not None:
            return constant * ampere
        if motor.as_connected(known).coil_ohm is None:
            raise Missing(("hold",), "not known: holding torque", remedy=_FROM_MOTOR)
        hold = usual_holding_torque(henry, ampere, teeth)
        notes.append(
            f"holding torque not known: {hold:.2g} Nm is usual for such a winding, but twice less or more is "
            "possible; a spun shaft's volts tell it"
        )
        return hold

    def _steps(self, texts: Texts, known: Facts) -> float:
        text, (low, high) = texts.get("steps", "").strip(), _STEPS_RANGE
        if not text:
            return 360 / (motor.step_angle_degree(known) or motor.USUAL_STEP_DEGREE)
        try:
            steps = float(text.replace(",", "."))
        except ValueError:
            steps = math.nan
        if not low <= steps <= high:
            raise FieldProblem("steps", f"{text!r}: expected {low:g} to {high:g} full steps in a turn, such as 200")
        return steps

    def _microstepping(self, texts: Texts) -> bool:
        text = texts.get("microsteps", "").strip()
        if not text:
            return False
        if not (text.isascii() and text.isdecimal() and 1 <= int(text) <= 256):
            raise FieldProblem("microsteps", f"{text!r}: expected a whole number of 1 to 256 such as 16")
        return int(text) > 2  # half steps still switch whole phases

    def _rates(self, texts: Texts, steps: float) -> list[float]:
        """The rates typed, in full steps a second; a few usual speeds where none are."""
        text = texts.get("at", "").strip()
        if not text:
            return [rpm / 60 * steps for rpm in _USUAL_RPM]
        parts = text.split(",")
        if len(parts) > MOST_RATES:
            raise FieldProblem("at", f"{len(parts)} rates: expected at most {MOST_RATES}")
        return [_rate(part.strip(), steps) for part in parts]


def _rate(text: str, steps: float) -> float:
    from coilbench.quantity import QuantityError, parse_quantity

    low, high = _RATE_RANGE_SPS
    expected = f"expected {low:g} to {high:g} full steps a second such as 1000, or a speed such as 300 rpm"
    try:
        spoken_rpm = text.endswith("rpm")
        rate = parse_quantity(text, "hertz") * steps if spoken_rpm else float(text.removesuffix("steps/s"))
    except (QuantityError, ValueError):
        raise FieldProblem("at", f"{text[:40]!r}: {expected}") from None
    if not low <= rate <= high:
        raise InputProblem(f"rate {text[:40]!r}: {expected}")
    return rate
