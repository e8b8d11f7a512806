"""What is known of a motor's windings, as lines for a narrow column."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from coilbench.ui.leads import lead_words, printable
from coilbench.winding.drawing.text import ohms, percent
from coilbench.winding.engine.verdict import Verdict


def fact(label: str, text: str) -> str:
    """A label in its column and what belongs to it."""
    return f"{label:<9} {printable(text)}"


def coil_line(name: str, ends: Sequence[str], tap: str | None, ohm: float | None, ohm_sd: float | None) -> str:
    """One coil: ends, tap, resistance."""
    tapped = f" tap {tap}" if tap else ""
    return fact(f"coil {name}", f"{ends[0]}–{ends[1]}{tapped} {ohms(ohm, ohm_sd)}")


def alternatives(verdict: Verdict, most: int = 2) -> list[str]:
    """The likeliest other readings of it, those that read alike taken together.

    No figure stands with them: beside that of the picture shown, it would be read as the same thing.
    """
    together: dict[str, float] = {}
    for other in verdict.alternatives:
        text = other.text or other.arrangement
        together[text] = together.get(text, 0.0) + other.probability
    ranked = sorted(together.items(), key=lambda one: -one[1])
    return [text for text, _ in ranked[:most]]


def verdict_lines(verdict: Verdict) -> list[str]:
    """The known-so-far panel while the windings are sorted."""
    named = verdict.arrangement != "unknown" and verdict.readings
    lines = [fact("leads", str(len(verdict.leads)))]
    if named:
        kind = "" if verdict.kind_confidence is None else f" ({percent(verdict.kind_confidence)})"
        lines.append(fact("likely" if not verdict.sure else "it is", verdict.arrangement + kind))
        lines.append(fact("placed", f"{percent(verdict.confidence)} sure of every lead"))
    if named and verdict.confidence >= 0.5:
        lines += [coil_line(coil.name, coil.ends, coil.tap, coil.ohm, coil.ohm_sd) for coil in verdict.coils]
        if verdict.common:
            lines.append(fact("common", verdict.common))
        if verdict.spare:
            lines.append(fact("spare", ", ".join(verdict.spare)))
        if verdict.lead_ohm is not None:
            lines.append(fact("lead-lead", ohms(verdict.lead_ohm, None)))
    elif named:
        lines += [fact("or" if place else "perhaps", text) for place, text in enumerate(alternatives(verdict))]
    lines += [fact("fault", found.text) for found in verdict.faults]
    lines += [fact("again", f"{a} – {b}: doesn't fit") for a, b in verdict.repeat]
    if verdict.probes_ohm is not None:
        lines.append(fact("probes", ohms(verdict.probes_ohm, verdict.probes_ohm_sd)))
    to_go = "" if verdict.to_go is None or verdict.ask is None else f", about {max(1, round(verdict.to_go))} to go"
    lines.append(fact("readings", f"{verdict.readings}{to_go}"))
    if verdict.looks_like:
        lines.append(fact("looks like", verdict.looks_like))
    return lines


def result_lines(result: Mapping[str, Any]) -> list[str]:
    """A saved result in a few lines, for the other stages."""
    from coilbench.winding.engine.fitness import FAULT_WORDS

    lines = [
        fact("windings", f"{result.get('arrangement', 'unknown')} ({percent(float(result.get('confidence', 0)))})")
    ]
    lines += [
        coil_line(coil["name"], coil["ends"], coil.get("tap"), coil["ohms"], coil["ohms_sd"])
        for coil in result.get("coils") or []
    ]
    for found in result.get("faults") or []:
        lines.append(fact("fault", f"{FAULT_WORDS.get(found['kind'], found['kind'])} at {', '.join(found['leads'])}"))
    return lines


def result_text(verdict: Verdict) -> str:
    """The whole result: what it is, lead table, what can't be told, what next."""
    from coilbench.winding.engine import report

    parts = [report.what_it_is(verdict), *report.warnings(verdict)]
    for coil in verdict.coils:
        rows = [f"coil {coil.name}   {ohms(coil.ohm, coil.ohm_sd)}"]
        rows += [f"  end  {lead_words(end)}" for end in coil.ends]
        if coil.tap:
            rows.append(f"  tap  {lead_words(coil.tap)}")
        parts.append("\n".join(rows))
    parts += [
        "\n".join(lines) for lines in (report.cannot_tell_sentences(verdict), report.next_steps(verdict)) if lines
    ]
    return "\n\n".join(parts)


__all__ = ["fact", "ohms", "percent", "result_lines", "result_text", "verdict_lines"]
