"""The ratings without a screen: texts and what is known of the motor in, a rating and what it rests on out."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.ratings import Ratings, SoakEntry, SoakResult
from coilbench.stages import motor
from coilbench.stages.desk import Desk
from coilbench.stages.fitness import check_usable
from coilbench.stages.form import Field, FieldProblem, FormStage, Missing, Texts
from coilbench.stages.ratings.answer import HotSoak, RatingsAnswer, known_of, lines_of
from coilbench.stages.ratings.fields import FIELDS, FORMS, SOAK_FIELDS, Form
from coilbench.stages.ratings.soak import COOLED, COOLING, OFF, LiveSoak, OffClock, live_soak
from coilbench.stages.stage import Known

if TYPE_CHECKING:
    from coilbench.rating import rate as engine
    from coilbench.rating.frames import Body
    from coilbench.rating.label import Label
    from coilbench.rating.spin import Spin

OFF_NOW = "off now"  # what the person presses, for the words about it
_ROOM_RANGE_CELSIUS = (-40.0, 100.0)
_COUNTED = re.compile(r"(\S+?)\s*(?:steps?|detents?)(?:\s+(?:in|over)\s+(\S+?)\s*turns?)?", re.IGNORECASE)
_STEPS, _TURNS = re.compile(r"[0-9]{1,5}"), re.compile(r"[0-9]{1,3}(?:[.,][0-9]{1,3})?")


class RatingsStage(FormStage[RatingsAnswer]):
    """Three small forms and what a label says. Face, length, step angle and label belong to the intake: they are
    read there, and kept there with the rating where they were typed here."""

    id = "ratings"
    FIELDS: ClassVar[tuple[Field, ...]] = FIELDS
    FORMS: ClassVar[tuple[Form, ...]] = FORMS

    def __init__(self, desk: Desk, clock: OffClock | None = None) -> None:
        super().__init__(desk)
        self.clock = clock or OffClock()

    # The fields

    def texts(self) -> dict[str, str]:
        known = self.desk.known
        saved, intake = known.get(Ratings) or Ratings(), known.get(Intake) or Intake()
        texts = dict(saved.typed) or _texts_of_figures(saved)
        counted, own = texts.get("step", ""), _of_intake(intake)
        texts |= self._live().texts
        for field_id, meaning in self._meanings().items():
            texts[field_id] = _as_typed(texts.get(field_id, ""), own[field_id], meaning)
        if not own["step"]:  # as earlier versions kept it, with the rating alone
            texts["step"] = counted
        if ohms := _measured(known):
            texts["coil"] = saved.typed.get("coil", ohms)
        return {each.id: texts.get(each.id, "") for each in self.FIELDS}

    def answer(self, texts: Texts) -> RatingsAnswer:
        from coilbench.rating import rate as engine
        from coilbench.rating.copper import ROOM_CELSIUS
        from coilbench.rating.spin import USUAL_AC_LIMIT_HERTZ, drill_limit_rev_per_minute

        known, texts = self.desk.known, self._with_face(texts)
        fit = check_usable(known)
        wanting: list[Missing] = []
        body, rise, label = self._body(texts), self._rise(texts), self._label(texts, known)
        angle, counted = self._step_angle(texts)
        if angle is None and label is not None:
            angle = label.step_angle_degree
        limit = self.value(texts, "limit") or USUAL_AC_LIMIT_HERTZ
        coil = self.value(texts, "coil")
        soak = self._soak(texts, rise, body, _measured(known), wanting)
        alone = coil is None and body is None and label is None
        soaked = None if soak is None else soak.current_ampere
        if coil is None and soak is not None and not (alone and soaked is None):
            coil = soak.cold_ohm
        spin = self._spin(texts, angle, wanting)
        of_motor = engine.Known(
            coil_ohm=coil,
            body=body,
            rise_kelvin=rise,
            cold_celsius=self._room(texts, "room", ROOM_CELSIUS),
            label=label,
            step_angle_degree=angle,
            inductance_henry=self._inductance(texts, coil, wanting),
            spin=spin,
            soaked_ampere=soaked,
        )
        rating = _rating(of_motor)
        remarks = [fit.line, *(rating.notes if rating is not None else ()), *counted, self._detents(texts)]
        remarks += [str(each) for each in wanting]
        told = tuple(each for each in remarks if each)
        return RatingsAnswer(
            lines=lines_of(rating, soak, spin),
            notes=(*told, *(soak.result.notes if soak is not None else ())),
            known=() if rating is None else known_of(rating),
            can_keep=rating is not None,
            rating=rating,
            soak=soak,
            spin=spin,
            step_angle_degree=angle,
            drill_limit_rpm=None if angle is None else drill_limit_rev_per_minute(angle, limit),
            limit_hertz=limit,
            run_ampere=self.value(texts, "run"),
            convention=engine.convention(motor.lead_count(texts.get("leads", "")) or motor.two_phase_leads(known)),
            soak_alone=alone,
            remarks=told,
            wanting=tuple(wanting),
        )

    def keep(self, texts: Texts) -> RatingsAnswer:
        texts = self._with_face(texts)
        answer = self.answer(texts)
        rating = answer.rating
        if rating is None:
            what = "nothing to save yet: a coil's cold ohms are needed, and the face's size helps"
            raise Missing(("coil",), what)
        known = self.desk.known
        soak = None if answer.soak is None else answer.soak.result
        fact = Ratings(
            current_ampere=rating.start_ampere,  # the cautious one; the range stands beside it
            estimate_ampere=rating.estimate_ampere,
            low_ampere=rating.low_ampere,
            high_ampere=rating.high_ampere,
            rise_kelvin=rating.rise_kelvin,
            resistance_ohm=rating.coil_ohm,
            inductance_henry=rating.inductance_henry,
            holding_torque_newton_metre=rating.holding_torque_newton_metre,
            step_angle_degree=rating.step_angle_degree,
            basis=rating.basis,
            soak=None
            if soak is None
            else SoakResult(
                winding_celsius=soak.winding_celsius,
                rise_kelvin=soak.rise_kelvin,
                plus_minus_kelvin=soak.plus_minus_kelvin,
                thermal_class=soak.thermal_class,
            ),
            typed=self._to_keep(texts, known),
            soak_entries=len(self.desk.entries(SoakEntry)),
        )
        before = known.get(Intake) or Intake()
        intake = self._intake(texts, before)
        self.desk.keep(self.id, fact, *(() if intake == before else (intake,)))
        return answer

    @classmethod
    def summary(cls, known: Facts) -> list[Known]:
        from coilbench.quantity import format_quantity

        saved = known.get(Ratings) or Ratings()
        amperes = [saved.current_ampere, saved.low_ampere, saved.high_ampere]
        if not all(amperes):
            return []
        start, low, high = (format_quantity(each, "ampere") for each in amperes if each)
        return [Known("current", f"start {start}, {low} to {high} a coil")]

    # The hot soak, entry by entry

    @property
    def second_since_off(self) -> float | None:
        """Seconds since the supply went off in the soak at work; None where no clock runs."""
        return self.clock.second(self._live().off_time)

    def keep_entries(self, texts: Texts) -> bool:
        """Keep the fields of the soak at once, those that say something new and can be read; whether any did."""
        if self.desk.read_only:
            return False
        before = self.texts()
        new = {each: texts.get(each, "").strip() for each in SOAK_FIELDS}
        new = {each: text for each, text in new.items() if text != before[each] and self.readable(each, text)}
        for field_id, text in new.items():
            self.desk.add(SoakEntry(soak=field_id, text=text))
        return bool(new)

    def readable(self, field_id: str, text: str) -> bool:
        """Whether a field of the soak can be worked with as typed; an empty one can."""
        from coilbench.rating.soak import parse_cooling

        try:
            self.value({field_id: text}, field_id)
            if field_id == COOLING and text.strip():
                parse_cooling(text)
        except InputProblem:
            return False
        return True

    def switch_off(self) -> None:
        """The supply went off this moment."""
        self.desk.add(SoakEntry(soak=OFF))
        self.clock.second(self._live().off_time)  # it counts from here

    def cool(self, text: str) -> None:
        """A reading of this moment, while the coil cools. Raises InputProblem."""
        from coilbench.quantity import parse_reading
        from coilbench.rating.soak import parse_cooling

        second = self.second_since_off
        if second is None:
            raise InputProblem(f'press "{OFF_NOW}" as you switch the supply off, then read')
        parse_reading(text)
        whole = max(1, round(second))
        parse_cooling(f"{whole}s:{text.strip()}")
        self.desk.add(SoakEntry(soak=COOLED, second=whole, text=text.strip()))

    def _live(self) -> LiveSoak:
        saved = self.desk.known.get(Ratings)
        return live_soak(self.desk.entries(SoakEntry)[saved.soak_entries if saved is not None else 0 :])

    # What is typed

    def _with_face(self, texts: Texts) -> Texts:
        """The texts, a can's diameter written as its face."""
        from coilbench.rating.frames import body_of

        across = self.value(texts, "diameter")
        if across is None:
            return texts
        body_of(texts.get("face", "").strip() or None, across)
        return {**texts, "face": f"{across * 1000:g} mm can", "diameter": ""}

    def _body(self, texts: Texts) -> Body | None:
        from coilbench.rating.frames import body_of

        return body_of(texts.get("face", "").strip() or None, None, self.value(texts, "length"))

    def _rise(self, texts: Texts) -> float | None:
        from coilbench.rating.current import LEAST_RISE_KELVIN, MOST_RISE_KELVIN

        rise = self.value(texts, "rise")
        if rise is not None and not LEAST_RISE_KELVIN <= rise <= MOST_RISE_KELVIN:
            raise self._problem("rise", f"{rise:g} K: expected {LEAST_RISE_KELVIN:g} to {MOST_RISE_KELVIN:g} K")
        return rise

    def _room(self, texts: Texts, field_id: str, otherwise: float) -> float:
        celsius, (least, most) = self.value(texts, field_id), _ROOM_RANGE_CELSIUS
        if celsius is None:
            return otherwise
        if not least <= celsius <= most:
            what = f"{celsius:g} C: expected a room's temperature, {least:g} to {most:g} C"
            raise self._problem(field_id, what)
        return celsius

    def _label(self, texts: Texts, known: Facts) -> Label | None:
        """The label: as it was copied at the intake it may say nothing of use."""
        from coilbench.rating.label import kept_label, read_label

        text = texts.get("label", "").strip()
        if text == _of_intake(known.get(Intake) or Intake())["label"]:
            return kept_label(text)
        return read_label(text) if text else None

    def _step_angle(self, texts: Texts) -> tuple[float | None, tuple[str, ...]]:
        """The step angle in degree as typed or counted, and what is to be said of it."""
        from coilbench.rating.spin import check_step_angle, step_angle_from_count

        text = texts.get("step", "").strip()
        counted = _COUNTED.fullmatch(text)
        if counted is None:
            angle = self.value(texts, "step")
            return (None if angle is None else check_step_angle(angle)), ()
        steps, turns = counted[1], counted[2] or "1"
        if not _STEPS.fullmatch(steps) or int(steps) == 0:
            raise self._problem("step", f"{steps!r}: expected a whole number of steps, 4 to 99999")
        if not _TURNS.fullmatch(turns) or float(turns.replace(",", ".")) == 0:
            raise self._problem("step", f"{turns!r}: expected a number of turns above zero")
        return step_angle_from_count(int(steps), float(turns.replace(",", ".")))

    def _inductance(self, texts: Texts, coil_ohm: float | None, wanting: list[Missing]) -> float | None:
        from coilbench.quantity import QuantityError, parse_quantity
        from coilbench.rating.spin import inductance_from_time_constant

        try:
            second = parse_quantity(texts.get("henry", ""), "second")
        except QuantityError:
            return self.value(texts, "henry")
        if coil_ohm is None:
            wanting.append(Missing(("coil",), "a time constant needs the coil's ohms", remedy="measure them cold"))
            return None
        return inductance_from_time_constant(second, coil_ohm)

    def _detents(self, texts: Texts) -> str:
        from coilbench.rating.spin import DETENT_NOTES

        text = texts.get("detents", "").strip()
        if text and text not in DETENT_NOTES:
            raise self._problem("detents", f"{text!r}: expected {', '.join(DETENT_NOTES)}")
        return DETENT_NOTES.get(text, "")

    def _spin(self, texts: Texts, angle: float | None, wanting: list[Missing]) -> Spin | None:
        from coilbench.rating.spin import judge_spin

        volts, hertz, turns = (self.value(texts, each) for each in ("volts", "hertz", "drill"))
        if volts is None and hertz is None and turns is None:
            return None
        if volts is None:
            wanting.append(Missing(("volts",), "a spun shaft without its volts", remedy="read them across one coil"))
        elif hertz is None and turns is None:
            what = "the spun coil's volts need their frequency or the drill's speed"
            wanting.append(Missing(("hertz", "drill"), what, remedy="read the hertz beside the volts"))
        elif angle is None:
            do = "count the steps of a turn"
            wanting.append(Missing(("step",), "a spun shaft needs the step angle", remedy=do))
        else:
            return judge_spin(volts, angle, hertz, None if hertz is not None else turns)
        return None

    def _soak(
        self, texts: Texts, rise: float | None, body: Body | None, measured: str, wanting: list[Missing]
    ) -> HotSoak | None:
        """``measured``: the ohms that the windings told, which no probes are in any more, unlike in the hot ones."""
        from coilbench.rating.copper import COPPER_KELVIN, ROOM_CELSIUS
        from coilbench.rating.current import usual_rise_kelvin
        from coilbench.rating.soak import Soak, current_for_wanted_rise, judge_soak, parse_cooling, usual_step_ohm

        hot_text, after = (texts.get(each, "").strip() for each in ("hot", COOLING))
        cold_id = "cold" if texts.get("cold", "").strip() or texts.get("coil", "").strip() == measured else "coil"
        cold, hot = self.value(texts, cold_id), self.value(texts, "hot")
        if hot is None and not after:
            if cold_id == "cold" and cold is not None:
                do = "read the coil again after a run"
                wanting.append(Missing(("hot", COOLING), "a cold reading alone", remedy=do))
            return None
        if cold is None:
            do = "read the coil before a run, too"
            wanting.append(Missing(("cold",), "a hot reading needs the cold one", remedy=do))
            return None
        room = self._room(texts, "room", ROOM_CELSIUS)
        probes = self.value(texts, "probes")
        if probes is not None and probes < 0:
            raise self._problem("probes", f"{texts['probes'].strip()!r}: expected zero or more")
        constants = {str(name): kelvin for name, kelvin in COPPER_KELVIN.items()}
        constants |= {f"{kelvin:g}": kelvin for kelvin in COPPER_KELVIN.values()}
        constant = texts.get("constant", "").strip() or "iec"
        if constant not in constants:
            raise self._problem("constant", f"{constant!r}: expected {', '.join(constants)}")
        soak = Soak(
            cold_ohm=cold,
            cold_celsius=room,
            ambient_celsius=self._room(texts, "room2", room),
            hot_ohm=hot,
            cooling=parse_cooling(after) if after else (),
            step_ohm=self.value(texts, "digit")
            or usual_step_ohm([texts[cold_id], *([hot_text] if hot_text else [])]),
            probes_ohm=probes,
            constant_kelvin=constants[constant],
        )
        result, run = judge_soak(soak), self.value(texts, "run")
        wanted, current = rise if rise is not None else usual_rise_kelvin(body), None
        if run is not None:
            try:
                current = current_for_wanted_rise(
                    run, result.rise_kelvin, wanted, soak.ambient_celsius, soak.constant_kelvin
                )
            except NotEnoughKnown as problem:
                wanting.append(Missing(("hot",), problem.happened, remedy=problem.remedy))
        return HotSoak(soak, result, wanted, current)

    def _problem(self, field_id: str, what: str) -> FieldProblem:
        return FieldProblem(field_id, what, label=self.field(field_id).label)

    # What is kept

    def _to_keep(self, texts: Texts, known: Facts) -> dict[str, str]:
        """The texts but those that follow from what another stage holds; ohms cleared on purpose stay so."""
        typed = self.typed(texts)
        if measured := _measured(known):
            typed["coil"] = texts.get("coil", "").strip()
            if typed["coil"] == measured:
                del typed["coil"]
        return typed

    def _meanings(self) -> dict[str, Callable[[str], object]]:
        """What belongs to the intake: how a text of it is compared with another."""
        from coilbench.rating.frames import body_of

        def metre(text: str) -> float | None:
            length = self.value({"length": text}, "length")
            return None if length is None else round(length, 7)

        return {
            "face": lambda text: body_of(text.strip() or None),
            "length": metre,
            "step": lambda text: self._step_angle({"step": text})[0],
            "label": str.strip,
        }

    def _intake(self, texts: Texts, before: Intake) -> Intake:
        """The intake with what was typed here: one truth, whichever stage it was typed in."""
        meanings, own, after = self._meanings(), _of_intake(before), before

        def differs(field_id: str) -> bool:
            meaning = meanings[field_id]
            return meaning(texts.get(field_id, "")) != meaning(own[field_id])

        if differs("face"):
            from coilbench.rating.frames import body_of

            face = texts.get("face", "").strip()
            body = body_of(face or None)
            can = body is not None and body.round_can
            across = body.face_metre if body is not None and can else None
            after = replace(after, frame=None if can else face or None, diameter_metre=across)
        if differs("length"):
            after = replace(after, length_metre=self.value(texts, "length"))
        if differs("step"):
            after = replace(after, step_angle_degree=self._step_angle(texts)[0])
        if differs("label"):
            after = replace(after, label=texts.get("label", "").strip() or None)
        return after


def _rating(known: engine.Known) -> engine.Rating | None:
    from coilbench.rating.rate import rate

    try:
        return rate(known)
    except NotEnoughKnown:
        return None


def _measured(known: Facts) -> str:
    """The cold ohms as the windings told them; empty where they didn't."""
    ohm = motor.half_winding_ohm(known)
    return "" if ohm is None else f"{ohm:.3g} ohm"


def _of_intake(intake: Intake) -> dict[str, str]:
    """What the intake holds of the fields that belong to it. A frame in words alone ("tin can") leaves its diameter
    to speak."""
    from coilbench.rating.frames import body_of

    face = (intake.frame or "").strip()
    try:
        body_of(face or None)
    except InputProblem:
        face = ""
    if not face and intake.diameter_metre:
        face = f"{intake.diameter_metre * 1000:g} mm can"
    return {
        "face": face,
        "length": "" if intake.length_metre is None else f"{intake.length_metre * 1000:g} mm",
        "step": "" if intake.step_angle_degree is None else f"{intake.step_angle_degree:g} deg",
        "label": (intake.label or "").strip(),
    }


def _as_typed(typed: str, own: str, meaning: Callable[[str], object]) -> str:
    """What was typed, where it still means what the intake holds; else that."""
    try:
        return typed if typed and meaning(typed) == meaning(own) else own
    except InputProblem:
        return own


def _texts_of_figures(saved: Ratings) -> dict[str, str]:
    """The fields of a rating that was kept without them, as far as its figures tell."""
    figures = (
        ("coil", saved.resistance_ohm, 1, "ohm"),
        ("henry", saved.inductance_henry, 1000, "mH"),
        ("step", saved.step_angle_degree, 1, "deg"),
    )
    return {field_id: f"{value * times:g} {unit}" for field_id, value, times, unit in figures if value is not None}
