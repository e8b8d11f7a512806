"""The connection without a screen: what is known of motor, driver and supply in, the ways to connect it out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, cast

from coilbench.errors import NotEnoughKnown
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.own import Own, OwnDriver, OwnSupply
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Windings
from coilbench.stages import motor
from coilbench.stages.connection.answer import ConnectionAnswer, known_lines
from coilbench.stages.connection.at_hand import AtHand, driver_at_hand
from coilbench.stages.connection.fields import FIELDS
from coilbench.stages.driver.chips import chip_called
from coilbench.stages.fitness import check_usable
from coilbench.stages.form import Field, FieldProblem, FormStage, Missing, Texts
from coilbench.stages.stage import Known

if TYPE_CHECKING:
    from coilbench.rating.choice import Bench, Choice, Pulls
    from coilbench.rating.connections import Drive
    from coilbench.stages.connection.pulls import Half
    from coilbench.stages.torque_plot import TorquePlot


@dataclass(frozen=True, slots=True)
class HalfWinding:
    """What is known of one half-winding (of four leads a whole one); None where it isn't."""

    leads: int
    ohm: float
    ampere: float
    henry: float | None
    holding_per_ampere: float | None
    steps_per_turn: float
    face_metre: float | None
    henry_words: str = ""  # where it comes from, if not from the person

    def half(self, inductance_times: float) -> Half:
        """With what is usual in place of what isn't known, the unknown inductance taken so many times."""
        from coilbench.rating.typical import usual_holding_torque, usual_inductance
        from coilbench.stages.connection.pulls import Half

        henry = self.henry
        if henry is None:
            usual = usual_inductance(self.ohm, self.face_metre, whole_winding=self.leads == 4)
            henry = inductance_times * usual
        holding = (
            usual_holding_torque(henry, self.ampere, self.steps_per_turn / 4)
            if self.holding_per_ampere is None
            else self.holding_per_ampere * self.ampere
        )
        return Half(self.ohm, self.ampere, henry, holding, self.steps_per_turn)


class ConnectionStage(FormStage[ConnectionAnswer]):
    """A few fields about the driver at hand; the rest is known from windings, order and ratings."""

    id = "connection"
    ASKS = "how to connect it to the driver?"
    CAUTION = "supply off before you join or part leads"
    OFFERS = True
    FIELDS: ClassVar[tuple[Field, ...]] = FIELDS

    def texts(self) -> dict[str, str]:
        known = self.desk.known
        saved, driver = known.get(Connection), known.get(Driver)
        texts = dict(saved.typed) if saved is not None else {}
        self.taken = {}
        if "driver" not in texts and driver is not None and chip_called(driver.chip) is not None:
            texts["driver"] = driver.chip
        if saved is None:
            texts = self._with_own(texts)
        if saved is not None:
            texts.setdefault("take", saved.connection)
        return {each.id: texts.get(each.id, "") for each in self.FIELDS}

    def _with_own(self, texts: Texts) -> dict[str, str]:
        """The texts with the usual driver and supply of the bench where they hold none."""
        bench = self.desk.own
        driver, supply = bench.usual(OwnDriver), bench.usual(OwnSupply)
        told: dict[str, tuple[Own, str]] = {}
        if driver is not None and "driver" not in texts:
            told["driver"] = (driver, driver.chip)
        if supply is not None:
            told["supply"] = (supply, supply.supply)
        self.taken = {field: own for field, (own, _) in told.items()}
        return {**texts, **{field: text for field, (_, text) in told.items()}}

    def with_driver(self, texts: Texts, driver: str) -> dict[str, str]:
        """The texts with another driver: its chip says what kind it is."""
        chip = chip_called(driver)
        return {**texts, "driver": driver, **({} if chip is None else {"drive": ""})}

    def answer(self, texts: Texts) -> ConnectionAnswer:
        from coilbench.rating.choice import choose_connection
        from coilbench.rating.connections import CONVENTION, connection_rows
        from coilbench.rating.wiring import deciding_test
        from coilbench.stages.connection.pulls import pulls_at_speed

        known = self.desk.known
        fit = check_usable(known)
        motor_ = self._half_winding(texts, known)
        at_hand = driver_at_hand(texts.get("driver", ""))
        bench = self._bench(texts, motor_.leads, at_hand)
        rows = connection_rows(
            motor_.leads, motor_.ohm, motor_.ampere, motor_.henry, bench.limit_peak_ampere, fit.only
        )
        half = motor_.half(1.0)
        pulls = {} if bench.supply_volt is None else pulls_at_speed(rows, half, bench)
        choice = choose_connection(motor_.leads, rows, bench, pulls, only_left=fit.only is not None)
        wanted = texts.get("take", "")
        picked = next((row for row in choice.rows if row.connection == wanted), choice.chosen)
        phases = motor.phases(known)
        test = "" if phases else deciding_test(motor_.leads) or ""
        told = (fit.line, at_hand.note, *self.rung(texts), motor_.henry_words)
        notes = (*told, *choice.notes, *_of_speed(choice, motor_, bench, pulls))
        return ConnectionAnswer(
            notes=tuple(filter(None, notes)),
            known=known_lines(picked, bench, pulls.get(picked.connection)),
            choice=choice,
            bench=bench,
            pulls=pulls,
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

    def torque_plot(self, texts: Texts) -> TorquePlot:
        """The torque at speed of the connection picked, on the supplies at hand. Raises what ``answer`` does."""
        from coilbench.stages.connection.plot import torque_of_connection

        answer = self.answer(texts)
        assert answer.picked is not None and answer.bench is not None
        half = self._half_winding(texts, self.desk.known)
        unknown = (("inductance", half.henry), ("torque constant", half.holding_per_ampere))
        guessed = [what for what, value in unknown if value is None]
        return torque_of_connection(
            self.desk.motor, answer.picked, answer.bench, half.half(1.0), guessed, self.desk.own
        )

    def _leads(self, texts: Texts, known: Facts) -> int | None:
        leads = motor.lead_count(texts.get("leads", "")) or motor.two_phase_leads(known)
        if leads is None and Windings.stage in known:
            raise NotEnoughKnown("only two-phase motors with 4, 5, 6 or 8 leads are connected here")
        return leads

    def _half_winding(self, texts: Texts, known: Facts) -> HalfWinding:
        """What is known of one half-winding, typed or kept. Raises Missing, NotEnoughKnown, FieldProblem."""
        ratings = known.get(Ratings) or Ratings()
        leads = self._leads(texts, known)
        ohm = self.value(texts, "coil") or ratings.resistance_ohm or motor.half_winding_ohm(known)
        ampere = self.value(texts, "current") or ratings.current_ampere
        _check_enough(leads, ohm, ampere)
        told, measured = self.value(texts, "inductance") or ratings.inductance_henry, motor.measured_half(known)
        assert leads is not None and ohm is not None and ampere is not None
        return HalfWinding(
            leads=leads,
            ohm=ohm,
            ampere=ampere,
            henry=told or (None if measured is None else measured.henry),
            henry_words="" if told or measured is None else measured.words,
            holding_per_ampere=motor.rated_holding_per_ampere(known),
            steps_per_turn=360 / self._step_degree(texts, known),
            face_metre=motor.face_metre(known),
        )

    def _bench(self, texts: Texts, leads: int, at_hand: AtHand) -> Bench:
        from coilbench.rating.choice import Bench

        drive = texts.get("drive", "").strip() or at_hand.kind or ("unipolar" if leads == 5 else "bipolar")
        if drive not in ("bipolar", "unipolar"):
            raise FieldProblem("drive", f"{drive!r} is no kind of driver, expected bipolar or unipolar")
        typed = self.value(texts, "most")
        return Bench(
            drive=cast("Drive", drive),
            limit_peak_ampere=typed or at_hand.limit_peak_ampere,
            limit_words=AtHand().limit_words if typed else at_hand.limit_words,
            supply_volt=self.value(texts, "supply"),
            wanted_rev_per_second=self.value(texts, "speed"),
            chops=at_hand.chops,
        )

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
        return [Known("connect", f"{saved.connection}, {format_quantity(saved.current_ampere, 'ampere')} peak")]


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


def _of_speed(choice: Choice, motor_: HalfWinding, bench: Bench, pulls: Pulls) -> list[str]:
    """Where another connection would be ahead, and what the answer rests on that isn't known."""
    from coilbench.stages.connection.pulls import crossings

    if not pulls:
        several = len(choice.considered) > 1
        return ["judged by torque at rest: tell the supply, and the speed decides"] if several else []
    notes = crossings(choice, motor_.half(1.0), bench)
    if motor_.henry is None:
        notes.append(_of_inductance(choice, motor_, bench))
    if motor_.holding_per_ampere is None:
        notes.append(
            "how strong its magnet is isn't known: the back-EMF is taken as usual for such a winding; a spun shaft's "
            "volts tell it"
        )
    return notes


def _of_inductance(choice: Choice, motor_: HalfWinding, bench: Bench) -> str:
    """Whether the choice would hold with as little and as much inductance as such a winding may have."""
    from coilbench.quantity import format_quantity
    from coilbench.rating.typical import INDUCTANCE_TIMES
    from coilbench.stages.connection.pulls import strongest

    usual = format_quantity(motor_.half(1.0).henry, "henry", 2)
    taken = f"inductance not known: {usual} is usual, {INDUCTANCE_TIMES:g} times less or more is possible"
    if len(choice.considered) < 2:
        return taken
    less, more = (
        strongest(choice.considered, motor_.half(times), bench).connection
        for times in (1 / INDUCTANCE_TIMES, INDUCTANCE_TIMES)
    )
    others = [
        f"with {how} {name} is ahead" for how, name in (("less", less), ("more", more)) if name != choice.choose
    ]
    return f"{taken}; " + (f"{' and '.join(others)}: measure it" if others else "over that range the choice holds")
