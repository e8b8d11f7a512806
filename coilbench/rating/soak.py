"""The temperature-rise test: winding temperature from the resistance after a run, back at the switching off."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.quantity import parse_quantity, parse_reading
from coilbench.rating.cooling import READING_SD_STEPS, excess_at_start
from coilbench.rating.copper import COPPER_KELVIN, resistance_at, thermal_class, winding_celsius

USUAL_STEP_OHM = 0.1  # what a hand meter resolves on its lowest range
USUAL_LEADS_OHM = 0.2  # meter makers print 0.1 to 0.5 ohm for a pair of test leads
HOPELESS_KELVIN = 15.0
# What no reading shows: the hottest turns above the mean, and the seconds between switching off and a display that
# stands still, while the winding gives the first of its gap to the case.
UNSEEN_KELVIN = 3.0
ROOM_KELVIN = 1.5  # a room by its thermometer, before and after
LATE_SECOND = 15.0  # of a gap of 10 K to the case, some 3 K are gone by then
FAR_SECOND = 60.0
LONGEST_SECOND = 1800.0
HOTTEST_CELSIUS = 300.0  # beyond this no enamel is left: the figures can't be right
COLDEST_CELSIUS = -40.0
_DECIMALS = re.compile(r"[.,R]([0-9]+)")


@dataclass(frozen=True, slots=True)
class Soak:
    """One test as measured. Temperatures in C, resistances in ohm, ``cooling`` as (seconds after off, ohm).

    ``step_ohm`` is the last digit of the meter; ``probes_ohm`` what the probes read held together, None when that
    was not measured. Readings have the probes still in them.
    """

    cold_ohm: float
    cold_celsius: float
    ambient_celsius: float
    hot_ohm: float | None = None
    cooling: tuple[tuple[float, float], ...] = ()
    step_ohm: float = USUAL_STEP_OHM
    probes_ohm: float | None = None
    constant_kelvin: float = COPPER_KELVIN["iec"]


@dataclass(frozen=True, slots=True)
class SoakResult:
    """What the soak says. 68 of 100 such soaks have their true rise between ``rise_low_kelvin`` and
    ``rise_high_kelvin``, farther apart upwards where the first reading came late; ``plus_minus_kelvin`` is half of
    that. ``probes_kelvin`` is how far the rise reads low for probes not taken out.
    """

    winding_celsius: float
    rise_kelvin: float
    rise_low_kelvin: float
    rise_high_kelvin: float
    thermal_class: str | None
    plus_minus_kelvin: float
    off_ohm: float
    probes_kelvin: float
    time_constant_second: float | None
    notes: tuple[str, ...]


def parse_cooling(text: str) -> tuple[tuple[float, float], ...]:
    """``30s:3.55,60s:3.5`` or ``30s:3,55; 60s:3,5`` as (seconds, ohm). Raises InputProblem for what is neither."""
    points = []
    # A comma parts two readings only where a time with its colon follows: it may be a decimal sign.
    for part in re.split(r"\s*;\s*" if ";" in text else r"\s*,\s*(?=[^,:]+:)", text.strip(" ,;")):
        time_text, colon, ohm_text = part.partition(":")
        if not colon:
            raise InputProblem(f"cooling reading {part!r}: expected time and ohms such as 30s:3.55")
        second = 0.0 if re.fullmatch(r"0+\s*s", time_text.strip()) else parse_quantity(time_text, "second")
        ohm = parse_reading(ohm_text)
        if not 0 < ohm < float("inf"):
            raise InputProblem(f"cooling reading {part!r}: expected ohms above zero, not open")
        points.append((second, ohm))
    return tuple(points)


def usual_step_ohm(written: Sequence[str]) -> float:
    """The meter's last digit as far as readings as written show it: never coarser than a hand meter's 0.1 ohm."""
    decimals = min(len(found.group(1)) if (found := _DECIMALS.search(text)) else 0 for text in written)
    return min(USUAL_STEP_OHM, 10.0**-decimals)


def judge_soak(soak: Soak) -> SoakResult:
    """Winding temperature, rise, class and their doubt.

    A hot reading given beside cooling readings is taken as the one at switch-off, second 0. Raises InputProblem for
    readings that copper can't give and NotEnoughKnown when there is no hot reading at all.
    """
    probes = soak.probes_ohm or 0.0
    cold = soak.cold_ohm - probes
    points = sorted((*([(0.0, soak.hot_ohm)] if soak.hot_ohm is not None else []), *soak.cooling))
    readings = [(second, ohm - probes) for second, ohm in points]
    _check(soak, cold, readings)
    base_ohm = resistance_at(cold, soak.cold_celsius, soak.ambient_celsius, soak.constant_kelvin)
    off = excess_at_start([(second, ohm - base_ohm) for second, ohm in readings], soak.step_ohm)
    off_ohm = base_ohm + off.excess_ohm
    if off_ohm <= 0:
        raise InputProblem(f"{readings[0][1]:.3g} ohm hot against {cold:.3g} ohm cold: expected the same coil")
    hot_celsius = winding_celsius(cold, soak.cold_celsius, off_ohm, soak.constant_kelvin)
    if not COLDEST_CELSIUS <= hot_celsius <= HOTTEST_CELSIUS:
        raise InputProblem(
            f"{off_ohm:.3g} ohm hot against {cold:.3g} ohm cold gives {hot_celsius:.0f} °C: "
            "expected readings of the same coil"
        )
    rise = hot_celsius - soak.ambient_celsius
    slope = (soak.cold_celsius + soak.constant_kelvin) / cold  # K an ohm
    cold_sd = READING_SD_STEPS * soak.step_ohm * off_ohm / cold
    down = slope * math.hypot(off.excess_ohm - off.low_ohm, cold_sd)
    up = math.hypot(UNSEEN_KELVIN, slope * math.hypot(off.high_ohm - off.excess_ohm, cold_sd))
    down = math.hypot(UNSEEN_KELVIN if readings[0][0] <= LATE_SECOND else ROOM_KELVIN, down)
    low = 0.0
    if soak.probes_ohm is None:
        # The same lead resistance in both readings pulls their ratio towards one.
        left = min(USUAL_LEADS_OHM, 0.5 * cold)
        true = winding_celsius(cold - left, soak.cold_celsius, off_ohm - left, soak.constant_kelvin)
        low = max(0.0, true - hot_celsius)
    doubt = (down + up) / 2
    return SoakResult(
        winding_celsius=hot_celsius,
        rise_kelvin=rise,
        rise_low_kelvin=rise - down,
        rise_high_kelvin=rise + math.hypot(up, low),
        thermal_class=thermal_class(rise),
        plus_minus_kelvin=doubt,
        off_ohm=off_ohm,
        probes_kelvin=low,
        time_constant_second=off.case_second,
        notes=_notes(soak, readings[0][0], off.odd, rise, doubt, low),
    )


def current_for_wanted_rise(
    tested_ampere: float,
    tested_rise_kelvin: float,
    wanted_rise_kelvin: float,
    ambient_celsius: float,
    constant_kelvin: float = COPPER_KELVIN["iec"],
) -> float:
    """The current in ampere that would give the wanted rise, from the one tested.

    Rise goes with heat, and heat with current squared times the hot resistance. The cooling is taken as constant;
    in truth it gets a little better with rise, so going up this errs to the cautious side.
    """
    if tested_rise_kelvin <= 0:
        raise NotEnoughKnown(
            f"a rise of {tested_rise_kelvin:.1f} K says nothing about more current",
            remedy="run the motor at more current, or longer",
        )
    if not (tested_ampere > 0 and wanted_rise_kelvin > 0):
        raise InputProblem(
            f"current {tested_ampere:g} A and target rise {wanted_rise_kelvin:g} K: expected both above zero"
        )
    hot = ambient_celsius + constant_kelvin
    resistances = (hot + tested_rise_kelvin) / (hot + wanted_rise_kelvin)
    return tested_ampere * math.sqrt(wanted_rise_kelvin / tested_rise_kelvin * resistances)


def _check(soak: Soak, cold: float, readings: Sequence[tuple[float, float]]) -> None:
    if cold <= 0:
        raise InputProblem(f"cold reading {soak.cold_ohm:g} ohm: expected more than the probes' own resistance")
    if soak.step_ohm <= 0:
        raise InputProblem(f"meter step {soak.step_ohm:g} ohm: expected more than zero")
    for what, celsius in (("cold temperature", soak.cold_celsius), ("ambient", soak.ambient_celsius)):
        if not COLDEST_CELSIUS <= celsius <= 100.0:
            raise InputProblem(f"{what} {celsius:g} °C: expected a room's temperature, {COLDEST_CELSIUS:g} to 100 °C")
    if not readings:
        raise NotEnoughKnown("no hot reading", remedy="give the resistance after the run")
    if any(second < 0 for second, _ in readings):
        raise InputProblem("a cooling reading before switching off: expected seconds after it")
    if readings[-1][0] > LONGEST_SECOND:
        raise InputProblem(f"a cooling reading after {readings[-1][0]:g} s: expected them within half an hour")
    for _, ohm in readings:
        if ohm <= 0:
            raise InputProblem("a hot reading is no more than the probes' own resistance: expected the coil in it")
        if ohm < cold - 2 * soak.step_ohm and soak.ambient_celsius >= soak.cold_celsius:
            raise InputProblem(
                f"hot reading {ohm:.3g} ohm is below the cold one of {cold:.3g} ohm: copper rises when warm"
            )
    if readings[-1][1] > readings[0][1] + 2 * soak.step_ohm:
        raise InputProblem("the readings rise with time: expected a coil that cools after switching off")


def _notes(soak: Soak, first_second: float, odd: bool, rise: float, doubt: float, low: float) -> tuple[str, ...]:
    notes = []
    if first_second > LATE_SECOND:
        again = ", and the line back is long: read sooner" if first_second > FAR_SECOND else ""
        notes.append(
            f"the first reading came {first_second:g} s after switching off: the winding was hotter, having given "
            f"heat to the case; that is reckoned in, with its doubt to the hot side{again}"
        )
    if odd:
        notes.append("these readings don't fall as a motor cools: one may be misread, or its time")
    if low >= 1.0:
        notes.append(
            f"probes not taken out: with {USUAL_LEADS_OHM:g} ohm of them left in, the true rise is about "
            f"{low:.0f} K more; hold the probes together and give what they read"
        )
    if doubt > HOPELESS_KELVIN or doubt > 0.25 * max(rise, 4 * UNSEEN_KELVIN):
        notes.append(
            "too coarse for this coil: use a four-wire meter, or pass a known steady current (some 100 mA) and take "
            "the voltage at the motor's own leads, ohms being volts over amperes"
        )
    if rise <= 0:
        notes.append("no rise to be seen: was the motor run, and long enough (half an hour or more)?")
    return tuple(notes)
