"""The likeliest case put into words and names: coils, taps, spares, faults, what can't be told."""

from __future__ import annotations

import math

import numpy as np

from coilbench.winding.engine.catalogue import DIRECTION, UNKNOWN, UNLISTED
from coilbench.winding.engine.estimate import coil_ohm
from coilbench.winding.engine.frame import frame_faults
from coilbench.winding.engine.judged import Judged
from coilbench.winding.engine.planning import proofs_left, proved_mask
from coilbench.winding.engine.templates import Template
from coilbench.winding.engine.verdict import NAMED_FROM, Alternative, Coil, Fault, Verdict
from coilbench.winding.engine.wording import (
    TWO_MOTORS,
    TWO_SPEED,
    alternative_text,
    always_untold,
    fault_text,
    left_of,
    percent,
    resemblance,
    strangers_text,
    twin_text,
    uneven_text,
)

_SUSPECT = 0.5  # a reading more likely a slip than not is named
UNEVEN_FROM = 0.1  # likelihood of shorted turns from which it is said, and the readings they hang on taken again
_SHOWN = 0.01  # alternatives less likely than this are not listed


def verdict_without_ask(case: Judged) -> Verdict:
    """The verdict without its next question; ``sure`` here means named, proved alive and nothing to repeat."""
    ranked = case.ranked
    row, confidence = ranked[0]
    template = case.template(row)
    count = len(case.readings)
    repeat = suspects(case, _SUSPECT)
    frame, frame_notes = frame_faults(case.names, case.readings, all_sets(case, row))
    alternatives = _alternatives(case, ranked)
    if not template.listed or case.unlisted > confidence:
        confident = max(confidence, case.unlisted)
        return Verdict(
            case.names,
            UNKNOWN,
            confident,
            faults=frame,
            repeat=repeat,
            readings=count,
            alternatives=alternatives,
            doubt=dict.fromkeys(case.names, 1.0),
            looks_like=resemblance(case.names, case.readings, UNLISTED, case.unlisted)
            or (TWO_SPEED if template.strangers else None),
            cannot_tell=UNLISTED.untold,
            notes=frame_notes,
        )
    proved = proved_mask(template, case.table.perm[row], case.table, case.evidence)
    coils = _coils(case, row, proved)
    faults = _faults(case, row)
    perm = case.table.perm[row].tolist()
    arrangement = template.arrangement
    common = None
    if arrangement.common is not None and not (
        template.fault == "broken-lead" and arrangement.common in template.fault_terminals
    ):
        common = case.names[perm.index(arrangement.common)]
    spare = case.leads_of(row, template.spares)
    fit = case.fit
    lead_ohm = lead_ohm_sd = None
    if not arrangement.coils and math.isfinite(fit.scale_ohm[row]):
        lead_ohm = float(fit.scale_ohm[row])
        lead_ohm_sd = math.hypot(float(fit.scale_sd[row]), case.meter.gain / math.sqrt(3) * lead_ohm)
    alive = proofs_left(template)[proved & template.live] == 0
    by_hand = not case.evidence.meters or any(meter.held for meter in case.evidence.meters)
    if template.several_motors:
        looks_like: str | None = TWO_MOTORS
    elif template.fault == "shorted-turns" and _alone(template):
        looks_like = TWO_SPEED
    else:
        looks_like = resemblance(case.names, case.readings, arrangement, case.unlisted)
    return Verdict(
        case.names,
        UNKNOWN if template.several_motors else arrangement.name,
        confidence,
        kind_confidence=case.of_kind(arrangement),
        coils=coils,
        common=common,
        spare=spare,
        cannot_tell=_cannot_tell(case, row),
        faults=(*faults, *frame),
        repeat=repeat,
        sure=bool(confidence >= NAMED_FROM and alive and not suspects(case, 0.25)),
        readings=count,
        alternatives=alternatives,
        doubt=_doubt(case, row),
        untouched=_untouched(case, coils, common),
        looks_like=looks_like,
        probes_ohm=float(max(fit.probes_ohm[row], 0.0)) if by_hand else None,
        probes_ohm_sd=float(fit.probes_sd[row]) if by_hand else None,
        lead_ohm=lead_ohm,
        lead_ohm_sd=lead_ohm_sd,
        notes=frame_notes,
    )


def suspects(case: Judged, above: float) -> tuple[tuple[str, str], ...]:
    """Measured pairs whose reading is a slip with more than this probability, the worst first."""
    slip = case.slip
    worst = [int(k) for k in np.argsort(-slip, kind="stable") if slip[k] > above]
    pairs = [case.table.pairs[case.evidence.column[k]] for k in worst]
    return tuple((case.names[a], case.names[b]) for a, b in pairs)


def all_sets(case: Judged, row: int) -> list[tuple[str, ...]]:
    """The leads that are joined to one another, set by set, in the order given; silent ones each by itself."""
    labels = case.template(row).sets[case.table.perm[row]]
    return [
        tuple(name for name, mark in zip(case.names, labels, strict=True) if mark == label)
        for label in dict.fromkeys(labels.tolist())
    ]


def _coils(case: Judged, row: int, proved: int) -> tuple[Coil, ...]:
    template = case.template(row)
    arrangement = template.arrangement
    perm = case.table.perm[row].tolist()
    lost = set(template.fault_terminals) if template.fault == "broken-lead" else set()
    dead_twice = template.fault == "open" and template.fault_edge is None
    found = []
    for start, end, tap in arrangement.coils:
        if dead_twice and start in template.fault_terminals:
            continue  # which of the silent leads pair up can't be told
        if start in lost or end in lost:
            continue
        if tap in lost:
            tap = None
        ends = [start, end]
        across = template.ratio[start, end]
        if tap is not None and not math.isfinite(across):
            # A half is open: its own end is silent, and tap and far end are alike.
            ends = [start, tap] if math.isfinite(template.ratio[start, tap]) else [tap, end]
            tap = None
        if arrangement.common is None:
            ends.sort(key=perm.index)
        mask = int(template.crossed[ends[0], ends[1]])
        dead = template.fault == "open" and set(ends) == set(template.fault_terminals) and tap is None
        ohm = None if dead else coil_ohm(case, row, (ends[0], ends[1]))
        found.append((ends, tap, ohm, bool(mask and mask & ~proved == 0)))
    found.sort(key=lambda coil: min(perm.index(end) for end in coil[0] if end != arrangement.common))
    name = [case.names[perm.index(t)] for t in range(template.terminals)]
    return tuple(
        Coil(
            "ABCDEFGHIJ"[k],
            (name[ends[0]], name[ends[1]]),
            None if tap is None else name[tap],
            None if ohm is None else ohm[0],
            None if ohm is None else ohm[1],
            alive,
        )
        for k, (ends, tap, ohm, alive) in enumerate(found)
    )


def _untouched(case: Judged, coils: tuple[Coil, ...], common: str | None) -> tuple[str, ...]:
    touched = {lead for one in case.readings if one.ohm < math.inf for lead in (one.a, one.b)}
    placed = [lead for coil in coils if coil.alive for lead in (*coil.ends, coil.tap)] + [common]
    return tuple(dict.fromkeys(lead for lead in placed if lead is not None and lead not in touched))


def _faults(case: Judged, row: int) -> tuple[Fault, ...]:
    template = case.template(row)
    if template.fault is None or (template.fault == "shorted-turns" and _alone(template)):
        return ()
    terminals = list(template.fault_terminals)
    silent = [t for t in terminals if not np.isfinite(np.delete(template.ratio[t], t)).any()]
    if template.open_in_tapped_coil and silent:
        terminals = silent  # tap and far end of the other half are alike
    leads = case.leads_of(row, terminals)
    text = fault_text(template, leads)
    if template.fault == "shorted-turns":
        text += f" ({percent(case.shorted_turns(row)[1])} sure)"
    return (Fault(template.fault, leads, text),)


def _alone(template: Template) -> bool:
    """Whether it is one coil only: halves that differ may be made so, there is no fellow to tell."""
    return len(template.arrangement.coils) == 1


def _cannot_tell(case: Judged, row: int) -> tuple[str, ...]:
    template = case.template(row)
    if template.several_motors:
        return (DIRECTION,)
    found = list(always_untold(template))
    found = [strangers_text(case.leads_of(row, leads)) for leads in template.strangers] + found
    uneven, likely = case.shorted_turns(row)
    if template.fault is None and likely > UNEVEN_FROM:
        shorted = case.template(uneven)
        found.insert(0, uneven_text(case.leads_of(uneven, shorted.fault_terminals), left_of(shorted), likely))
    seen = {template.arrangement}
    for number, _, _ in case.table.twins.get(row, []):  # the likeliest of each arrangement comes first
        other = case.table.templates[number]
        if other.arrangement not in seen:
            seen.add(other.arrangement)
            found.append(twin_text(template, other))
    return tuple(dict.fromkeys(found))


def _alternatives(case: Judged, ranked: list[tuple[int, float]]) -> tuple[Alternative, ...]:
    found = []
    for row, mass in ranked[1:5]:
        if mass > _SHOWN:
            template = case.template(row)
            text = alternative_text(template, all_sets(case, row))
            found.append(Alternative(mass, template.arrangement.name, text))
    if case.unlisted > _SHOWN:
        found.append(Alternative(case.unlisted, UNKNOWN, "none of the usual windings"))
    return tuple(sorted(found, key=lambda alternative: -alternative.probability))


def _doubt(case: Judged, row: int) -> dict[str, float]:
    """For each lead the probability that its resistances to the others are not as in the picture shown."""
    table = case.table
    rows = np.flatnonzero(case.posterior > 1e-5)
    weight = case.posterior[rows]
    alike = table.ratio[table.code[rows]] == table.ratio[table.code[row]]
    alike |= (table.code[rows] > 0) & (table.width[table.code[rows]] > 0)
    doubt = {}
    for k, name in enumerate(case.names):
        columns = [table.pair(k, other) for other in range(table.leads) if other != k]
        right = weight[alike[:, columns].all(axis=1)].sum()
        doubt[name] = float(np.clip(1 - right, 0.0, 1.0))
    return doubt
