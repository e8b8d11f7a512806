"""What motors print on their labels, and whether it agrees with the meter."""

from __future__ import annotations

import re
from dataclasses import dataclass

from coilbench.errors import InputProblem
from coilbench.rating.spin import LARGEST_STEP_DEGREE, SMALLEST_STEP_DEGREE

# Begun at a number's first digit alone and of bounded length: a row of digits is read once, not from each of them.
_NUMBER = r"(?<!\d)(\d{1,9}(?:[.,]\d{1,9})?|[.,]\d{1,9})"
_VOLT = re.compile(_NUMBER + r"\s*(?:V(?:olts?)?(?:\s*DC)?|VDC)(?![a-z])", re.IGNORECASE)
_AMPERE = re.compile(_NUMBER + r"\s*(mA|A(?:mps?|mp(?:ere)?s?)?)(?![a-z])", re.IGNORECASE)
_OHM = re.compile(_NUMBER + r"\s*(?:(k)\s*)?(?:ohms?|[ΩΩ])", re.IGNORECASE)
_DEGREE = re.compile(_NUMBER + r"\s*(?:deg(?:rees?)?\b\.?|°)", re.IGNORECASE)
_STEP_ANGLE = re.compile(
    r"step\s*(?:angle)?\s*[:=]?\s*" + _NUMBER + r"(?![\d.,]*\s*(?:steps|V|A|mA|ohm))", re.IGNORECASE
)
_STEPS = re.compile(r"(\d{2,4})\s*steps?(?:\s*(?:/|per)\s*(?:rev\w*|turn))?", re.IGNORECASE)
_HENRY = re.compile(_NUMBER + r"\s*(mH|uH|µH|μH|H)\b", re.IGNORECASE)

# Supplies that office machines and benches have; a winding is rarely rated for exactly these (common practice).
SUPPLY_VOLTS = (5.0, 6.0, 9.0, 12.0, 15.0, 18.0, 24.0, 36.0, 38.0, 48.0)
AGREE = 0.15  # winding tolerance 10 %, the meter, and the printed figures' rounding


@dataclass(frozen=True, slots=True)
class Label:
    """The figures read off a label, SI, None where not printed."""

    volt: float | None = None
    ampere: float | None = None
    ohm: float | None = None
    step_angle_degree: float | None = None
    henry: float | None = None

    @property
    def empty(self) -> bool:
        return self.volt is self.ampere is self.ohm is self.step_angle_degree is self.henry is None


@dataclass(frozen=True, slots=True)
class LabelFinding:
    """What the label comes to: a current per coil where it says one that can be believed, and plain sentences.

    ``contradicts`` tells that two printed figures, or one and the meter, can't both be the winding's; ``unsure`` that
    the current rests on a voltage that may be the supply's.
    """

    ampere: float | None
    contradicts: bool
    unsure: bool
    notes: tuple[str, ...]


def read_label(text: str) -> Label:
    """Decode a label such as ``5V 35 ohm``, ``4.2V/PHASE 1.2A``, ``STEP ANGLE 3.75`` or ``12V 75Ω``.

    Raises InputProblem when nothing in it can be read, or when a figure is zero.
    """
    flat = " ".join(text.split())
    angle = _first(_DEGREE, flat) or _first(_STEP_ANGLE, flat)
    steps = _STEPS.search(flat)
    if angle is None and steps and int(steps.group(1)):
        angle = 360.0 / int(steps.group(1))
    ampere = _AMPERE.search(flat)
    ohm = _OHM.search(flat)
    henry = _HENRY.search(flat)
    label = Label(
        volt=_first(_VOLT, flat),
        ampere=_value(ampere.group(1)) * (1e-3 if ampere.group(2)[0] in "mM" else 1.0) if ampere else None,
        ohm=_value(ohm.group(1)) * (1e3 if ohm.group(2) else 1.0) if ohm else None,
        step_angle_degree=angle,
        henry=_value(henry.group(1)) * _henry_scale(henry.group(2)) if henry else None,
    )
    if label.empty:
        raise InputProblem(f'label {text!r}: nothing read; expected figures such as "12V 75 ohm" or "7.5 DEG"')
    for what, figure in (
        ("volts", label.volt),
        ("amperes", label.ampere),
        ("ohms", label.ohm),
        ("henries", label.henry),
    ):
        if figure == 0:
            raise InputProblem(f"label {text!r}: zero {what}; expected figures above zero")
    if angle is not None and not SMALLEST_STEP_DEGREE <= angle <= LARGEST_STEP_DEGREE:
        raise InputProblem(f"label {text!r}: step angle {angle:g} degree; expected 0.3 to 90")
    return label


def kept_label(text: str | None) -> Label | None:
    """A label as it was copied into a motor's record; None for one that says nothing electrical, or for none."""
    if text is None or not text.strip():
        return None
    try:
        return read_label(text)
    except InputProblem:
        return None  # copied for its part number


def judge_label(label: Label, measured_ohm: float | None = None, most_ampere: float | None = None) -> LabelFinding:
    """The label's current per coil, checked against itself, the measured ohms, and what the body can stand.

    ``measured_ohm`` is that of the winding the label speaks of (a half-winding for unipolar motors);
    ``most_ampere`` the top of the estimate from size, None when the size isn't known.
    """
    notes: list[str] = []
    contradicts = unsure = False
    if measured_ohm and label.ohm and not _near(measured_ohm, label.ohm):
        contradicts = True
        tail = (
            ": end to end was measured where the label means one half?"
            if 1.7 < measured_ohm / label.ohm < 2.3
            else ""
        )
        notes.append(f"the label's {label.ohm:g} ohm and the measured {measured_ohm:.3g} ohm disagree{tail}")
    # Of two resistances that disagree the larger gives the lower current.
    ohm = max((each for each in (measured_ohm, label.ohm) if each), default=None)
    ampere = label.ampere
    if label.volt and ohm:
        implied = label.volt / ohm
        if label.ampere is None:
            ampere = implied
            if most_ampere is None:
                unsure = label.volt in SUPPLY_VOLTS
            elif implied > most_ampere:
                ampere, contradicts = None, True
            notes += _doubt_volts(label.volt, ohm, most_ampere)
        elif not _near(implied, label.ampere):
            contradicts = True
            ampere = min(label.ampere, implied)
            notes.append(_volts_against_amperes(label.volt, label.ampere, ohm))
    elif label.volt and label.ampere is None:
        notes.append(f"{label.volt:g} V alone gives no current: measure the coil's ohms")
    if ampere and label.ampere and most_ampere and ampere > most_ampere:
        contradicts = True
        notes.append(f"{ampere:g} A is more than a body of this size sheds at rest: rated for short runs, or a fan?")
        ampere = None
    return LabelFinding(ampere, contradicts, unsure, tuple(notes))


def _doubt_volts(volt: float, ohm: float, most_ampere: float | None) -> list[str]:
    implied = volt / ohm
    if most_ampere is not None and implied > most_ampere:
        return [
            f"{volt:g} V across {ohm:.3g} ohm would be {implied:.2g} A, more than this body sheds at rest: "
            "the printed voltage is the supply's, not the winding's"
        ]
    if most_ampere is None and volt in SUPPLY_VOLTS:
        return [
            f"{volt:g} V is also a usual supply: if it is the supply's and not the winding's, {implied:.2g} A "
            "is too much; the motor's size would tell"
        ]
    return []


def _volts_against_amperes(volt: float, ampere: float, ohm: float) -> str:
    drop = ampere * ohm
    if volt > drop:
        return (
            f"{ampere:g} A through {ohm:.3g} ohm drops {drop:.3g} V, not the printed {volt:g} V: "
            "the printed voltage is the supply's, not the winding's; the current counts"
        )
    return (
        f"{ampere:g} A through {ohm:.3g} ohm would need {drop:.3g} V, more than the printed {volt:g} V: "
        "a misprint, or the wrong winding was measured; the lower current is taken"
    )


def _near(a: float, b: float) -> bool:
    return abs(a / b - 1) <= AGREE


def _value(text: str) -> float:
    return float(text.replace(",", "."))


def _first(pattern: re.Pattern[str], text: str) -> float | None:
    found = pattern.search(text)
    return _value(found.group(1)) if found else None


def _henry_scale(unit: str) -> float:
    return {"m": 1e-3, "u": 1e-6, "µ": 1e-6, "μ": 1e-6}.get(unit[0].lower(), 1.0)
