"""What is typed about a driver, as the chip, setting and situation that the engine judges.

The engine comes along: import this where it is used.
"""

from __future__ import annotations

import re
from dataclasses import replace

from coilbench.driver import reference_voltage as reference
from coilbench.driver.carried import USUAL_SINK_KELVIN_PER_WATT, carried
from coilbench.driver.catalogue import by_gain, find, is_known
from coilbench.driver.chip import SQRT2, Chip, Setting
from coilbench.driver.finding import Asked, Series, Situation
from coilbench.errors import InputProblem
from coilbench.quantity import QuantityError, format_quantity, parse_marking, parse_quantity
from coilbench.records.own_chips import own_chips
from coilbench.stages.driver.fields import BY_ID, FULL_STEP
from coilbench.stages.form import FieldProblem, Missing, Texts
from coilbench.stages.motor import AsConnected, lead_count

USUAL_AIR_CELSIUS = 40.0
_CURRENT_RANGE_AMPERE = (0.001, 20.0)
_SENSE_RANGE_OHM = (0.001, 20.0)
_VREF_RANGE_VOLT = (0.001, 12.0)
_AIR_RANGE_CELSIUS = (-60.0, 150.0)
_OFF_RANGE_SECOND = (0.5e-6, 1e-3)
_RUNS = ("", FULL_STEP)
_PLACES = ("common", "commons", "end", "ends", "leads")


def situation(texts: Texts, figures: AsConnected, motor: str) -> Situation:
    """What the texts say with what is known of the motor, ``figures``. Raises FieldProblem, InputProblem, Missing."""
    off_parts = _off_parts(texts)
    chip, steps = _timed(_chip(texts), off_parts), steps_typed(texts)
    leads = lead_count(texts.get("leads", "")) or figures.leads
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
        asked=_asked(texts, chip, figures),
        rated_ampere=None if figures.half_winding and chip.motor == "bipolar" else figures.rated_ampere,
        made_for_volt=_value(texts, "own") or figures.own_volt,
        leads=leads,
        series=_series(texts, leads),
        clamp_volt=clamp_volt(texts),
        sink_kelvin_per_watt=_sink(texts, chip),
        off_parts=off_parts,
    )


def check_own(chip: Chip, texts: Texts) -> None:
    """Raises FieldProblem or InputProblem for a sense resistor or heat sink that can't be read."""
    _sense(texts)
    _sink(texts, chip)


def trimmer_volt(texts: Texts) -> float | None:
    """The voltage at the trimmer's far end."""
    return _value(texts, "trimmer")


def is_usual(texts: Texts, figures: AsConnected) -> bool:
    """Whether the current is the one that is known of the motor, typed or not, or was before steps and heat sink
    were."""
    text = texts.get("current", "").strip()
    if not text or text == _shown(figures.current_ampere):
        return True
    before = [{**texts, "sink": sink, "steps": steps} for sink in ("", texts.get("sink", "")) for steps in _RUNS]
    return any(text == usual_current(each, figures) for each in before)


def usual_current(texts: Texts, figures: AsConnected) -> str:
    """The current that is known of the motor, no more than its driver carries, as its field shows it: to read alone,
    it is set to the last digit."""
    known = figures.current_ampere
    try:
        return _shown(None if known is None else _carried_of(texts, _chip(texts), known))
    except (InputProblem, Missing):
        return _shown(known)


def _shown(ampere: float | None) -> str:
    return "" if ampere is None else format_quantity(ampere, "ampere", 3)


def _carried_of(texts: Texts, chip: Chip, ampere: float) -> float:
    """Of a motor's own current (peak, in full step that of each coil) what the chip carries as it is cooled."""
    found = carried(chip, _sink(texts, chip)) if chip.formula.regulates else None
    if found is None:
        return ampere
    # Full step's steady currents heat it by what they are, not as a sine of that peak does.
    return min(ampere, found.peak_ampere / SQRT2 if steps_typed(texts) == 0 else found.peak_ampere)


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


def _off_parts(texts: Texts) -> tuple[float, float] | None:
    ohm, farad = _value(texts, "off_ohm"), _value(texts, "off_farad")
    if ohm is None and farad is None:
        return None
    if ohm is None or farad is None:
        missing = "off_ohm" if ohm is None else "off_farad"
        raise Missing((missing,), "an off time takes both its resistor and its capacitor")
    return ohm, farad


def _timed(chip: Chip, parts: tuple[float, float] | None) -> Chip:
    """The chip with the off time, or the period, that these parts give it."""
    if parts is None:
        return chip
    if not chip.formula.regulates:
        raise InputProblem(f"{chip.chip} doesn't chop: no resistor and capacitor set its off time")
    if chip.off_rc is None and chip.status != "own":
        raise InputProblem(
            f"{chip.chip} is not known to take its off time from a resistor and a capacitor",
            remedy="for a chip that is not in the table give --gain and --sense",
        )
    second = (chip.off_rc or 1.0) * parts[0] * parts[1]
    if not _OFF_RANGE_SECOND[0] <= second <= _OFF_RANGE_SECOND[1]:
        shown, low, high = (format_quantity(each, "second", 3) for each in (second, *_OFF_RANGE_SECOND))
        what = "an off time" if chip.chop_khz is None else "a period"
        raise InputProblem(f"{what} of {shown} is none of a chopper, expected {low} to {high}")
    if chip.chop_khz is not None:
        return replace(chip, chop_khz=1e-3 / second)
    return replace(chip, off_us=1e6 * second)


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
    usual = is_usual(texts, figures)
    current = figures.current_ampere if usual else _value(texts, "current")
    if current is None and not chip.sense_decides:
        said = f"no current is known yet for {motor!r}"
        raise Missing(("current", "measured"), said, remedy="rate the motor first")
    if current is None:
        return reference.fixed_setting(chip, sense, torque)
    _check_range(current, "ampere", _CURRENT_RANGE_AMPERE, "a current of these drivers")
    if usual and not texts.get("rms", "").strip():
        current = _carried_of(texts, chip, current)
    if steps_typed(texts) == 0:
        current = reference.peak_for_full_step(chip, current)  # a steady current is its own RMS
    elif texts.get("rms", "").strip() and chip.formula.regulates:
        current *= SQRT2
    return reference.set_peak(chip, current, sense, torque)


def _asked(texts: Texts, chip: Chip, figures: AsConnected) -> Asked:
    rms = bool(texts.get("rms", "").strip())
    if texts.get("measured", "").strip() or texts.get("resistor", "").strip():
        return "measured"
    if figures.current_ampere is not None and is_usual(texts, figures):
        return "rms" if rms else "rated"
    if chip.sense_decides and not texts.get("current", "").strip():
        return "fixed"
    return "rms" if rms else "peak"


def _series(texts: Texts, leads: int | None) -> Series | None:
    """Resistors fitted, each, and where: in the common leads unless their text ends in ``ends``."""
    words = texts.get("series", "").split()
    place = words.pop().lower() if words and words[-1].isalpha() and words[-1].lower() in _PLACES else ""
    while words and words[-1].lower() in ("in", "the", "each", "end"):
        words.pop()
    text = " ".join(words)
    if not text:
        if place:
            raise FieldProblem("series", f"{place!r} names no ohms, expected such as 15 ohm common or 30 ohm ends")
        return None
    try:
        ohm = parse_quantity(text, "ohm", bare=True)
    except QuantityError as problem:
        raise FieldProblem("series", f"{problem.happened}; then common or ends") from None
    return Series(ohm, shared=leads == 5 and not place.startswith(("end", "lead")))


def clamp_volt(texts: Texts) -> float | None:
    """The volts of a zener in the clamp's lead, zero for the diodes alone; None where nothing is said."""
    text = texts.get("clamp", "").strip()
    if text.lower() in ("diode", "diodes"):
        return 0.0
    if not text:
        return None
    try:
        volts = re.sub(r"^(?:a )?(?:zener )?(?:of )?", "", " ".join(text.split()), flags=re.IGNORECASE)
        return parse_quantity(volts, "volt", bare=True)
    except QuantityError:
        raise FieldProblem("clamp", f"{text!r}, expected diode, or a zener such as zener 24 V") from None


def _sink(texts: Texts, chip: Chip) -> float | None:
    text = texts.get("sink", "").strip()
    if text.lower() in ("", "no", "none"):
        return None
    if text.lower() in ("yes", "y"):
        return USUAL_SINK_KELVIN_PER_WATT[chip.thermal_on]
    match = re.fullmatch(r"([0-9]{1,3}(?:[.,][0-9]{1,3})?) ?(?:K/W|C/W|°C/W)?", text, re.IGNORECASE)
    figure = float(match[1].replace(",", ".")) if match else 0.0
    if not 0.1 <= figure <= 100:
        raise FieldProblem("sink", f"{text!r}, expected yes, no, or its figure such as 15 K/W")
    return figure


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
        raise FieldProblem("air", f"{texts['air']!r}, expected air of {low:g} to {high:g} °C")
    return air


def _check_range(value: float, unit: str, bounds: tuple[float, float], what: str) -> None:
    if not bounds[0] <= value <= bounds[1]:
        low, high = (format_quantity(bound, unit, 3) for bound in bounds)
        raise InputProblem(f"{format_quantity(value, unit, 3)} is not {what}, expected {low} to {high}")


def _value(texts: Texts, field_id: str) -> float | None:
    return BY_ID[field_id].figure(texts.get(field_id, ""))
