"""What the readings of a motor are judged by, and the judgement: a pure function, for any thread."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from coilbench.errors import InputProblem
from coilbench.records.rows import SavedReading
from coilbench.records.saved.decode import plain
from coilbench.records.saved.own import OwnMeter
from coilbench.records.saved.windings import Coil, Inductance, WindingFault, Windings
from coilbench.stages.desk import Desk
from coilbench.stages.windings.clips import CLIPS, clips_meter
from coilbench.winding.readings.reading import Reading

if TYPE_CHECKING:
    from coilbench.winding.engine.verdict import Ask, Verdict
    from coilbench.winding.readings.meter import Meter

Pair = tuple[str, str]

# Kept with a reading, it stands for a meter that finds its range by itself: OL then means more than any winding.
AUTOMATIC_RANGE_OHM = 2e6


@dataclass(frozen=True, slots=True)
class Snapshot:
    """Leads, readings, what is said of the meters they were taken with (the latest last), and the pairs left out."""

    leads: tuple[str, ...]
    readings: tuple[Reading, ...]
    meters: tuple[str, ...] = ()
    skipped: tuple[Pair, ...] = ()


def snapshot_of(desk: Desk, *, meter: str = "", skipped: Iterable[Pair] = ()) -> Snapshot:
    """What is to be judged of the desk's motor; ``meter`` goes before what was kept with the readings, and that
    before the bench's usual meter."""
    saved = [one for one in desk.readings if one.kind == "ohms"]
    meters = dict.fromkeys(one.meter for one in reversed(saved) if one.meter)
    own = desk.own.usual(OwnMeter)
    said = [*([own.accuracy] if own is not None else []), *reversed(meters), *([meter] if meter else [])]
    return Snapshot(desk.leads, tuple(_reading(one) for one in saved), tuple(said), tuple(skipped))


def _reading(saved: SavedReading) -> Reading:
    automatic = saved.range_ohm == AUTOMATIC_RANGE_OHM
    reading = replace(saved.reading, range_ohm=None) if automatic else saved.reading
    return replace(reading, meter=clips_meter()) if saved.meter == CLIPS else reading


def judged(snapshot: Snapshot) -> Verdict:
    """What the readings come to, and the next one to take. Raises InputProblem for leads that can't be judged."""
    from coilbench.winding.engine.sorting import judge

    meter = meter_of(snapshot.meters)
    return judge(snapshot.leads, snapshot.readings, meter, skipped=snapshot.skipped)


def check_meter(said: str) -> str:
    """An accuracy as it can be kept with readings. Raises InputProblem for what states none."""
    from coilbench.winding.readings.meter import parse_meter

    parse_meter(said)
    return said.strip()


def meter_of(said: Iterable[str]) -> Meter:
    """The accuracy that was stated last, a hand-held meter's where none was."""
    from coilbench.winding.readings.meter import DEFAULT_METER, parse_meter

    meter = DEFAULT_METER
    for text in said:
        try:
            meter = parse_meter(text)
        except InputProblem:  # a meter's name, as the bin may hold it
            continue
    return meter


def windings_of(verdict: Verdict, inductances: Iterable[Inductance] = ()) -> Windings:
    """A verdict as it is kept: names as they were given, ohms without the probes, None for what isn't known."""
    from coilbench.winding.readings.inductance import of_coils

    henries = of_coils([coil.ends for coil in verdict.coils], verdict.common, inductances)
    return Windings(
        arrangement=verdict.arrangement,
        confidence=round(verdict.confidence, 6),
        coils=tuple(
            Coil(
                name=coil.name,
                ends=coil.ends,
                tap=coil.tap,
                ohms=_finite(coil.ohm),
                ohms_sd=_finite(coil.ohm_sd),
                henry=henries[coil.ends].henry if coil.ends in henries else None,
                henry_sd=henries[coil.ends].sd if coil.ends in henries else None,
            )
            for coil in verdict.coils
        ),
        common=verdict.common,
        spare=verdict.spare,
        cannot_tell=verdict.cannot_tell,
        faults=tuple(WindingFault(kind=fault.kind, leads=fault.leads) for fault in verdict.faults),
        repeat=verdict.repeat,
        next=None if verdict.ask is None else ask_value(verdict.ask),
        readings=verdict.readings,
        lead_ohms=_finite(verdict.lead_ohm),
        lead_ohms_sd=_finite(verdict.lead_ohm_sd),
    )


def result_of(verdict: Verdict, inductances: Iterable[Inductance] = ()) -> dict[str, Any]:
    """The same as the one JSON object of the command; the ohms between leads are in it where there are no coils."""
    found: dict[str, Any] = plain(windings_of(verdict, inductances))
    between = ("lead_ohms", "lead_ohms_sd")
    return {key: value for key, value in found.items() if key not in between or value is not None}


def ask_value(ask: Ask) -> Pair | str:
    """What to measure next, as it is kept and as JSON has it: two names, or the word for the probes together."""
    return "probes-together" if ask.kind == "probes-together" else (ask.a, ask.b)


def _finite(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else round(value, 4)
