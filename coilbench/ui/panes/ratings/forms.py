"""What is typed in the ratings stage, and what it comes to."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from coilbench.errors import InputProblem

if TYPE_CHECKING:
    from coilbench.rating.frames import Body
    from coilbench.rating.rate import Rating
    from coilbench.rating.soak import SoakResult
    from coilbench.rating.spin import Spin

FormId = Literal["size", "soak", "spin"]


@dataclass(frozen=True, slots=True)
class RatingField:
    """One field of a form: a short label for a narrow column, the help for F1, and the unit its figure has."""

    id: str
    form: FormId
    label: str
    hint: str
    help: str
    unit: str | None = None
    positive: bool = True


FIELDS: tuple[RatingField, ...] = (
    RatingField("face", "size", "face", "NEMA 17", "The face plate: NEMA 17, 17, 42mm; a round one: 35 mm can."),
    RatingField(
        "length", "size", "length", "40 mm", "The body without its shaft. Left out, the range gets wider.", "metre"
    ),
    RatingField(
        "coil",
        "size",
        "cold ohms",
        "30 ohm",
        "Ohms of one coil, the motor cold; with 5, 6 and 8 leads of one half-winding: end to its tap.",
        "ohm",
    ),
    RatingField(
        "rise",
        "size",
        "rise",
        "80 K",
        "How much warmer than the room the winding may get. 80 K is usual (class B), 40 K for round tin cans, which "
        "are often class A. The value to start with never asks more than class A, 60 K.",
        "kelvin",
    ),
    RatingField(
        "henry",
        "size",
        "inductance",
        "3.2 mH",
        "Of the same winding as the ohms, from a meter; or the time to 63 % of the final current, such as 2 ms.",
        "henry",
    ),
    RatingField(
        "probes",
        "soak",
        "probes",
        "0.2 ohm",
        "First of all: what the meter reads with its probes held together. Left in, it hides some of the rise.",
        "ohm",
        positive=False,
    ),
    RatingField(
        "cold", "soak", "cold", "2.8 ohm", "The coil before the run, motor at the room's temperature.", "ohm"
    ),
    RatingField(
        "room",
        "soak",
        "room",
        "25 C",
        "The room's temperature when the cold reading was taken.",
        "celsius",
        positive=False,
    ),
    RatingField(
        "run",
        "soak",
        "run at",
        "0.5 A",
        "Current through each of two coils in the run: motor at rest, half an hour or until it gets no warmer.",
        "ampere",
    ),
    RatingField(
        "hot",
        "soak",
        "hot",
        "3.6 ohm",
        "The same coil as soon as it is off: supply off, motor off the driver, then the probes.",
        "ohm",
    ),
    RatingField(
        "after",
        "soak",
        "cooling",
        "30s:3.55",
        "More readings with their time since switching off, such as 30s:3.55,60s:3.5; the line back through them "
        "finds the hottest moment.",
    ),
    RatingField(
        "room2",
        "soak",
        "room then",
        "25 C",
        "The room's temperature at the end, where it has changed.",
        "celsius",
        positive=False,
    ),
    RatingField(
        "step",
        "spin",
        "step",
        "1.8 deg",
        "Step angle, or steps (detents felt) counted in one turn, such as 200 steps.",
        "degree",
    ),
    RatingField(
        "volts", "spin", "AC volts", "7.2 V", "Across one coil (half-winding) while the shaft is spun.", "volt"
    ),
    RatingField("hertz", "spin", "hertz", "435 Hz", "The frequency the meter shows beside the volts.", "hertz"),
    RatingField(
        "drill", "spin", "or drill", "520 rpm", "The drill's speed, where the meter shows no frequency.", "hertz"
    ),
)
BY_ID = {each.id: each for each in FIELDS}


@dataclass(frozen=True, slots=True)
class Worked:
    """What the forms come to; ``rating`` is None while no current can be given."""

    rating: Rating | None
    soak: SoakResult | None = None
    soak_current_ampere: float | None = None
    spin: Spin | None = None
    drill_limit_rpm: float | None = None
    step_angle_degree: float | None = None
    notes: tuple[str, ...] = field(default_factory=tuple)


def work_out(texts: Mapping[str, str], intake: Mapping[str, Any] | None = None) -> Worked:
    """Everything the typed texts and the saved intake say together.

    Raises InputProblem with the field's label for what can't be read.
    """
    from coilbench.errors import NotEnoughKnown
    from coilbench.rating.label import kept_label
    from coilbench.rating.rate import Known, rate
    from coilbench.rating.spin import drill_limit_rev_per_minute

    body = _body(texts)
    coil = _value(texts, "coil")
    rise = _value(texts, "rise")
    label = kept_label((intake or {}).get("label"))
    angle, notes = _step_angle(texts)
    if angle is None and label is not None:
        angle = label.step_angle_degree
    spin = _spin(texts, angle)
    soak, soak_current = _soak(texts, rise, body)
    known = Known(
        coil_ohm=coil,
        body=body,
        rise_kelvin=rise,
        label=label,
        step_angle_degree=angle,
        inductance_henry=_inductance(texts, coil),
        spin=spin,
        soaked_ampere=soak_current,
    )
    try:
        rating: Rating | None = rate(known) if coil or soak_current or label else None
    except NotEnoughKnown:
        rating = None
    return Worked(
        rating=rating,
        soak=soak,
        soak_current_ampere=soak_current,
        spin=spin,
        drill_limit_rpm=drill_limit_rev_per_minute(angle) if angle else None,
        step_angle_degree=angle,
        notes=notes,
    )


def _value(texts: Mapping[str, str], field_id: str) -> float | None:
    """What is typed in a field, in its unit."""
    from coilbench.quantity import QuantityError, parse_quantity

    text, field = texts.get(field_id, "").strip(), BY_ID[field_id]
    if not text or field.unit is None:
        return None
    try:
        return parse_quantity(text, field.unit, bare=True, positive=field.positive)
    except QuantityError as problem:
        raise InputProblem(f"{field.label}: {problem.happened}") from None


def readable(field_id: str, text: str) -> bool:
    """Whether a field of the hot soak can be worked with as typed; an empty one can."""
    from coilbench.rating.soak import parse_cooling

    try:
        _value({field_id: text}, field_id)
        if field_id == "after" and text.strip():
            parse_cooling(text)
    except InputProblem:
        return False
    return True


def length_metre(texts: Mapping[str, str]) -> float | None:
    """The body's length as typed; a bare number in this field can only be millimetres."""
    return _value(_with_unit(texts, "length", "mm"), "length")


def _with_unit(texts: Mapping[str, str], field_id: str, unit: str) -> dict[str, str]:
    text = texts.get(field_id, "").strip()
    return {field_id: f"{text} {unit}" if re.fullmatch(r"[0-9.,]+", text) else text}


def _body(texts: Mapping[str, str]) -> Body | None:
    from coilbench.rating.frames import body_of

    face = texts.get("face", "").strip()
    length = length_metre(texts)
    return body_of(face, None, length) if face else None


def _step_angle(texts: Mapping[str, str]) -> tuple[float | None, tuple[str, ...]]:
    from coilbench.rating.spin import check_step_angle, step_angle_from_count

    text = texts.get("step", "").strip()
    counted = re.fullmatch(r"([0-9]{1,5})\s*(?:steps?|detents?)", text, re.IGNORECASE)
    if counted:
        return step_angle_from_count(int(counted.group(1)))
    angle = _value(texts, "step")
    return (check_step_angle(angle) if angle is not None else None), ()


def _inductance(texts: Mapping[str, str], coil_ohm: float | None) -> float | None:
    from coilbench.quantity import QuantityError, parse_quantity
    from coilbench.rating.spin import inductance_from_time_constant

    text = texts.get("henry", "").strip()
    if not text:
        return None
    try:
        second = parse_quantity(text, "second")
    except QuantityError:
        return _value(texts, "henry")
    return inductance_from_time_constant(second, coil_ohm) if coil_ohm else None


def _spin(texts: Mapping[str, str], angle: float | None) -> Spin | None:
    from coilbench.rating.spin import judge_spin

    volts = _value(texts, "volts")
    hertz = _value(texts, "hertz")
    turns = _value(_with_unit(texts, "drill", "rpm"), "drill")
    if volts is None or angle is None or (hertz is None and turns is None):
        return None
    return judge_spin(volts, angle, hertz, None if hertz is not None else turns)


def _soak(texts: Mapping[str, str], rise: float | None, body: Body | None) -> tuple[SoakResult | None, float | None]:
    from coilbench.rating.copper import ROOM_CELSIUS
    from coilbench.rating.current import usual_rise_kelvin
    from coilbench.rating.soak import Soak, current_for_wanted_rise, judge_soak, parse_cooling, usual_step_ohm

    cold = _value(texts, "cold")
    hot = _value(texts, "hot")
    after = texts.get("after", "").strip()
    if cold is None or (hot is None and not after):
        return None, None
    room = _value(texts, "room")
    room = ROOM_CELSIUS if room is None else room
    then = _value(texts, "room2")
    probes = texts.get("probes", "").strip()
    soak = Soak(
        cold_ohm=cold,
        cold_celsius=room,
        ambient_celsius=room if then is None else then,
        hot_ohm=hot,
        cooling=parse_cooling(after) if after else (),
        step_ohm=usual_step_ohm([texts["cold"], *([texts["hot"]] if hot else [])]),
        probes_ohm=_value(texts, "probes") if probes else None,
    )
    result = judge_soak(soak)
    run = _value(texts, "run")
    if run is None or result.rise_kelvin <= 0:
        return result, None
    wanted = rise if rise is not None else usual_rise_kelvin(body)
    return result, current_for_wanted_rise(run, result.rise_kelvin, wanted, soak.ambient_celsius)
