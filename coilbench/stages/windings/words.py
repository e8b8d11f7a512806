"""What the windings stage says: the question, what is known so far, and the whole result."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from coilbench.records.rows import SavedReading
from coilbench.records.saved.windings import Windings
from coilbench.stages.leads import lead_short, lead_words
from coilbench.stages.picture import Wiring
from coilbench.stages.stage import Known
from coilbench.winding.engine.verdict import Ask, Verdict
from coilbench.winding.readings.reading import FRAME, Reading

if TYPE_CHECKING:
    from coilbench.winding.order.types import OrderVerdict

CAUTION = "motor off every driver and supply"
FINGERS = "fingers off both probe tips; scrape the paint away for bare metal"
HINT = "ohms, or o for OL"


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked now. ``probes`` are the two places to touch; without them ``text`` says what to do or what it is
    about. ``hint`` says what can be typed, ``sentence`` is all of it but the reason ``why``."""

    kind: str
    a: str
    b: str
    title: str
    why: str
    sentence: str
    probes: tuple[str, ...] = ()
    text: str = ""
    hint: str = HINT
    caution: str = ""


def asked(ask: Ask) -> Asked:
    """A reading that is asked for, in words."""
    from coilbench.winding.report import ask_sentence

    sentence = ask_sentence(ask)
    found = Asked(ask.kind, ask.a, ask.b, "put the probes on", ask.why, sentence[:1].upper() + sentence[1:])
    if ask.kind == "probes-together":
        return replace(found, title="hold the probes together", text="both probe tips, touching each other")
    if ask.kind == "frame":
        found = replace(found, title="leak to the case? fingers off the tips", caution=FINGERS)
    if ask.kind == "range":
        return replace(found, title="turn the meter up a range, probes on", probes=(ask.a, ask.b))
    words = " and ".join("bare metal of the case" if lead == FRAME else lead_words(lead) for lead in (ask.a, ask.b))
    return replace(found, probes=(ask.a, ask.b), sentence=f"Put the probes on {words}")


def asked_range(reading: Reading) -> Asked:
    """Nothing but open readings: a coil above a hand-set range reads open, too."""
    return Asked(
        "meter-range",
        reading.a,
        reading.b,
        "which range was the meter on?",
        "a coil above it reads open, too; its top, such as 200 or 2k; auto if the meter finds its own",
        "Nothing but open so far. Is the meter on a hand-set range?",
        text="nothing but OL so far",
        hint="its top, 200 or 2k; Enter: auto",
    )


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """A reading in the list: ``number`` counts from 1, ``id`` is its number in the bin, ``mark`` is ``x`` for one
    that is overruled by another of its pair, ``!`` for one that doesn't fit the others."""

    id: int
    number: int
    mark: str
    a: str
    b: str
    ohms: str

    @property
    def remark(self) -> str:
        """The mark in words."""
        return {"x": "overruled by another of this pair", "!": "doesn't fit the others"}.get(self.mark, "")


def reading_rows(readings: Sequence[SavedReading], doubtful: Sequence[tuple[str, str]]) -> tuple[ReadingRow, ...]:
    """The readings as a list, in the order in which they were taken."""
    from coilbench.quantity import format_quantity
    from coilbench.winding.readings.repeats import overruled

    doubted = {frozenset(pair) for pair in doubtful}
    gone = overruled([saved.reading for saved in readings])
    marks = [
        "x" if out else "!" if frozenset((saved.a, saved.b)) in doubted else ""
        for saved, out in zip(readings, gone, strict=True)
    ]
    return tuple(
        ReadingRow(
            saved.id, number, mark, lead_short(saved.a), lead_short(saved.b), format_quantity(saved.ohm, "ohm", 4)
        )
        for number, (saved, mark) in enumerate(zip(readings, marks, strict=True), 1)
    )


def known_of(verdict: Verdict) -> list[Known]:
    """What is known so far, while the windings are sorted."""
    from coilbench.winding.drawing.figures import ohms, percent

    named = verdict.arrangement != "unknown" and verdict.readings
    lines = [Known("leads", str(len(verdict.leads)))]
    if named:
        kind = "" if verdict.kind_confidence is None else f" ({percent(verdict.kind_confidence)})"
        lines.append(Known("likely" if not verdict.sure else "it is", verdict.arrangement + kind))
        lines.append(Known("all leads", f"{percent(verdict.confidence)} confidence"))
    if named and verdict.confidence >= 0.5:
        lines += [_coil(coil.name, coil.ends, coil.tap, coil.ohm, coil.ohm_sd) for coil in verdict.coils]
        if verdict.common:
            lines.append(Known("common", verdict.common))
        if verdict.spare:
            lines.append(Known("spare", ", ".join(verdict.spare)))
        if verdict.lead_ohm is not None:
            lines.append(Known("lead-lead", ohms(verdict.lead_ohm, verdict.lead_ohm_sd)))
    elif named:
        lines += [Known("or" if place else "perhaps", text) for place, text in enumerate(_alternatives(verdict))]
    lines += [Known("fault", found.text) for found in verdict.faults]
    lines += [Known("again", f"{a} – {b}: doesn't fit") for a, b in verdict.repeat]
    if verdict.probes_ohm is not None:
        lines.append(Known("probes", ohms(verdict.probes_ohm, verdict.probes_ohm_sd)))
    to_go = "" if verdict.to_go is None or verdict.ask is None else f", about {_count(verdict.to_go)} to go"
    lines.append(Known("readings", f"{verdict.readings}{to_go}"))
    if verdict.looks_like:
        lines.append(Known("looks like", verdict.looks_like))
    return lines


def summary_of(windings: Windings) -> list[Known]:
    """A kept result in a few lines, for the other stages."""
    from coilbench.winding.drawing.figures import ohms, percent
    from coilbench.winding.engine.fitness import FAULT_WORDS

    return [
        Known("windings", f"{windings.arrangement} ({percent(windings.confidence)})"),
        *(_coil(coil.name, coil.ends, coil.tap, coil.ohms, coil.ohms_sd) for coil in windings.coils),
        *known_inductances(windings),
        *(
            []
            if windings.lead_ohms is None
            else [Known("lead-lead", ohms(windings.lead_ohms, windings.lead_ohms_sd))]
        ),
        *(
            Known("fault", f"{FAULT_WORDS.get(found.kind, found.kind)} at {', '.join(found.leads)}")
            for found in windings.faults
        ),
    ]


def known_inductances(windings: Windings) -> list[Known]:
    """The coils' inductances as measured on clips."""
    from coilbench.winding.drawing.figures import henries

    return [
        Known(f"coil {coil.name}", f"{henries(coil.henry, coil.henry_sd)}, by its current's rise")
        for coil in windings.coils
        if coil.henry is not None and coil.henry_sd is not None
    ]


def result_text(verdict: Verdict, windings: Windings) -> str:
    """The coils, lead by lead, for a screen that says above them what it is."""
    from coilbench.winding.drawing.figures import henries, ohms

    told = {coil.ends: henries(coil.henry, coil.henry_sd) for coil in windings.coils if coil.henry and coil.henry_sd}
    parts = []
    for coil in verdict.coils:
        figures = filter(None, (ohms(coil.ohm, coil.ohm_sd), told.get(coil.ends)))
        rows = [f"coil {coil.name}   {', '.join(figures)}"]
        rows += [f"  end  {lead_words(end)}" for end in coil.ends]
        if coil.tap:
            rows.append(f"  tap  {lead_words(coil.tap)}")
        parts.append("\n".join(rows))
    return "\n\n".join(parts)


@dataclass(frozen=True, slots=True)
class Page:
    """All there is to say of a motor's windings, on plain lines: ``opening`` with the warnings first, the drawing,
    the table of leads, what ``about_ohms`` they are, and what is left to say."""

    opening: tuple[str, ...]
    wiring: Wiring
    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    about_ohms: str
    closing: tuple[str, ...]


def page_of(
    verdict: Verdict,
    windings: Windings,
    order: OrderVerdict | None = None,
    readings: Sequence[Reading] = (),
    *,
    ascii: bool = False,
) -> Page:
    """The page of a verdict, with the phase order where it was tested."""
    from coilbench.winding import report

    return Page(
        (*(f"! {warning}" for warning in report.warnings(verdict)), report.what_it_is(verdict)),
        Wiring(verdict, order, readings),
        report.LEAD_TABLE_HEADERS,
        tuple(row.cells(ascii=ascii) for row in report.lead_table(verdict)),
        report.ohms_sentences(verdict),
        (
            *_inductance_sentences(windings),
            *report.cannot_tell_sentences(verdict, order),
            *(report.drive_sentences(order) if order is not None else ()),
            *report.next_steps(verdict, order),
        ),
    )


def _inductance_sentences(windings: Windings) -> list[str]:
    lines = known_inductances(windings)
    if not lines:
        return []
    meters = "At rest and a few milliampere; a meter's own figure at 1 kHz may lie as far off, for the iron's sake."
    return [*(f"{line.label[:1].upper()}{line.label[1:]}: {line.text}." for line in lines), meters]


def progress_of(verdict: Verdict) -> list[str]:
    """After each reading: warnings, what it seems to be, how far it is."""
    from coilbench.winding import report

    to_go = f" About {_count(verdict.to_go)} to go." if verdict.to_go and verdict.ask is not None else ""
    return [*(f"! {warning}" for warning in report.warnings(verdict)), report.what_it_is(verdict) + to_go]


def _count(to_go: float) -> int:
    return max(1, round(to_go))


def _coil(name: str, ends: Sequence[str], tap: str | None, ohm: float | None, ohm_sd: float | None) -> Known:
    from coilbench.winding.drawing.figures import ohms

    tapped = f" tap {tap}" if tap else ""
    return Known(f"coil {name}", f"{ends[0]}–{ends[1]}{tapped} {ohms(ohm, ohm_sd)}")


def _alternatives(verdict: Verdict, most: int = 2) -> list[str]:
    """The likeliest other readings of it, those that read alike taken together.

    No figure stands with them: beside that of the picture shown, it would be read as the same thing.
    """
    together: dict[str, float] = {}
    for other in verdict.alternatives:
        text = other.text or other.arrangement
        together[text] = together.get(text, 0.0) + other.probability
    ranked = sorted(together.items(), key=lambda one: -one[1])
    return [text for text, _ in ranked[:most]]
