"""The connection: every way to connect the motor to the driver at hand, side by side, and which to take."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, cast

from coilbench.errors import NotEnoughKnown
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Windings
from coilbench.stages import motor
from coilbench.stages.driver.chips import chip_called
from coilbench.stages.fitness import check_usable
from coilbench.stages.form import Answer, Field, FieldProblem, FormStage, Missing, Texts
from coilbench.stages.picture import HookedUp
from coilbench.stages.stage import Known

if TYPE_CHECKING:
    from coilbench.rating.connections import Bench, Choice, ConnectionRow, Drive
    from coilbench.rating.wiring import Phase, Wire


@dataclass(frozen=True)
class ConnectionAnswer(Answer):
    """All ways to connect the motor, and the one that is taken: ``picked``.

    ``phases`` are empty while leads can't be named; then ``test`` is the one that would tell.
    """

    choice: Choice | None = None
    picked: ConnectionRow | None = None
    drive: str = "bipolar"
    phases: tuple[Phase, ...] = ()
    idle: tuple[str, ...] = ()
    test: str = ""
    why: str = ""
    convention: str = ""

    @property
    def rows(self) -> tuple[ConnectionRow, ...]:
        """The ways to connect it."""
        return self.choice.rows if self.choice is not None else ()

    def wires(self, row: ConnectionRow | None = None) -> tuple[Wire, ...]:
        """Where each lead goes for a row, the picked one if none is named; nothing while leads can't be named."""
        from coilbench.rating.wiring import wires

        row = row or self.picked
        return () if row is None else wires(row.connection, self.phases, self.idle)

    def picture(self) -> HookedUp | None:
        """The picked connection, drawn; None while leads can't be named."""
        return HookedUp(self.phases, self.wires(), self.idle) if self.picked is not None and self.phases else None


class ConnectionStage(FormStage[ConnectionAnswer]):
    """A few fields about the driver at hand; the rest is known from windings, order and ratings."""

    id = "connection"
    CAUTION = "supply off before you join or part leads"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("driver", "driver", "A4988", "Your driver's chip, or the most current it carries, as its peak: 1.5 A."),
        Field("supply", "supply", "24 V", "The motor supply: it sets how fast the motor can go.", "volt", "V"),
        Field("speed", "wanted", "300 rpm", "The speed the shaft has to reach, if you know it.", "hertz", "rpm"),
        Field("drive", "driver's kind", "bipolar", "What the driver is: bipolar or unipolar.", shown=False),
        Field("take", "connection", "series", "The connection to take.", shown=False),
        Field("leads", "leads", "6", "Of a two-phase motor: 4, 5, 6 or 8.", shown=False),
        Field("coil", "ohms", "30 ohm", "Of one half-winding.", "ohm", "ohm", shown=False),
        Field("current", "current", "0.4 A", "Of one half-winding, two phases on.", "ampere", "A", shown=False),
        Field("inductance", "inductance", "20 mH", "Of one half-winding.", "henry", shown=False),
        Field("most", "driver's limit", "1.5 A", "The most the driver carries, peak.", "ampere", "A", shown=False),
        Field("step", "step angle", "1.8", "Degrees of one full step.", "degree", "degree", shown=False),
    )

    def texts(self) -> dict[str, str]:
        known = self.desk.known
        saved, driver = known.get(Connection), known.get(Driver)
        texts = dict(saved.typed) if saved is not None else {}
        if "driver" not in texts and driver is not None and chip_called(driver.chip) is not None:
            texts["driver"] = driver.chip
        if saved is not None:
            texts.setdefault("take", saved.connection)
        return {each.id: texts.get(each.id, "") for each in self.FIELDS}

    def with_driver(self, texts: Texts, driver: str) -> dict[str, str]:
        """The texts with another driver: its chip says what kind it is."""
        chip = chip_called(driver)
        return {**texts, "driver": driver, **({} if chip is None else {"drive": ""})}

    def answer(self, texts: Texts) -> ConnectionAnswer:
        from coilbench.rating.connections import CONVENTION, compare_connections
        from coilbench.rating.wiring import deciding_test

        known = self.desk.known
        fit = check_usable(known)
        ratings = known.get(Ratings) or Ratings()
        leads = self._leads(texts, known)
        ohm = self.value(texts, "coil") or ratings.resistance_ohm or motor.half_winding_ohm(known)
        ampere = self.value(texts, "current") or ratings.current_ampere
        _check_enough(leads, ohm, ampere)
        assert leads is not None and ohm is not None and ampere is not None
        bench = self._bench(texts, leads)
        choice = compare_connections(
            leads,
            ohm,
            ampere,
            self.value(texts, "inductance") or ratings.inductance_henry,
            bench,
            360 / self._step_degree(texts, known),
            fit.only,
        )
        wanted = texts.get("take", "")
        picked = next((row for row in choice.rows if row.connection == wanted), choice.chosen)
        phases = motor.phases(known)
        test = "" if phases else deciding_test(leads) or ""
        return ConnectionAnswer(
            notes=tuple(filter(None, (fit.line, *choice.notes))),
            known=_known(picked),
            choice=choice,
            picked=picked,
            drive=bench.drive,
            phases=phases,
            idle=motor.idle_leads(known),
            test=test,
            why=f"{choice.choose}: {choice.why}",
            convention=CONVENTION,
        )

    def keep(self, texts: Texts) -> ConnectionAnswer:
        answer = self.answer(texts)
        row = answer.picked
        assert row is not None
        fact = Connection(
            connection=row.connection,
            current_ampere=row.usable_ampere,
            resistance_ohm=row.ohm,
            inductance_henry=row.henry,
            wiring=tuple(map(str, answer.wires())),
            typed={name: text for name, text in self.typed(texts).items() if name != "take"},
        )
        self.desk.keep(self.id, fact)
        return answer

    def _leads(self, texts: Texts, known: Facts) -> int | None:
        leads = motor.lead_count(texts.get("leads", "")) or motor.two_phase_leads(known)
        if leads is None and Windings.stage in known:
            raise NotEnoughKnown("only two-phase motors with 4, 5, 6 or 8 leads are connected here")
        return leads

    def _bench(self, texts: Texts, leads: int) -> Bench:
        from coilbench.rating.connections import Bench

        text = texts.get("driver", "").strip()
        most, kind = self._driver(text) if text else (None, None)
        drive = texts.get("drive", "").strip() or kind or ("unipolar" if leads == 5 else "bipolar")
        if drive not in ("bipolar", "unipolar"):
            raise FieldProblem("drive", f"{drive!r} is no kind of driver, expected bipolar or unipolar")
        return Bench(
            drive=cast("Drive", drive),
            driver_peak_ampere=self.value(texts, "most") or most,
            supply_volt=self.value(texts, "supply"),
            wanted_rev_per_second=self.value(texts, "speed"),
        )

    def _driver(self, text: str) -> tuple[float | None, str | None]:
        """The most a driver carries and its kind, from its chip's name or given itself; None where not known."""
        if text[0].isalpha():
            from coilbench.driver.catalogue import find
            from coilbench.records.own_chips import own_chips

            chip = find(text, own_chips())
            return chip.most_peak_ampere, "unipolar" if chip.motor == "unipolar" else "bipolar"
        from coilbench.quantity import QuantityError, parse_quantity

        try:
            return parse_quantity(text, "ampere", bare=True), None
        except QuantityError:
            wanted = "expected its chip such as A4988, or the most it carries such as 1.5 A"
            raise FieldProblem("driver", f"{text!r} is no driver, {wanted}") from None

    def _step_degree(self, texts: Texts, known: Facts) -> float:
        from coilbench.rating.spin import check_step_angle

        typed = self.value(texts, "step")
        if typed is not None:
            return check_step_angle(typed)
        return motor.step_angle_degree(known) or motor.USUAL_STEP_DEGREE

    @classmethod
    def summary(cls, known: Facts) -> list[Known]:
        from coilbench.quantity import format_quantity

        saved = known.get(Connection)
        if saved is None:
            return []
        return [Known("connect", f"{saved.connection}, {format_quantity(saved.current_ampere, 'ampere')} a winding")]


def _check_enough(leads: int | None, ohm: float | None, ampere: float | None) -> None:
    named = (
        ("leads", "how many leads", leads),
        ("coil", "the half-winding's ohms", ohm),
        ("current", "its current", ampere),
    )
    missing = [(field, what) for field, what, value in named if value is None]
    if not missing:
        return
    unsorted = any(field != "current" for field, _ in missing)
    remedy = "sort the windings first" if unsorted else "rate the motor first"
    fields, words = zip(*missing, strict=True)
    raise Missing(fields, f"not known: {', '.join(words)}", remedy=remedy)


def _known(row: ConnectionRow) -> tuple[Known, ...]:
    from coilbench.quantity import format_quantity

    lines = [
        Known("picked", f"{row.connection}: {row.says}"),
        Known("RMS", f"{format_quantity(row.ampere, 'ampere')} a winding, two phases on"),
        Known("sine peak", f"{format_quantity(row.equal_heat_peak_ampere, 'ampere')} for the same heat"),
        Known("winding", f"{format_quantity(row.ohm, 'ohm')}, {format_quantity(row.volt, 'volt')}"),
    ]
    if row.henry is not None:
        lines.append(Known("henry", format_quantity(row.henry, "henry")))
    lines.append(Known("heat", f"{format_quantity(row.watt, 'watt')}, both phases"))
    if row.connection != "bipolar":
        lines.append(Known("torque", f"{row.torque_relative:.2f} of one half-winding"))
    if row.speed_limit_rev_per_second is not None:
        lines.append(Known("supply", f"runs out at {60 * row.speed_limit_rev_per_second:.0f} rpm"))
    if row.usable_ampere < row.ampere:
        lines.append(Known("driver", f"leaves {format_quantity(row.usable_ampere, 'ampere')}"))
    return tuple(lines)


def cells(row: ConnectionRow, digits: int = 3) -> Mapping[str, str]:
    """A row's figures to read, by their names; empty where there is nothing to say."""
    from coilbench.quantity import format_quantity

    limit = row.speed_limit_rev_per_second
    return {
        "RMS": format_quantity(row.ampere, "ampere", digits),
        "sine peak": format_quantity(row.equal_heat_peak_ampere, "ampere", digits),
        "ohms": format_quantity(row.ohm, "ohm", digits),
        "henry": "" if row.henry is None else format_quantity(row.henry, "henry", digits),
        "volts": format_quantity(row.volt, "volt", digits),
        "heat": format_quantity(row.watt, "watt", digits),
        # Counted against one half-winding: whole windings have nothing to be counted against.
        "torque": "" if row.connection == "bipolar" else f"{row.torque_relative:.2f}",
        "limit 1/min": "" if limit is None else f"{60 * limit:.0f}",
    }


def as_json(answer: ConnectionAnswer) -> dict[str, Any]:
    """The answer as one JSON-plain object, SI units."""
    assert answer.choice is not None
    return {
        "rows": [
            {
                "connection": row.connection,
                "drive": row.drive,
                "amp": row.ampere,
                "rms_amp": row.ampere,
                "equal_heat_peak_amp": row.equal_heat_peak_ampere,
                "ohm": row.ohm,
                "henry": row.henry,
                "volt": row.volt,
                "watt": row.watt,
                "torque_relative": row.torque_relative,
                "speed_limit_rev_per_second": row.speed_limit_rev_per_second,
                "usable_amp": row.usable_ampere,
                "usable_torque_relative": row.usable_torque,
                "wiring": [{"to": wire.where, "leads": list(wire.leads)} for wire in answer.wires(row)],
            }
            for row in answer.rows
        ],
        "choose": answer.choice.choose,
        "why": answer.choice.why,
        "convention": answer.convention,
        "test": answer.test or None,
        "notes": list(answer.notes),
    }
