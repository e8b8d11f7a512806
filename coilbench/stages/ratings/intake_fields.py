"""Face, length, step angle and label belong to the intake: the ratings read them there, and keep them there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from coilbench.errors import InputProblem
from coilbench.rating.frames import body_of
from coilbench.records.saved.intake import Intake
from coilbench.stages.form import Texts
from coilbench.stages.ratings import figures
from coilbench.stages.ratings.fields import BY_ID


def texts_with_intake(texts: Texts, intake: Intake) -> dict[str, str]:
    """The texts, with the intake's where what was typed doesn't mean what the intake holds."""
    own = _texts_of(intake)
    shared = {each: _as_typed(texts.get(each, ""), own[each], meaning) for each, meaning in _MEANINGS.items()}
    if not own["step"]:  # as earlier versions kept it, with the rating alone
        shared["step"] = texts.get("step", "")
    return {**texts, **shared}


def intake_as_typed(texts: Texts, before: Intake) -> Intake:
    """The intake with what was typed here: one truth, whichever stage it was typed in."""
    own, after = _texts_of(before), before
    changed = [each for each, meaning in _MEANINGS.items() if meaning(texts.get(each, "")) != meaning(own[each])]
    if "face" in changed:
        face = texts.get("face", "").strip() or None
        body = body_of(face)
        across = body.face_metre if body is not None and body.round_can else None
        after = replace(after, frame=None if across else face, diameter_metre=across)
    if "length" in changed:
        after = replace(after, length_metre=BY_ID["length"].figure(texts.get("length", "")))
    if "step" in changed:
        after = replace(after, step_angle_degree=figures.step_angle(texts)[0])
    if "label" in changed:
        after = replace(after, label=texts.get("label", "").strip() or None)
    return after


def _texts_of(intake: Intake) -> dict[str, str]:
    """What the intake holds of the fields that belong to it. A frame in words alone ("tin can") leaves its diameter
    to speak."""
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


def _metre(text: str) -> float | None:
    length = BY_ID["length"].figure(text)
    return None if length is None else round(length, 7)


_MEANINGS: dict[str, Callable[[str], object]] = {  # how a text is compared with another
    "face": lambda text: body_of(text.strip() or None),
    "length": _metre,
    "step": lambda text: figures.step_angle({"step": text})[0],
    "label": str.strip,
}
