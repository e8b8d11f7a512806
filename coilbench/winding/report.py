"""A verdict in words, and in a lead table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from coilbench.winding.drawing.figures import ohms, percent
from coilbench.winding.engine.catalogue import CATALOGUE, UNKNOWN, Catalogue
from coilbench.winding.engine.fitness import fitness
from coilbench.winding.engine.verdict import NAMED_FROM, Ask, Coil, Verdict
from coilbench.winding.order.judging import drive_tables, order_question
from coilbench.winding.order.types import OrderVerdict
from coilbench.winding.readings.leads import lead_colour

_FEW_OHM = 0.5
FINER = (
    "So few ohms drown in a display's last digit: a finer meter, or the volts that a known current leaves between "
    "two leads, would tell."
)
Role = Literal["end", "tap", "common", "inside", "spare", "broken", "dead", "unknown"]


@dataclass(frozen=True, slots=True)
class LeadRow:
    """One line of the lead table. ``ohm`` is that of the coil end to end (a tap: to either end)."""

    lead: str
    colour: str
    coil: str
    role: Role
    ohm: float | None
    ohm_sd: float | None
    certainty: float

    def cells(self, *, ascii: bool = False) -> tuple[str, ...]:
        """Lead, colour, coil, role, ohms, sure, as text; a place less likely than not has a question mark."""
        doubt = "?" if self.certainty < 0.5 and self.role != "unknown" else ""
        return (
            self.lead,
            self.colour,
            self.coil + doubt if self.coil else "",
            self.role + doubt,
            ohms(self.ohm, self.ohm_sd, ascii=ascii),
            percent(self.certainty),
        )


LEAD_TABLE_HEADERS = ("lead", "colour", "coil", "role", "ohms", "sure")


def lead_table(verdict: Verdict) -> list[LeadRow]:
    """One row a lead, in the order the leads were given."""
    return [_row(lead, verdict) for lead in verdict.leads]


def named(verdict: Verdict) -> bool:
    """Whether the motor counts as named, faulty or not."""
    return verdict.arrangement != UNKNOWN and verdict.confidence >= NAMED_FROM


def several_motors(verdict: Verdict) -> bool:
    """Whether these are the leads of more than one motor, each coil known."""
    return bool(verdict.arrangement == UNKNOWN and verdict.looks_like and verdict.coils) and (
        verdict.confidence >= NAMED_FROM
    )


def what_it_is(verdict: Verdict, catalogue: Catalogue = CATALOGUE) -> str:
    """One sentence: what the motor is and how sure that is."""
    words = catalogue.find(verdict.arrangement).motor
    if verdict.readings == 0:
        return "Nothing measured yet."
    if several_motors(verdict):
        return f"This is no one motor: {verdict.looks_like} ({percent(verdict.confidence)} sure)."
    if named(verdict):
        faulty = ", with a fault" if verdict.faults else ""
        return f"This is {words}{faulty} ({percent(verdict.confidence)} sure)."
    if verdict.arrangement == UNKNOWN:
        return "These readings fit none of the windings known here."
    return f"Perhaps {words}; which lead is which is {percent(verdict.confidence)} sure."


def warnings(verdict: Verdict) -> list[str]:
    """The faults and doubts, the dangerous ones first."""
    lines = []
    frame = [fault for fault in verdict.faults if fault.kind == "frame"]
    if frame:
        leads = list(dict.fromkeys(lead for fault in frame for lead in fault.leads))
        conducts = "conducts" if len(leads) == 1 else "conduct"
        lines.append(
            f"Do not power this motor: {', '.join(leads)} {conducts} to the case, which can become live, and"
            " the driver can be destroyed."
        )
    doubt = "" if named(verdict) else "perhaps "
    lines += [f"{doubt}{fault.text}" for fault in verdict.faults if fault.kind != "frame" and fault.text]
    for a, b in verdict.repeat:
        lines.append(f"The reading {a} to {b} doesn't fit the others: measure it again.")
    said = "touches the case" if frame else None  # the first line says it already, and more
    lines += [note for note in verdict.notes if said is None or said not in note]
    if verdict.looks_like and not several_motors(verdict):
        lines.append(f"Perhaps not a stepper: {verdict.looks_like}")
    return lines


def cannot_tell_sentences(verdict: Verdict, order: OrderVerdict | None = None) -> list[str]:
    """What resistance leaves open. What the tests by hand have settled since is left out."""
    if order is not None and order.done:
        if order.direction_known:
            return [f"Direction and order are known from {order.tests} tests."]
        return [f"The order is known from {order.tests} tests, which way the shaft turns is not."]
    return [f"Resistance can't tell {text}." for text in verdict.cannot_tell]


def ohms_sentences(verdict: Verdict, catalogue: Catalogue = CATALOGUE) -> str:
    """Whose the ohms of the table are, and why they differ from what the meter said; empty where they don't."""
    given = any(coil.ohm is not None for coil in verdict.coils) or verdict.lead_ohm is not None
    whose = catalogue.find(verdict.arrangement).whose_ohms if given and not verdict.faults else ""
    if verdict.probes_ohm is None or round(verdict.probes_ohm, 1) == 0 or not given:
        return whose
    probes = f"The ohms are without the probes: {verdict.probes_ohm:.1f} ohm is taken off what the meter said."
    return f"{probes} {whose}".strip()


def next_steps(verdict: Verdict, order: OrderVerdict | None = None, catalogue: Catalogue = CATALOGUE) -> list[str]:
    """What to do next, one sentence each."""
    return [*_next_step(verdict, order, catalogue), *_proof_of_untouched(verdict)]


def _next_step(verdict: Verdict, order: OrderVerdict | None, catalogue: Catalogue) -> list[str]:
    fit = fitness(verdict, catalogue)
    leak = any(fault.kind == "frame" for fault in verdict.faults)
    if verdict.ask is not None and not leak:
        return [f"Next: {ask_sentence(verdict.ask)} ({verdict.ask.why})."]
    if several_motors(verdict) and not leak:
        return ["Add each motor by itself, with its own leads: coils of one motor have like ohms."]
    if not named(verdict) and not leak:
        ohms_known = [ohm for ohm in (*(coil.ohm for coil in verdict.coils), verdict.lead_ohm) if ohm is not None]
        if min(ohms_known, default=math.inf) < _FEW_OHM:
            return [FINER]
        return ["Measure more pairs, or check the leads for breaks and bad contacts."]
    if fit.line:
        return [f"{fit.line[0].upper()}{fit.line[1:]}."]
    if order is not None and order.done:
        return ["Next: the rating, then the connection for your driver."]
    question = order_question(verdict, catalogue)
    if question is not None and question.halves:
        return ["Next: find by the flick test which halves belong together, before any wiring."]
    if question is not None and not question.phases:
        return ["Next: find the phase order by hand, before any wiring."]
    arrangement = catalogue.find(verdict.arrangement)
    if not arrangement.drivable:
        return [arrangement.driver]
    return [
        "Next: the rating, then the connection for your driver. Direction: swap one coil's two ends if it is wrong."
    ]


def _proof_of_untouched(verdict: Verdict) -> list[str]:
    """For each lead placed by elimination the reading that would show its wire broken."""
    if verdict.ask is not None or not named(verdict):
        return []
    lines = []
    for lead in verdict.untouched:
        coil = next(coil for coil in verdict.coils if lead in (*coil.ends, coil.tap))
        other = next(end for end in coil.ends if end != lead)
        what = "common lead" if lead == verdict.common else "tap" if lead == coil.tap else "lead"
        lines.append(
            f"The {what} {lead} is placed by elimination, no reading touched it: {lead} to {other} proves it."
        )
    return lines


def ask_sentence(ask: Ask) -> str:
    """The reading asked for, as an instruction."""
    if ask.kind == "probes-together":
        return "hold the two probes together and read the meter"
    if ask.kind == "range":
        return f"turn the meter up a range, then probes on {ask.a} and {ask.b}"
    if ask.kind == "frame":
        return f"one probe on {ask.a}, the other on bare metal of the case, fingers off both tips"
    return f"probes on {ask.a} and {ask.b}"


def drive_sentences(order: OrderVerdict) -> list[str]:
    """The switching sequence in both directions, and the joins of an eight-lead motor."""
    lines = []
    for name, halves in order.phase_halves:
        lines.append(
            f"Phase {name}: {' and '.join(f'{start} to {finish}' for start, finish in halves)}, both one way."
        )
    if order.halves_known:
        lines.append("In series: join " + "; ".join(" with ".join(pair) for pair in order.series_joins) + ".")
        lines.append("In parallel: join " + "; ".join(" with ".join(pair) for pair in order.parallel_joins) + ".")
    if order.done and not order.direction_known:
        lines.append(
            f"Switched on one after another, {', '.join(order.sequence)} turns the shaft, {', '.join(order.reverse)} "
            "the other way; which of them is clockwise isn't known. If it turns the wrong way, swap the two leads of "
            "one phase at the driver, with the supply off."
        )
    elif order.done:
        lines.append(f"Switched on one after another, {', '.join(order.sequence)} turns the shaft clockwise")
        lines[-1] += f" (seen from its end), {', '.join(order.reverse)} anticlockwise."
        pairs = drive_tables(order.sequence)["two phases on"]
        lines.append(f"Stronger, with two phases on, clockwise: {', '.join(' + '.join(pair) for pair in pairs)}.")
    return lines


def _row(lead: str, verdict: Verdict) -> LeadRow:
    colour = lead_colour(lead)
    role: Role = "unknown"
    ohm = ohm_sd = None
    of_lead: Sequence[Coil] = [coil for coil in verdict.coils if lead in (*coil.ends, coil.tap)]
    if any(fault.kind == "broken-lead" and lead in fault.leads for fault in verdict.faults):
        role = "broken"
    elif lead == verdict.common:
        role = "common"
    elif of_lead:
        coil = of_lead[0]
        role = "tap" if lead == coil.tap else "end"
        uneven = any(lead in fault.leads or set(fault.leads) <= {*coil.ends, coil.tap} for fault in verdict.faults)
        if role == "end" or not uneven:
            share = 0.5 if role == "tap" else 1.0
            ohm = coil.ohm * share if coil.ohm is not None else None
            ohm_sd = coil.ohm_sd * share if coil.ohm_sd is not None else None
    elif any(fault.kind == "open" and lead in fault.leads for fault in verdict.faults):
        role = "dead"
    elif lead in verdict.spare:
        role = "spare"
    elif verdict.lead_ohm is not None:
        role, ohm, ohm_sd = "inside", verdict.lead_ohm, verdict.lead_ohm_sd
    names = "all" if role == "common" else " ".join(coil.name for coil in of_lead)
    doubt = verdict.doubt.get(lead, 1.0 - verdict.confidence)
    return LeadRow(
        lead=lead,
        colour=(colour.word or "") if colour else "",
        coil=names,
        role=role,
        ohm=ohm,
        ohm_sd=ohm_sd,
        certainty=1.0 - doubt,
    )
