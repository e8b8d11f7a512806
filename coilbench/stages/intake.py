"""The intake: name, leads, frame size, label. Every field may stay empty."""

from __future__ import annotations

from typing import ClassVar

from coilbench.cautions import FROM_THE_MAINS, MAINS
from coilbench.errors import InputProblem
from coilbench.plain_text import cleaned
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.stages.form import Answer, Field, FormStage, Texts
from coilbench.stages.stage import Known

_FACT = {"frame": "frame", "diameter": "diameter_metre", "length": "length_metre", "label": "label",
         "step": "step_angle_degree"}  # fmt: skip


class IntakeStage(FormStage[Answer]):
    """A short form about what can be seen."""

    id = "intake"
    TITLE = "what the motor looks like"
    ASKS = "what does the motor look like?"
    CAUTION = f"{FROM_THE_MAINS}; {MAINS}"
    FIELDS_APART = True
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("name", "name", help="As on the tape round the motor; all that is known of it stays under a new name."),
        Field(
            "leads",
            "leads",
            help="Their names, as when the motor was added; one that has readings must stay.",
        ),
        Field(
            "frame",
            "face plate",
            "NEMA 17",
            "Square motors: NEMA 17 is 42 mm across the face, NEMA 23 is 57 mm, NEMA 34 is 86 mm. Round: tin can.",
        ),
        Field("diameter", "across", "35 mm", "A round can's diameter, or the face plate's side.", "metre", bare="mm"),
        Field("length", "length", "40 mm", "The body's length without the shaft.", "metre", bare="mm"),
        Field(
            "label",
            "label says",
            "12V 75 ohm",
            "Anything printed on it: volts, amps, ohms, steps. Copy it as printed.",
        ),
        Field(
            "step",
            "step angle",
            "1.8",
            "Degrees of one full step, if printed: 1.8, 0.9, 7.5, 15.",
            "degree",
            bare="degree",
        ),
    )

    def texts(self) -> dict[str, str]:
        intake = self.desk.known.get(Intake) or Intake()
        texts = {"name": self.desk.motor, "leads": ", ".join(self.desk.leads)}
        for field_id, key in _FACT.items():
            texts[field_id] = typed_again(getattr(intake, key), self.field(field_id).unit)
        return texts

    def answer(self, texts: Texts) -> Answer:
        self._fact(texts)
        return Answer()

    def keep(self, texts: Texts) -> Answer:
        from coilbench.winding.readings.leads import parse_leads

        fact = self._fact(texts)  # first: what can't be read must not leave the form half saved
        try:
            leads = parse_leads(texts.get("leads", ""))
        except InputProblem as problem:
            raise self.field("leads").problem(problem.happened) from None
        name = texts.get("name", "").strip()
        if name in {each.name for each in self.desk.bin.motors()} - {self.desk.motor}:
            raise self.field("name").problem(f"there is a motor {name!r} already, expected another name")
        self.desk.keep(self.id, fact, leads=leads if leads != self.desk.leads else None)
        if name != self.desk.motor:
            self.desk.rename(name)
        return Answer()

    def _fact(self, texts: Texts) -> Intake:
        given = {
            key: cleaned(texts.get(field_id, "")).strip() or None
            if self.field(field_id).unit is None
            else self.value(texts, field_id)
            for field_id, key in _FACT.items()
        }
        return Intake(**given)  # type: ignore[arg-type]

    @classmethod
    def summary(cls, known: Facts) -> list[Known]:
        intake = known.get(Intake) or Intake()
        lines = [Known(name, text) for name, text in (("frame size", intake.frame), ("label", intake.label)) if text]
        if intake.step_angle_degree:
            lines.append(Known("step", f"{intake.step_angle_degree:g}°"))
        return lines


def typed_again(value: float | str | None, unit: str | None) -> str:
    """A saved value as it can be typed again."""
    if value is None:
        return ""
    if unit == "metre" and isinstance(value, float):
        return f"{value * 1000:g} mm"
    return f"{value:g}" if isinstance(value, float) else str(value)
