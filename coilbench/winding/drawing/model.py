"""One model of the wiring drawing: what is drawn, before any decision how it looks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from coilbench.winding.engine.catalogue import CATALOGUE, Catalogue
from coilbench.winding.engine.verdict import Coil, FaultKind, Verdict
from coilbench.winding.order.types import OrderVerdict
from coilbench.winding.readings.leads import lead_colour
from coilbench.winding.readings.reading import Reading
from coilbench.winding.readings.repeats import OPEN_ABOVE_OHM, overruled

Shape = Literal["coils", "star", "ring", "inside"]
LeadState = Literal["placed", "joined", "unknown", "spare", "broken", "dead"]

# A lead whose place is more likely wrong than right is drawn loose.
_LOOSE_BELOW = 0.5


@dataclass(frozen=True, slots=True)
class DrawnLead:
    """A terminal: the lead's name, its colour where the name is one, and how sure its place is (0 to 1)."""

    name: str
    state: LeadState
    certainty: float
    code: str | None = None  # IEC 60757
    word: str | None = None
    css: tuple[str, ...] = ()  # one colour, or two for a striped lead
    on_frame: bool = False


@dataclass(frozen=True, slots=True)
class DrawnCoil:
    """A coil between two terminals; None stands for an end or tap that isn't found yet."""

    name: str
    first: str | None
    second: str | None
    tapped: bool = False
    tap: str | None = None
    ohm: float | None = None
    ohm_sd: float | None = None
    alive: bool = False
    dead_first: bool = False  # for a tapped coil, the half on the side of `first`
    dead_second: bool = False
    shorted_first: bool = False
    shorted_second: bool = False
    phase: str | None = None  # eight leads, once the halves are paired

    @property
    def dead(self) -> bool:
        """Whether any part of the coil is open."""
        return self.dead_first or self.dead_second

    @property
    def shorted(self) -> bool:
        """Whether any part of the coil has shorted turns."""
        return self.shorted_first or self.shorted_second


@dataclass(frozen=True, slots=True)
class Join:
    """Leads that belong together at one point, with the words for it."""

    text: str
    leads: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WiringDrawing:
    """Everything a wiring drawing shows. ``common`` is the shared lead of a star (None: not found yet)."""

    shape: Shape
    coils: tuple[DrawnCoil, ...]
    leads: tuple[DrawnLead, ...]
    common: str | None = None
    inside: str | None = None  # what is inside, for arrangements that list no coils
    inside_ohm: float | None = None
    joins: tuple[Join, ...] = ()
    sequence: tuple[str, ...] = ()
    measured: tuple[DrawnCoil, ...] = ()  # pairs that conduct, whose place isn't sure yet

    @property
    def loose(self) -> tuple[DrawnLead, ...]:
        """The leads drawn on no coil."""
        return tuple(lead for lead in self.leads if lead.state not in ("placed", "joined"))


def draw(
    verdict: Verdict,
    order: OrderVerdict | None = None,
    readings: Sequence[Reading] = (),
    catalogue: Catalogue = CATALOGUE,
) -> WiringDrawing:
    """The wiring drawing of a verdict, finished or partial, with the phase order where it is known.

    With the readings, pairs found to conduct are drawn too while their place in the whole isn't sure yet.
    """
    certainty = {lead: _certainty(verdict, lead) for lead in verdict.leads}
    unsure = {lead for lead, value in certainty.items() if value < _LOOSE_BELOW}
    if verdict.readings == 0:
        unsure = set(verdict.leads)
    common = verdict.common if verdict.common not in unsure else None
    coils = tuple(drawn for coil in verdict.coils if (drawn := _draw_coil(coil, verdict, unsure, order)) is not None)
    on_coils = {lead for coil in coils for lead in (coil.first, coil.second, coil.tap) if lead is not None}
    inside = None if verdict.coils else catalogue.find(verdict.arrangement).inside
    if inside is not None:
        members = [lead for lead in verdict.leads if lead not in verdict.spare and lead not in unsure]
        inside = inside if len(members) > 1 else None
        on_coils |= set(members) if inside else set()
    shape = _shape(verdict, coils, inside)
    measured = _measured(verdict, readings, on_coils)
    joined = {lead for coil in measured for lead in (coil.first, coil.second)}
    leads = tuple(
        _draw_lead(lead, verdict, placed=lead in on_coils, joined=lead in joined, certainty=certainty[lead])
        for lead in verdict.leads
    )
    return WiringDrawing(
        shape=shape,
        coils=_walk_ring(coils) if shape == "ring" else coils,
        leads=leads,
        common=common if shape == "star" else None,
        inside=inside,
        inside_ohm=verdict.lead_ohm if inside else None,
        joins=_joins(order),
        sequence=order.sequence if order is not None and order.direction_known else (),
        measured=measured,
    )


def _certainty(verdict: Verdict, lead: str) -> float:
    doubt = verdict.doubt.get(lead, 1.0 - verdict.confidence)
    return min(1.0, max(0.0, 1.0 - doubt))


def _shape(verdict: Verdict, coils: tuple[DrawnCoil, ...], inside: str | None) -> Shape:
    if inside:
        return "inside"
    if not coils:
        return "coils"
    if verdict.common is not None and all(verdict.common in coil.ends for coil in verdict.coils):
        return "star"
    if _is_ring(coils):
        return "ring"
    return "coils"


def _draw_coil(coil: Coil, verdict: Verdict, unsure: set[str], order: OrderVerdict | None) -> DrawnCoil | None:
    first, second = coil.ends
    if verdict.common is not None and first == verdict.common:
        first, second = second, first
    known = [lead for lead in (first, second) if lead not in unsure]
    star_end_unknown = verdict.common is not None and first in unsure
    if not known or star_end_unknown:
        return None
    dead_first, dead_second = _parts(coil, first, second, verdict, "open")
    shorted_first, shorted_second = _parts(coil, first, second, verdict, "shorted-turns")
    phase = None
    if order is not None and order.halves_known:
        phase = next((name for name, halves in order.phase_halves if set(coil.ends) in map(set, halves)), None)
    return DrawnCoil(
        name=coil.name,
        first=first if first not in unsure else None,
        second=second if second not in unsure else None,
        tapped=coil.tap is not None,
        tap=coil.tap if coil.tap not in unsure else None,
        ohm=coil.ohm,
        ohm_sd=coil.ohm_sd,
        alive=coil.alive,
        dead_first=dead_first,
        dead_second=dead_second,
        shorted_first=shorted_first,
        shorted_second=shorted_second,
        phase=phase,
    )


def _all_leads(coil: Coil) -> set[str]:
    return {*coil.ends, *((coil.tap,) if coil.tap is not None else ())}


def _parts(coil: Coil, first: str, second: str, verdict: Verdict, kind: FaultKind) -> tuple[bool, bool]:
    """Which halves of the coil have a fault of this kind."""
    in_first = in_second = False
    for fault in verdict.faults:
        leads = set(fault.leads)
        if fault.kind != kind or not leads <= _all_leads(coil):
            continue
        if coil.tap is not None and leads == {first, coil.tap}:
            in_first = True
        elif coil.tap is not None and leads == {second, coil.tap}:
            in_second = True
        elif leads >= {first, second}:
            in_first = in_second = True
        elif leads == {first}:
            in_first = True
        elif leads == {second}:
            in_second = True
    return in_first, in_second


def _measured(verdict: Verdict, readings: Sequence[Reading], on_coils: set[str]) -> tuple[DrawnCoil, ...]:
    """The conducting readings that join a loose lead to another lead, each pair of groups once.

    Left out is what the engine doesn't believe: readings overruled by others of their pair, or to be taken again.
    """
    doubted = {frozenset(pair) for pair in verdict.repeat}
    group = {lead: {lead} for lead in verdict.leads}
    found = []
    for reading, gone in zip(readings, overruled(readings), strict=True):
        a, b = reading.a, reading.b
        if gone or frozenset((a, b)) in doubted:
            continue
        if a not in group or b not in group or reading.ohm > OPEN_ABOVE_OHM:
            continue
        if {a, b} <= on_coils or b in group[a]:
            continue
        merged = group[a] | group[b]
        group.update(dict.fromkeys(merged, merged))
        found.append(DrawnCoil(name="", first=a, second=b, ohm=reading.ohm, alive=True))
    return tuple(found)


def _draw_lead(lead: str, verdict: Verdict, *, placed: bool, joined: bool, certainty: float) -> DrawnLead:
    state: LeadState = "joined" if joined else "unknown"
    broken = any(fault.kind == "broken-lead" and lead in fault.leads for fault in verdict.faults)
    if placed and not broken:
        state = "placed"
    elif broken:
        state = "broken"
    elif not joined and any(fault.kind == "open" and lead in fault.leads for fault in verdict.faults):
        state = "dead" if certainty >= _LOOSE_BELOW else "unknown"
    elif not joined and lead in verdict.spare and certainty >= _LOOSE_BELOW and verdict.readings:
        state = "spare"
    colour = lead_colour(lead)
    return DrawnLead(
        name=lead,
        state=state,
        certainty=certainty,
        code=colour.code if colour else None,
        word=colour.word if colour else None,
        css=tuple(colour.css) if colour else (),
        on_frame=any(fault.kind == "frame" and lead in fault.leads for fault in verdict.faults),
    )


def _is_ring(coils: tuple[DrawnCoil, ...]) -> bool:
    ends = [lead for coil in coils for lead in (coil.first, coil.second)]
    return len(coils) >= 3 and None not in ends and all(ends.count(lead) == 2 for lead in ends)


def _walk_ring(coils: tuple[DrawnCoil, ...]) -> tuple[DrawnCoil, ...]:
    """The sides of a ring in the order they follow each other, each turned so that it starts where the last ended."""
    walk = [coils[0]]
    left = list(coils[1:])
    while left:
        at = walk[-1].second
        side = next((coil for coil in left if at in (coil.first, coil.second)), None)
        if side is None:
            return coils
        left.remove(side)
        walk.append(side if side.first == at else _turned(side))
    return tuple(walk)


def _turned(coil: DrawnCoil) -> DrawnCoil:
    return replace(
        coil,
        first=coil.second,
        second=coil.first,
        dead_first=coil.dead_second,
        dead_second=coil.dead_first,
        shorted_first=coil.shorted_second,
        shorted_second=coil.shorted_first,
    )


def _joins(order: OrderVerdict | None) -> tuple[Join, ...]:
    if order is None or not order.halves_known:
        return ()
    return (
        *(Join("series: join", pair) for pair in order.series_joins),
        *(Join("parallel: join", group) for group in order.parallel_joins),
    )
