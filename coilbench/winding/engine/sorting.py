"""From readings to a verdict: which lead is which, how sure, and what to measure next."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import replace

from coilbench.errors import InputProblem
from coilbench.winding.engine.asking import next_ask
from coilbench.winding.engine.catalogue import CATALOGUE, Catalogue
from coilbench.winding.engine.hypotheses import EXACT_LEADS
from coilbench.winding.engine.judged import Judged, weighed
from coilbench.winding.engine.looms import judge_loom
from coilbench.winding.engine.picture import verdict_without_ask
from coilbench.winding.engine.resistors import Resistors, again, resistor_text, resistors, sensor_asks
from coilbench.winding.engine.verdict import Verdict
from coilbench.winding.readings.meter import DEFAULT_METER, Meter
from coilbench.winding.readings.reading import FRAME, MOST_LEADS, PROBES, Reading

_LEAST_LEADS = 2
BROKEN_PROBES = (
    "the probes held together read open: a meter lead, its plug, its fuse or the range is at fault, and no OL tells"
    " anything until they read near zero"
)


def judge(
    leads: Sequence[str],
    readings: Sequence[Reading],
    meter: Meter = DEFAULT_METER,
    *,
    skipped: Collection[tuple[str, str]] = (),
    catalogue: Catalogue = CATALOGUE,
) -> Verdict:
    """Name the winding that the readings show and choose the next reading.

    ``skipped`` are pairs the person would rather not measure; they are not asked again. ``catalogue`` is what the
    readings are compared with. Raises InputProblem for
    fewer than two or more than twelve leads, equal names, or a reading of a lead that isn't there.
    """
    names = tuple(leads)
    _check(names, readings)
    found = resistors(names, readings)
    own = tuple(name for name in names if name not in found.leads)
    if len(own) < _LEAST_LEADS:
        found, own = Resistors((), ()), names
    between = [one for one in readings if {one.a, one.b} <= {*own, FRAME, PROBES}]
    verdict = _with_resistors(_judged(own, between, meter, skipped, catalogue), names, readings, found, skipped)
    together = [one.ohm for one in readings if one.a == one.b == PROBES]
    if together and math.isinf(min(together)):
        return replace(verdict, notes=(BROKEN_PROBES, *verdict.notes))
    return verdict


def _with_resistors(
    verdict: Verdict,
    names: tuple[str, ...],
    readings: Sequence[Reading],
    found: Resistors,
    skipped: Collection[tuple[str, str]],
) -> Verdict:
    """The verdict on the motor's own leads, with those that are a sensor's beside them."""
    passed = frozenset(frozenset(pair) for pair in skipped)
    first = next((ask for pair in found.doubtful if (ask := again(pair, passed))), None)
    if first is not None:
        verdict = replace(verdict, ask=first, sure=False, to_go=max(verdict.to_go or 0.0, 1.0))
    if not found.sets:
        return verdict
    ask = verdict.ask
    if ask is None or ask.kind == "frame":
        coils = [coil.ends if coil.tap is None else (*coil.ends, coil.tap) for coil in verdict.coils]
        more = sensor_asks(found, verdict.spare, coils[:1] if verdict.common else coils, readings)
        ask = next((one for one in more if frozenset((one.a, one.b)) not in passed), ask)
    others = tuple(lead for leads in found.sets for lead in leads)
    told = tuple(resistor_text(leads, readings) for leads in found.sets)
    doubt = {name: verdict.doubt.get(name, 1 - verdict.confidence) for name in names}
    return replace(
        verdict,
        leads=names,
        spare=(*verdict.spare, *others),
        cannot_tell=(*told, *verdict.cannot_tell),
        ask=ask,
        sure=ask is None and verdict.sure,
        readings=len(readings),
        doubt=doubt,
    )


def _judged(
    names: tuple[str, ...],
    readings: Sequence[Reading],
    meter: Meter,
    skipped: Collection[tuple[str, str]],
    catalogue: Catalogue,
) -> Verdict:
    if len(names) > EXACT_LEADS:
        passed = frozenset(frozenset(pair) for pair in skipped)

        def judge_set(own: tuple[str, ...], taken: Sequence[Reading], sets: int) -> Verdict:
            return verdict_on(weighed(own, taken, meter, catalogue), skipped, sets)

        return judge_loom(names, readings, judge_set, passed, catalogue)
    return verdict_on(weighed(names, readings, meter, catalogue), skipped)


def verdict_on(case: Judged, skipped: Collection[tuple[str, str]] = (), sets: int = 1) -> Verdict:
    """The verdict on readings weighed, with the next one to take; they are one of so many ``sets`` of a loom."""
    verdict = verdict_without_ask(case)
    ask, to_go = next_ask(case, verdict, skipped, sets)
    return replace(verdict, ask=ask, to_go=to_go, sure=ask is None and verdict.sure)


def _check(names: tuple[str, ...], readings: Sequence[Reading]) -> None:
    if not _LEAST_LEADS <= len(names) <= MOST_LEADS:
        raise InputProblem(f"{len(names)} leads given; expected {_LEAST_LEADS} to {MOST_LEADS}")
    if len(set(names)) < len(names):
        raise InputProblem("two leads have the same name; expected a name of its own for each")
    for reading in readings:
        for name in (reading.a, reading.b):
            if name not in names and name not in (FRAME, PROBES):
                raise InputProblem(f"lead {name[:40]!r} is not among the motor's leads")
        if reading.a == reading.b != PROBES or (PROBES in (reading.a, reading.b) and reading.a != reading.b):
            raise InputProblem(f"a reading from {reading.a[:40]!r} to {reading.b[:40]!r} tells nothing")
        if math.isnan(reading.ohm) or reading.ohm < 0:
            raise InputProblem(f"{reading.ohm} ohm is no reading; expected zero or more, or open")
