"""What is typed about a driver, as the chip, setting and situation that the engine judges.

The engine comes along: import this where it is used.
"""

from __future__ import annotations

import re
from dataclasses import replace

from coilbench.driver import reference_voltage as reference
from coilbench.driver.catalogue import by_gain, find, is_known
from coilbench.driver.chip import SQRT2, Chip, Setting
from coilbench.driver.finding import Situation
from coilbench.errors import InputProblem
from coilbench.quantity import QuantityError, format_quantity, parse_marking
from coilbench.records.own_chips import own_chips
from coilbench.stages.driver.fields import BY_ID, FULL_STEP
from coilbench.stages.form import FieldProblem, Missing, Texts
from coilbench.stages.motor import AsConnected

USUAL_AIR_CELSIUS = 40.0
_CURRENT_RANGE_AMPERE = (0.001, 20.0)
_SENSE_RANGE_OHM = (0.001, 20.0)
_VREF_RANGE_VOLT = (0.001, 12.0)
_AIR_RANGE_CELSIUS = (-60.0, 150.0)


def situation(texts: Texts, figures: AsConnected, motor: str) -> Situation:
    """What the texts say with what is known of the motor, ``figures``. Raises FieldProblem, InputProblem, Missing."""
    chip, steps = _chip(texts), steps_typed(texts)
    return Situation(
        setting=_setting(texts, chip, figures, motor),
        supply_volt=_value(texts, "supply"),
        coil_ohm=_value(texts, "coil") or figures.coil_ohm,
        inductance_henry=_value(texts, "inductance") or figures.inductance_henry,
        microsteps=steps or None,
        full_step=steps == 0,
        logic_volt=_value(texts, "logic"),
        connection=figures.connection,
        half_winding=figures.half_winding and is_usual(texts, figures),
        ambient_celsius=_air(texts),
    )


def trimmer_volt(texts: Texts) -> float | None:
    """The voltage at the trimmer's far end."""
    return _value(texts, "trimmer")


def is_usual(texts: Texts, figures: AsConnected) -> bool:
    """Whether the current is the one that is known of the motor, typed or not."""
    text = texts.get("current", "").strip()
    known = figures.current_ampere
    return not text or (known is not None and text == format_quantity(known, "ampere", 4))


def steps_typed(texts: Texts) -> int | None:
    """Microsteps to a full step as typed, 0 for full steps, None where nothing is said."""
    text = texts.get("steps", "").strip()
    if not text:
        return None
    if text == FULL_STEP:
        return 0
    match = re.fullmatch(r"(?:1/)?([0-9]{1,3})", text)
    steps = int(match[1]) if match else 0
    if not 1 <= steps <= 256:
        raise FieldProblem("steps", f"{text!r}, expected a whole number of 1 to 256 such as 16")
    return steps


def _chip(texts: Texts) -> Chip:
    name, gain, own = texts.get("chip", "").strip(), texts.get("gain", "").strip(), own_chips()
    if gain:
        if name and is_known(name, own):
            raise InputProblem(f"{name} is in the table with its own gain", remedy="leave out --gain")
        try:
            chip = by_gain(name or "own chip", float(gain.replace(",", ".")))
        except ValueError:
            raise FieldProblem("gain", f"{gain!r} is not a number, expected a gain such as 5 or 8") from None
    elif not name:
        raise FieldProblem("chip", "no chip named", remedy="choose the chip on your driver board")
    else:
        chip = find(name, own)
    decay = texts.get("decay", "").strip()
    return replace(chip, decay=decay) if decay else chip


def _setting(texts: Texts, chip: Chip, figures: AsConnected, motor: str) -> Setting:
    sense, torque = _sense(texts), _value(texts, "torque")
    torque = 1.0 if torque is None else torque / 100
    if not 0 < torque <= 1:
        raise FieldProblem("torque", f"a torque share of {texts['torque']!r} is over 100 %, expected such as 50%")
    vref, resistor = _value(texts, "measured"), _value(texts, "resistor")
    if vref is not None:
        _check_range(vref, "volt", _VREF_RANGE_VOLT, "a reference voltage")
        return reference.read_vref(chip, vref, sense, torque)
    if resistor is not None:
        return reference.read_resistor(chip, resistor)
    current = _value(texts, "current") or figures.current_ampere
    if current is None and not chip.sense_decides:
        said = f"no current is known yet for {motor!r}"
        raise Missing(("current", "measured"), said, remedy="rate the motor first")
    if current is None:
        return reference.fixed_setting(chip, sense, torque)
    _check_range(current, "ampere", _CURRENT_RANGE_AMPERE, "a current of these drivers")
    if texts.get("rms", "").strip():
        current *= SQRT2
    if steps_typed(texts) == 0:
        current = reference.peak_for_full_step(chip, current)
    return reference.set_peak(chip, current, sense, torque)


def _sense(texts: Texts) -> float | None:
    text = texts.get("sense", "").strip()
    if not text:
        return None
    try:
        ohm = parse_marking(text)
    except QuantityError as problem:
        raise FieldProblem("sense", problem.happened, remedy=problem.remedy) from None
    _check_range(ohm, "ohm", _SENSE_RANGE_OHM, "a sense resistor")
    return ohm


def _air(texts: Texts) -> float:
    air = _value(texts, "air")
    if air is None:
        return USUAL_AIR_CELSIUS
    low, high = _AIR_RANGE_CELSIUS
    if not low <= air <= high:
        raise FieldProblem("air", f"{texts['air']!r}, expected air of {low:g} to {high:g} C")
    return air


def _check_range(value: float, unit: str, bounds: tuple[float, float], what: str) -> None:
    if not bounds[0] <= value <= bounds[1]:
        low, high = (format_quantity(bound, unit, 3) for bound in bounds)
        raise InputProblem(f"{format_quantity(value, unit, 3)} is not {what}, expected {low} to {high}")


def _value(texts: Texts, field_id: str) -> float | None:
    return BY_ID[field_id].figure(texts.get(field_id, ""))
