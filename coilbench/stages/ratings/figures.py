"""What is typed at the ratings, as the figures that the rating engine takes.

What has been begun and needs more goes to ``wanting``. The engine comes along: import this where it is used.
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection

from coilbench.errors import NotEnoughKnown
from coilbench.quantity import QuantityError, parse_quantity
from coilbench.rating import spin as spinning
from coilbench.rating.copper import COPPER_KELVIN, ROOM_CELSIUS
from coilbench.rating.current import LEAST_RISE_KELVIN, MOST_RISE_KELVIN, usual_rise_kelvin
from coilbench.rating.frames import Body, body_of
from coilbench.rating.label import Label, kept_label, read_label
from coilbench.rating.run_current import CountedAs, RunCurrent, run_current
from coilbench.rating.soak import (
    Soak,
    SoakResult,
    current_for_wanted_rise,
    judge_soak,
    parse_cooling,
    usual_step_ohm,
)
from coilbench.records.saved.intake import Intake
from coilbench.stages.form import Missing, Texts
from coilbench.stages.ratings.fields import BY_ID
from coilbench.stages.ratings.hot_soak import HotSoak
from coilbench.stages.ratings.soak import COOLING

_COUNTED_AS: dict[str, CountedAs] = {"coil": "coil", "rms": "RMS", "peak": "peak"}
_COUNTED_WORD = re.compile(r"\s+(peak|rms)$", re.IGNORECASE)
_NINETY_OF_SIXTY_EIGHT = 1.65  # a range that holds 90 of 100 against one that holds 68, normal law
_LEAST_OF_RISE = 0.25  # a rise hidden in its doubt doesn't allow any current
_ROOM_RANGE_CELSIUS = (-40.0, 100.0)
_COUNTED = re.compile(r"(\S+?)\s*(?:steps?|detents?)(?:\s+(?:in|over)\s+(\S+?)\s*turns?)?", re.IGNORECASE)
_STEPS, _TURNS = re.compile(r"[0-9]{1,5}"), re.compile(r"[0-9]{1,3}(?:[.,][0-9]{1,3})?")


def texts_with_face(texts: Texts) -> Texts:
    """The texts, a can's diameter written as its face."""
    across = _figure(texts, "diameter")
    if across is None:
        return texts
    body_of(_text(texts, "face") or None, across)
    return {**texts, "face": f"{across * 1000:g} mm can", "diameter": ""}


def body(texts: Texts) -> Body | None:
    """The body by its face and length."""
    return body_of(_text(texts, "face") or None, None, _figure(texts, "length"))


def rise_kelvin(texts: Texts) -> float | None:
    """The rise that is wanted."""
    return _figure_within(texts, "rise", LEAST_RISE_KELVIN, MOST_RISE_KELVIN)


def room_celsius(texts: Texts, *field_ids: str) -> float:
    """The room's temperature by the first of these fields that tells it."""
    told = (_figure_within(texts, each, *_ROOM_RANGE_CELSIUS, "a room's temperature, ") for each in field_ids)
    return next((each for each in told if each is not None), ROOM_CELSIUS)


def label(texts: Texts, intake: Intake) -> Label | None:
    """The label: as it was copied at the intake it may say nothing of use."""
    text = _text(texts, "label")
    if text == (intake.label or "").strip():
        return kept_label(text)
    return read_label(text) if text else None


def step_angle(texts: Texts) -> tuple[float | None, tuple[str, ...]]:
    """The step angle in degree as typed or counted, and what is to be said of it."""
    counted = _COUNTED.fullmatch(_text(texts, "step"))
    if counted is None:
        angle = _figure(texts, "step")
        return (None if angle is None else spinning.check_step_angle(angle)), ()
    steps, turns = counted[1], counted[2] or "1"
    if not _STEPS.fullmatch(steps) or int(steps) == 0:
        raise BY_ID["step"].problem(f"{steps!r}: expected a whole number of steps, 4 to 99999")
    if not _TURNS.fullmatch(turns) or float(turns.replace(",", ".")) == 0:
        raise BY_ID["step"].problem(f"{turns!r}: expected a number of turns above zero")
    return spinning.step_angle_from_count(int(steps), float(turns.replace(",", ".")))


def inductance_henry(texts: Texts, coil_ohm: float | None, wanting: list[Missing]) -> float | None:
    """The inductance, also by its time constant."""
    try:
        second = parse_quantity(texts.get("henry", ""), "second")
    except QuantityError:
        return _figure(texts, "henry")
    if coil_ohm is None:
        wanting.append(Missing(("coil",), "a time constant needs the coil's ohms", remedy="measure them cold"))
        return None
    return spinning.inductance_from_time_constant(second, coil_ohm)


def detents_note(texts: Texts) -> str:
    """What the feel of the shaft says; empty where it isn't told."""
    return spinning.DETENT_NOTES.get(_chosen(texts, "detents", spinning.DETENT_NOTES), "")


def spin(texts: Texts, angle: float | None, limit_hertz: float, wanting: list[Missing]) -> spinning.Spin | None:
    """What a spun coil says to a meter whose AC range ends at ``limit_hertz``."""
    volts, hertz, turns = (_figure(texts, each) for each in ("volts", "hertz", "drill"))
    if volts is None and hertz is None and turns is None:
        return None
    if volts is None:
        wanting.append(Missing(("volts",), "a spun shaft without its volts", remedy="read them across one coil"))
    elif hertz is None and turns is None:
        what = "the spun coil's volts need their frequency or the drill's speed"
        wanting.append(Missing(("hertz", "drill"), what, remedy="read the hertz beside the volts"))
    elif angle is None:
        wanting.append(Missing(("step",), "a spun shaft needs the step angle", remedy="count the steps of a turn"))
    else:
        return spinning.judge_spin(volts, angle, hertz, None if hertz is not None else turns, limit_hertz)
    return None


def hot_soak(texts: Texts, measured: str, wanting: list[Missing]) -> HotSoak | None:
    """``measured``: the ohms that the windings told, which no probes are in any more, unlike in the hot ones."""
    cold_id = "cold" if _text(texts, "cold") or _text(texts, "coil") == measured else "coil"
    cold, hot, after = _figure(texts, cold_id), _figure(texts, "hot"), _text(texts, COOLING)
    if hot is None and not after:
        if cold_id == "cold" and cold is not None:
            do = "read the coil again after a run"
            wanting.append(Missing(("hot", COOLING), "a cold reading alone", remedy=do))
        return None
    if cold is None:
        do = "read the coil before a run, too"
        wanting.append(Missing(("cold",), "a hot reading needs the cold one", remedy=do))
        return None
    room, probes = room_celsius(texts, "room"), _figure(texts, "probes")
    if probes is not None and probes < 0:
        raise BY_ID["probes"].problem(f"{_text(texts, 'probes')!r}: expected zero or more")
    constants = {str(name): kelvin for name, kelvin in COPPER_KELVIN.items()}
    constants |= {f"{kelvin:g}": kelvin for kelvin in COPPER_KELVIN.values()}
    soak = Soak(
        cold_ohm=cold,
        cold_celsius=room,
        constant_kelvin=constants[_chosen(texts, "constant", constants) or "iec"],
        ambient_celsius=room_celsius(texts, "room2", "room"),
        hot_ohm=hot,
        cooling=parse_cooling(after) if after else (),
        step_ohm=_figure(texts, "digit")
        or usual_step_ohm([text for each in (cold_id, "hot") if (text := _text(texts, each))]),
        probes_ohm=probes,
    )
    found, run = judge_soak(soak), ran_with(texts)
    wanted, currents = rise_kelvin(texts) or usual_rise_kelvin(body(texts)), None
    if run is not None:
        try:
            currents = _currents_for(wanted, soak, found, run)
        except NotEnoughKnown as problem:
            wanting.append(Missing(("hot",), problem.happened, remedy=problem.remedy))
    return HotSoak(soak, found, wanted, currents, run)


def ran_with(texts: Texts) -> RunCurrent | None:
    """The current of the run, as each coil carried it; None where none is told."""
    counted = _chosen(texts, "counted", _COUNTED_AS, fold=True)
    if (word := _COUNTED_WORD.search(_text(texts, "run"))) is not None:  # "0.8 A peak", as one says it
        if counted and counted != word[1].lower():
            raise BY_ID["run"].problem(f"{_text(texts, 'run')!r}: expected {word[1]} or {counted}, not both")
        counted, texts = word[1].lower(), {**texts, "run": _text(texts, "run")[: word.start()]}
    ampere, rest = _figure(texts, "run"), _figure(texts, "idle")
    if ampere is None:
        return None
    if rest is not None and rest > 100:
        raise BY_ID["idle"].problem(f"{rest:g} %: expected 100 % or less")
    return run_current(ampere, _COUNTED_AS.get(counted), None if rest is None else rest / 100)


def _currents_for(wanted_kelvin: float, soak: Soak, found: SoakResult, run: RunCurrent) -> tuple[float, float, float]:
    """The current for the wanted rise, and where 90 of 100 lie: (middle, low, high)."""

    def current(ampere: float, rise_kelvin: float) -> float:
        return current_for_wanted_rise(ampere, rise_kelvin, wanted_kelvin, soak.ambient_celsius, soak.constant_kelvin)

    rise, wide = found.rise_kelvin, _NINETY_OF_SIXTY_EIGHT
    warmest = rise + wide * (found.rise_high_kelvin - rise)
    coolest = max(_LEAST_OF_RISE * rise, rise - wide * (rise - found.rise_low_kelvin))
    middle, low, high = current(run.ampere, rise), current(run.ampere, warmest), current(run.ampere, coolest)
    down, up = (math.hypot(math.log(end / middle), wide * run.doubt) for end in (low, high))
    return middle, middle * math.exp(-down) * run.least_ampere / run.ampere, middle * math.exp(up)


def _text(texts: Texts, field_id: str) -> str:
    return texts.get(field_id, "").strip()


def _figure(texts: Texts, field_id: str) -> float | None:
    return BY_ID[field_id].figure(texts.get(field_id, ""))


def _figure_within(texts: Texts, field_id: str, least: float, most: float, what: str = "") -> float | None:
    figure, field = _figure(texts, field_id), BY_ID[field_id]
    if figure is not None and not least <= figure <= most:
        raise field.problem(f"{figure:g} {field.bare}: expected {what}{least:g} to {most:g} {field.bare}")
    return figure


def _chosen(texts: Texts, field_id: str, choices: Collection[str], *, fold: bool = False) -> str:
    text = _text(texts, field_id)
    text = text.lower() if fold else text
    if text and text not in choices:
        raise BY_ID[field_id].problem(f"{text!r}: expected {', '.join(choices)}")
    return text
