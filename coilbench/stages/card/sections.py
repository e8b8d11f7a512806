"""What a card says of each matter, from the facts alone. Figures are worded as the stages word them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from coilbench.plain_text import shortened
from coilbench.records.rows import SavedReading
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.notes import Notes
from coilbench.records.saved.order import Order
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Windings
from coilbench.stages import motor
from coilbench.stages.card.state import Entry, Section
from coilbench.stages.driver.chips import chip_called, marking
from coilbench.winding.readings.reading import FRAME

_LINE, _SENTENCE, _REMARK = 64, 140, 240  # characters that one page leaves for each
_MOST_BASES = 4


def of_motor(known: Facts) -> Section:
    """What it looks like, where it came from, what was noted."""
    intake, notes = known.get(Intake) or Intake(), known.get(Notes) or Notes()
    size = [
        _shown(value, "metre") + what
        for value, what in ((intake.diameter_metre, " across"), (intake.length_metre, " long"))
        if value is not None
    ]
    angle = motor.step_angle_degree(known)
    entries = [
        Entry("from", shortened(notes.origin, _LINE)),
        Entry("label", shortened(intake.label or "", _SENTENCE // 2)),
        Entry("size", ", ".join([*([shortened(intake.frame, _LINE // 2)] if intake.frame else []), *size])),
        Entry("step angle", "" if angle is None else f"{angle:.4g}°, {360 / angle:.4g} steps a turn"),
    ]
    entries += [
        Entry(name, shortened(text, most))
        for name, text, most in (("notes", notes.text, _REMARK), ("photo", notes.photo, _LINE))
        if text
    ]
    return Section("motor", tuple(entries))


def of_windings(known: Facts, readings: Sequence[SavedReading]) -> Section:
    """What it is, its ohms, its faults, and what resistance can't tell."""
    from coilbench.winding.drawing.figures import percent

    windings = known.get(Windings)
    if windings is None:
        return Section("windings", (Entry("kind"), Entry("ohms"), Entry("faults"), _to_frame(readings)))
    entries = [
        Entry("kind", f"{motor.arrangement(known).motor} ({percent(windings.confidence)} sure)"),
        Entry("ohms", _ohms(windings)),
        Entry("faults", _faults(windings)),
        _to_frame(readings),
    ]
    if motor.arrangement(known).ordered:
        entries.append(Entry("order", _order(known.get(Order))))
    order = known.get(Order)
    untold = () if order is not None and order.done and order.direction_known else windings.cannot_tell
    entries += [Entry("can't tell", shortened("; ".join(untold), _SENTENCE))] if untold else []
    return Section("windings", tuple(entries))


def _ohms(windings: Windings) -> str:
    from coilbench.winding.drawing.figures import ohms

    if windings.lead_ohms is not None:
        return f"{ohms(windings.lead_ohms, windings.lead_ohms_sd)} between two leads"
    figures = [(coil.name, ohms(coil.ohms, coil.ohms_sd)) for coil in windings.coils if coil.ohms is not None]
    return shortened(", ".join(f"{name} {figure}" for name, figure in figures), _SENTENCE)


def _faults(windings: Windings) -> str:
    from coilbench.winding.engine.fitness import FAULT_WORDS

    if not windings.faults:
        return "none found" if windings.readings else ""
    told = [f"{FAULT_WORDS.get(each.kind, each.kind)} at {', '.join(each.leads)}" for each in windings.faults]
    return shortened("; ".join(told), _SENTENCE)


def _to_frame(readings: Sequence[SavedReading]) -> Entry:
    """The least that was read between a lead and the frame: insulation, as far as a hand-held meter sees it."""
    read = [(each.ohm, each.b if each.a == FRAME else each.a) for each in readings if FRAME in (each.a, each.b)]
    if not read:
        return Entry("to the case")
    ohm, lead = min(read)
    return Entry("to the case", "open by the meter" if math.isinf(ohm) else f"{_shown(ohm, 'ohm')} from {lead}")


def _order(order: Order | None) -> str:
    if order is None or not order.done:
        return ""
    if not order.sequence:
        return "halves are paired"
    way = "clockwise" if order.direction_known else "one way, which isn't known"
    return f"{shortened(', '.join(order.sequence), _LINE)} turns it {way}"


def of_rating(known: Facts) -> Section:
    """The current it can take, RMS, and what that rests on."""
    ratings = known.get(Ratings) or Ratings()
    one = "half-winding" if motor.arrangement(known).two_phase in ("tapped", "common", "halves") else "coil"
    best = _figure(ratings.estimate_ampere, "ampere")
    band = "" if ratings.low_ampere is None or ratings.high_ampere is None else (
        f"{_shown(ratings.low_ampere, 'ampere')} to {_shown(ratings.high_ampere, 'ampere')}"
    )  # fmt: skip
    entries = [
        Entry("start with", _figure(ratings.current_ampere, "ampere", f" RMS a {one}, two phases on")),
        Entry("best", ", ".join(filter(None, (f"{best} RMS" if best else "", band)))),
        Entry("rise", _figure(ratings.rise_kelvin, "kelvin", " at the best current")),
        Entry("cold ohms", _figure(ratings.resistance_ohm or motor.half_winding_ohm(known), "ohm", f" a {one}")),
        Entry("inductance", _figure(motor.half_winding_henry(known), "henry", f" a {one}")),
        Entry("holds", _figure(ratings.holding_torque_newton_metre, "newton_metre", " at the best current")),
    ]
    if ratings.soak is not None:
        soak = ratings.soak
        text = f"{soak.winding_celsius:.0f} °C, rise {soak.rise_kelvin:.0f} ±{soak.plus_minus_kelvin:.0f} K"
        entries.append(Entry("rise test", text))
    if ratings.basis:
        entries.append(Entry("rests on", shortened("; ".join(ratings.basis[:_MOST_BASES]), _REMARK)))
    return Section("rating", tuple(entries))


def of_connection(known: Facts) -> Section:
    """How it is connected, and its figures as connected."""
    saved = known.get(Connection)
    if saved is None:
        return Section("connection", (Entry("connect"), Entry("current")))
    winding = [_shown(saved.resistance_ohm, "ohm")] if saved.resistance_ohm is not None else []
    winding += [_shown(saved.inductance_henry, "henry")] if saved.inductance_henry is not None else []
    entries = (
        Entry("connect", shortened(saved.connection, _LINE)),
        Entry("current", f"{_shown(saved.current_ampere, 'ampere')} peak a winding"),
        Entry("winding", ", ".join(winding)),
    )
    return Section("connection", entries)


def of_driver(known: Facts, headline: str) -> Section:
    """What the driver is set to; ``headline`` says it where that is no reference voltage."""
    saved = known.get(Driver)
    if saved is None:
        return Section("driver", tuple(map(Entry, ("chip", "set", "current", "supply", "microsteps"))))
    chip = chip_called(saved.chip)
    chops = chip is None or chip.formula.regulates
    peak = _shown(saved.peak_ampere, "ampere")
    rms = _shown(saved.peak_ampere / math.sqrt(2), "ampere")
    sense = f", sense {marking(saved.sense_ohm)} ({_shown(saved.sense_ohm, 'ohm')})" if saved.sense_ohm else ""
    entries = (
        Entry("chip", shortened(saved.chip, _LINE // 2) + sense),
        Entry("set", setting(saved) or headline),
        Entry("current", f"{peak} peak, {rms} RMS microstepping" if chops else f"{peak} a coil"),
        Entry("supply", _figure(saved.supply_volt, "volt")),
        Entry("microsteps", steps_words(saved.microsteps)),
    )
    return Section("driver", entries)


def setting(saved: Driver) -> str:
    """The reference voltage to set; empty where none is kept."""
    return "" if saved.vref_volt is None else f"VREF {_shown(saved.vref_volt, 'volt')}"


def steps_words(microsteps: int | None) -> str:
    """Microsteps as the trade writes them; empty where they aren't known."""
    return "" if microsteps is None else "full steps" if microsteps == 1 else f"1/{microsteps}"


def _figure(value: float | None, unit: str, what: str = "") -> str:
    return "" if value is None else _shown(value, unit) + what


def _shown(value: float, unit: str) -> str:
    from coilbench.quantity import format_quantity

    return format_quantity(value, unit)
