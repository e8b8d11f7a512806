"""The ratings without a screen: texts and what is known of the motor in, a rating and what it rests on out."""

from __future__ import annotations

from contextlib import suppress
from typing import ClassVar

from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.ratings import Ratings, SoakEntry, SoakResult
from coilbench.stages import motor
from coilbench.stages.desk import Desk
from coilbench.stages.fitness import check_usable
from coilbench.stages.form import Field, FormStage, Missing, Texts
from coilbench.stages.ratings.answer import RatingsAnswer, known_of, lines_of
from coilbench.stages.ratings.fields import CAUTIONED, FIELDS, FORMS, SOAK_FIELDS, Form
from coilbench.stages.ratings.soak import COOLED, COOLING, OFF, LiveSoak, OffClock, live_soak
from coilbench.stages.stage import Known

OFF_NOW = "off now"  # what the person presses, for the words about it


class RatingsStage(FormStage[RatingsAnswer]):
    """Three small forms and what a label says. Face, length, step angle and label belong to the intake: they are
    read there, and kept there with the rating where they were typed here."""

    id = "ratings"
    ASKS = "what current can it take?"
    FIELDS: ClassVar[tuple[Field, ...]] = FIELDS
    FORMS: ClassVar[tuple[Form, ...]] = FORMS
    OFFERS = True

    def __init__(self, desk: Desk, clock: OffClock | None = None) -> None:
        super().__init__(desk)
        self.clock = clock or OffClock()

    # The fields

    def texts(self) -> dict[str, str]:
        from coilbench.stages.ratings.intake_fields import texts_with_intake

        known = self.desk.known
        saved, intake = known.get(Ratings) or Ratings(), known.get(Intake) or Intake()
        texts = texts_with_intake((saved.typed or _texts_of_figures(saved)) | self._live().texts, intake)
        if ohms := _measured(known):
            texts["coil"] = saved.typed.get("coil", ohms)
        return {each.id: texts.get(each.id, "") for each in self.FIELDS}

    def answer(self, texts: Texts) -> RatingsAnswer:
        from coilbench.rating import rate as engine
        from coilbench.rating.spin import USUAL_AC_LIMIT_HERTZ, drill_limit_rev_per_minute
        from coilbench.stages.ratings import figures

        known, texts = self.desk.known, figures.texts_with_face(texts)
        fit = check_usable(known)
        wanting: list[Missing] = []
        body, rise = figures.body(texts), figures.rise_kelvin(texts)
        label = figures.label(texts, known.get(Intake) or Intake())
        angle, counted = figures.step_angle(texts)
        if angle is None and label is not None:
            angle = label.step_angle_degree
        limit = self.value(texts, "limit") or USUAL_AC_LIMIT_HERTZ
        coil = self.value(texts, "coil")
        leads = motor.lead_count(texts.get("leads", "")) or motor.two_phase_leads(known)
        soak = figures.hot_soak(texts, _measured(known), wanting)
        alone = coil is None and body is None and label is None
        soaked = None if soak is None else soak.current_ampere
        if coil is None and soak is not None and not (alone and soaked is None):
            coil = soak.cold_ohm
        spin = figures.spin(texts, angle, limit, wanting)
        of_motor = engine.Known(
            coil_ohm=coil,
            body=body,
            rise_kelvin=rise,
            cold_celsius=figures.room_celsius(texts, "room"),
            label=label,
            step_angle_degree=angle,
            inductance_henry=figures.inductance_henry(texts, coil, wanting),
            spin=spin,
            holding_newton_metre=self.value(texts, "holds"),
            half_winding=None if leads is None else leads != 4,
            soaked_ampere=soaked,
            soaked_told=soak is None or soak.run is None or soak.run.told,
            soaked_range_ampere=None if soak is None or soak.currents is None else soak.currents[1:],
        )
        rating = None
        with suppress(NotEnoughKnown):
            rating = engine.rate(of_motor)
        of_spin = spin.notes if spin is not None else ()
        of_rating = rating.notes if rating is not None else ()
        remarks = [*of_rating, *of_spin, *counted, figures.detents_note(texts), *self.rung(texts)]
        told = tuple(each for each in (fit.line, *remarks, *map(str, wanting)) if each)
        return RatingsAnswer(
            lines=lines_of(rating, soak, spin),
            notes=(*told, *(soak.notes if soak is not None else ())),
            known=() if rating is None else known_of(rating),
            can_keep=rating is not None,
            rating=rating,
            soak=soak,
            spin=spin,
            step_angle_degree=angle,
            drill_limit_rpm=None if angle is None else drill_limit_rev_per_minute(angle, limit),
            limit_hertz=limit,
            run_ampere=None if (run := figures.ran_with(texts)) is None else run.ampere,
            convention=engine.convention(leads),
            soak_alone=alone,
            remarks=told,
            wanting=tuple(wanting),
            cautions=self.cautions(texts),
        )

    @classmethod
    def cautions(cls, texts: Texts) -> tuple[str, ...]:
        """What to beware of with what these texts say was done, for lines that show no form."""
        caution_of = {form.id: form.caution for form in cls.FORMS}
        return tuple(caution_of[form] for form, own in CAUTIONED if any(texts.get(each, "").strip() for each in own))

    def keep(self, texts: Texts) -> RatingsAnswer:
        from coilbench.stages.ratings.figures import texts_with_face
        from coilbench.stages.ratings.intake_fields import intake_as_typed

        texts = texts_with_face(texts)
        answer = self.answer(texts)
        rating = answer.rating
        if rating is None:
            raise Missing(("coil",), "nothing to save yet: a coil's cold ohms are needed, and the face's size helps")
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
        intake = intake_as_typed(texts, before)
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
        return [Known("current", f"start {start} RMS, {low} to {high} a coil")]

    # The temperature-rise test, entry by entry

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
        from coilbench.stages.ratings.figures import ran_with

        try:
            if field_id == "run":
                return ran_with({"run": text}) is not None or not text.strip()
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
        saved = self.desk.known.get(Ratings) or Ratings()
        return live_soak(self.desk.entries(SoakEntry)[saved.soak_entries :])

    # What is kept

    def _to_keep(self, texts: Texts, known: Facts) -> dict[str, str]:
        """The texts but those that follow from what another stage holds; ohms cleared on purpose stay so."""
        typed = self.typed(texts) | {"coil": texts.get("coil", "").strip()}
        if typed["coil"] == _measured(known):
            del typed["coil"]
        return typed


def _measured(known: Facts) -> str:
    """The cold ohms as the windings told them; empty where they didn't."""
    ohm = motor.half_winding_ohm(known)
    return "" if ohm is None else f"{ohm:.3g} ohm"


def _texts_of_figures(saved: Ratings) -> dict[str, str]:
    """The fields of a rating that was kept without them, as far as its figures tell."""
    figures = (
        ("coil", saved.resistance_ohm, 1, "ohm"),
        ("henry", saved.inductance_henry, 1000, "mH"),
        ("step", saved.step_angle_degree, 1, "deg"),
    )
    return {field_id: f"{value * times:g} {unit}" for field_id, value, times, unit in figures if value is not None}
