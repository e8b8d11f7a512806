"""The next question: a pair of leads, a repeat, the frame, or the probes together; with its reason in one line."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

import numpy as np

from coilbench.winding.engine.catalogue import UNKNOWN
from coilbench.winding.engine.figures import figure_alone
from coilbench.winding.engine.frame import frame_ask, frame_readings, in_doubt
from coilbench.winding.engine.judged import Judged
from coilbench.winding.engine.picture import UNEVEN_FROM, all_sets
from coilbench.winding.engine.planning import Plan, least_settled, next_pair, proofs_left, proved_mask
from coilbench.winding.engine.templates import healthy
from coilbench.winding.engine.verdict import NAMED_FROM, TIE, Ask, Verdict
from coilbench.winding.readings.reading import FRAME, PROBES
from coilbench.winding.readings.repeats import OPEN_ABOVE_OHM

_LOW_OHM = 3.0  # readings this low carry a good share of probe resistance
_LEAST_ON_CLIPS_OHM = 1.0  # their error, some 0.2 ohm, is a good part of it
_WORTH_REPEATING = 0.25  # probability of a slip
_MOST_REPEATS = 3
# Told that any arrangement may be there and that one slip is to be expected, a name is good from here on: a few other
# names may then hang on a slip each that nothing but chance would make. Few leads, or a common one, give few readings
# that could contradict one another, and one more of them costs little. Of six each coil hangs on the one reading that
# is of both its halves, unless a third one bears it out. Measured on coils up to 8 % apart, slips unseen in a hundred
# and readings without one: 0.988 2.1 and 6.5, 0.991 1.5 and 6.8, 0.994 0.9 and 7.0, 0.996 0.5 and 7.3.
_CAREFUL_FROM = 0.981
_CAREFUL_FROM_BY_LEADS = {3: 0.9999, 5: 0.99, 6: 0.994}
_RARE_BELOW, _CAREFUL_FROM_RARE = 0.1, 0.998  # a rare name is more often a common one with a slip
_FEW_JOINED = 4


def next_ask(
    case: Judged, verdict: Verdict, skipped: Collection[tuple[str, str]], sets: int = 1
) -> tuple[Ask | None, float | None]:
    """The reading to take next and how many lead-to-lead readings are left in all, or None when all is known.

    ``sets`` is how many sets of leads have to be right together.
    """
    passed = frozenset(frozenset(pair) for pair in skipped)
    low = any(
        ohm < _LOW_OHM and meter.held for ohm, meter in zip(case.evidence.ohm, case.evidence.meters, strict=True)
    )
    held = any(reading.a == reading.b == PROBES for reading in case.readings)
    if low and not held and frozenset((PROBES,)) not in passed:
        why = "so low a reading holds a good part of the probes' own resistance: hold their tips together"
        return Ask(PROBES, PROBES, why, "probes-together"), verdict.to_go
    by_hand = _low_on_clips(case, passed)
    if by_hand is not None:
        return by_hand, 1.0
    probes = _probes_again(case, passed)
    if probes is not None:
        return probes, 1.0
    again = _repeat(case, passed)
    if again is not None:
        return again, 1.0
    fault = _confirm_fault(case, verdict, passed)
    if fault is not None:
        return fault, 1.0
    named = verdict.confidence >= NAMED_FROM
    proved = named and _proved(case)
    owed = (_common_twice(case, verdict, passed) or _by_touch(verdict, passed)) if proved else None
    if owed is not None:
        return owed, 1.0
    if not proved or case.careful_confidence < _enough(case, sets):
        chosen = _chosen(case, passed, named)
        if chosen is not None:
            a, b = (case.names[k] for k in chosen.pair)
            return Ask(a, b, _why(case, verdict, chosen)), chosen.to_go
    alone = figure_alone(case, passed) if named and sets == 1 else None
    if alone is not None:
        return alone, 1.0
    return _frame(case, passed), 0.0


def _enough(case: Judged, sets: int) -> float:
    enough = _CAREFUL_FROM
    if sets == 1:
        enough = _CAREFUL_FROM_BY_LEADS.get(len(case.names), enough)
        enough = max(enough, _CAREFUL_FROM_RARE) if case.usual_share < _RARE_BELOW else enough
    return 1 - (1 - enough) / sets


def _proved(case: Judged) -> bool:
    row = case.ranked[0][0]
    template = case.template(row)
    proved = proved_mask(template, case.table.perm[row], case.table, case.evidence)
    return bool(proofs_left(template)[proved & template.live] == 0)


def _chosen(case: Judged, passed: frozenset[frozenset[str]], named: bool) -> Plan | None:
    excluded = frozenset(
        column
        for column, (a, b) in enumerate(case.table.pairs)
        if frozenset((case.names[a], case.names[b])) in passed
    )
    last = None
    for reading in reversed(case.readings):
        if reading.a in case.names and reading.b in case.names:
            last = (case.names.index(reading.a), case.names.index(reading.b))
            break
    plan = next_pair(case.table, case.fit, case.careful, case.evidence, excluded=excluded, last=last)
    if plan is None and not named:
        return least_settled(case.table, case.fit, case.posterior, case.evidence, case.meter, excluded)
    return plan


def _repeat(case: Judged, passed: frozenset[frozenset[str]]) -> Ask | None:
    out_of_range = _higher_range(case, passed)
    if out_of_range is not None:
        return out_of_range
    slip = case.slip * (case.evidence.taken < _MOST_REPEATS)
    for k in np.argsort(-np.round(slip, TIE), kind="stable"):
        if slip[k] <= _WORTH_REPEATING:
            return None
        a, b = (case.names[lead] for lead in case.table.pairs[case.evidence.column[k]])
        if frozenset((a, b)) not in passed:
            said = case.evidence.ohm[k]
            value = "open" if said == math.inf else f"{said:.4g} ohm"
            return Ask(a, b, f"{value} does not fit the other readings: measure it once more")
    return None


def _low_on_clips(case: Judged, passed: frozenset[frozenset[str]]) -> Ask | None:
    """A winding of so few ohms that a board's clips can't tell how many."""
    for k, (ohm, meter) in enumerate(zip(case.evidence.ohm, case.evidence.meters, strict=True)):
        if not meter.held and ohm < _LEAST_ON_CLIPS_OHM:
            a, b = (case.names[lead] for lead in case.table.pairs[case.evidence.column[k]])
            if frozenset((a, b)) not in passed:
                return Ask(a, b, f"{ohm:.1f} ohm is too little for the clips to tell: measure it by hand")
    return None


def _probes_again(case: Judged, passed: frozenset[frozenset[str]]) -> Ask | None:
    """The probes alone can't read more than they do with a winding between them: one of the two is a slip."""
    held, ohm = case.evidence.probes_ohm, case.evidence.ohm
    if not held or not len(ohm):
        return None
    k = int(np.argmin(ohm))
    if held[0] <= ohm[k] + 3 * float(case.evidence.meters[k].noise_ohm(ohm[k])):
        return None
    a, b = (case.names[lead] for lead in case.table.pairs[case.evidence.column[k]])
    taken = sum(reading.a == reading.b == PROBES for reading in case.readings)
    if taken < 2 and frozenset((PROBES,)) not in passed:
        why = f"{held[0]:.4g} ohm is more than {a} to {b} ({ohm[k]:.4g} ohm): hold the tips together once more"
        return Ask(PROBES, PROBES, why, "probes-together")
    if case.evidence.taken[k] < _MOST_REPEATS and frozenset((a, b)) not in passed:
        return Ask(a, b, f"{ohm[k]:.4g} ohm is less than the probes read alone: measure it once more")
    return None


def _confirm_fault(case: Judged, verdict: Verdict, passed: frozenset[frozenset[str]]) -> Ask | None:
    """The one reading a fault hangs on, to be taken again before the fault is believed."""
    row = case.ranked[0][0]
    perhaps, likely = case.shorted_turns(row)
    only_perhaps = case.template(row).fault is None and likely > UNEVEN_FROM
    if only_perhaps:
        row = perhaps
    template = case.template(row)
    if template.fault is None or verdict.confidence < NAMED_FROM:
        return None
    sound = healthy(template.arrangement, template.terminals, 0.0)
    perm = case.table.perm[row]
    telling: list[int] = []
    others: list[int] = []
    for k, column in enumerate(case.evidence.column):
        a, b = (int(perm[lead]) for lead in case.table.pairs[column])
        same = np.isclose(template.ratio[a, b] * template.unit, sound.ratio[a, b] * sound.unit)
        if not same:
            telling.append(k)
        elif case.evidence.ohm[k] < math.inf:
            others.append(k)
    hinges = [telling]
    if template.fault == "shorted-turns":
        hinges.append(others)  # a low coil is only low beside the others
        hinges.insert(0, _most_telling(case, row, telling))
    for group in hinges:
        if len(group) == 1 and case.evidence.taken[group[0]] == 1:
            a_name, b_name = (case.names[lead] for lead in case.table.pairs[case.evidence.column[group[0]]])
            if frozenset((a_name, b_name)) not in passed:
                return Ask(a_name, b_name, "one reading alone shows a fault: measure it once more to believe it")
    return None if only_perhaps else _through_shorted(case, row, passed)


def _most_telling(case: Judged, row: int, telling: Sequence[int]) -> list[int]:
    """Of the readings that differ for a coil with shorted turns that in which it has the greatest share."""
    template, perm = case.template(row), case.table.perm[row]
    sound = healthy(template.arrangement, template.terminals, 0.0)

    def share(k: int) -> float:
        a, b = (int(perm[lead]) for lead in case.table.pairs[case.evidence.column[k]])
        return round(float(template.ratio[a, b] * template.unit / (sound.ratio[a, b] * sound.unit)), TIE)

    return [min(telling, key=share)] if telling else []


def _through_shorted(case: Judged, row: int, passed: frozenset[frozenset[str]]) -> Ask | None:
    """A pair not read yet whose reading crosses the coil with shorted turns; of a few joined leads any pair.

    A fan's unlike windings look like a motor with one low coil until they are read past one another.
    """
    template, perm = case.template(row), case.table.perm[row]
    if template.fault != "shorted-turns" or template.fault_edge is None:
        return None
    fault_set = template.sets[template.fault_terminals[0]]
    for column, (a, b) in enumerate(case.table.pairs):
        names = (case.names[a], case.names[b])
        crossed = int(template.crossed[perm[a], perm[b]])
        few = np.count_nonzero(template.sets == template.sets[perm[a]]) <= _FEW_JOINED
        through = crossed >> template.fault_edge & 1 or (few and crossed and template.sets[perm[a]] == fault_set)
        if through and column not in case.evidence.column and frozenset(names) not in passed:
            return Ask(*names, "shorted turns must show from every lead that reaches them")
    return None


def _by_touch(verdict: Verdict, passed: frozenset[frozenset[str]]) -> Ask | None:
    """A lead that was placed by elimination, to an end of its coil: else its broken wire would never be seen."""
    for lead in verdict.untouched if verdict.confidence >= NAMED_FROM else ():
        coil = next(coil for coil in verdict.coils if lead in (*coil.ends, coil.tap))
        for end in coil.ends:
            if end != lead and frozenset((lead, end)) not in passed:
                return Ask(lead, end, f"no reading has touched {lead} yet: a broken wire would show here only")
    return None


def _common_twice(case: Judged, verdict: Verdict, passed: frozenset[frozenset[str]]) -> Ask | None:
    """The common lead to another of its ends, until it was under a probe with two of them."""
    common = verdict.common
    if common is None:
        return None
    ends = [coil.ends[1] if coil.ends[0] == common else coil.ends[0] for coil in verdict.coils]
    if sum(_conducts(case, common, end) for end in ends) < 2:
        for end in ends:
            if not _taken(case, common, end) and frozenset((common, end)) not in passed:
                return Ask(common, end, f"{common} is named the common lead: two of its ends must agree on that")
    return None


def _taken(case: Judged, a: str, b: str) -> bool:
    return any({reading.a, reading.b} == {a, b} for reading in case.readings)


def _conducts(case: Judged, a: str, b: str) -> bool:
    return any({reading.a, reading.b} == {a, b} and reading.ohm < math.inf for reading in case.readings)


def _higher_range(case: Judged, passed: frozenset[frozenset[str]]) -> Ask | None:
    """An open reading on a hand-set range, where the likely cases differ on whether the pair conducts."""
    for k, reach in enumerate(case.evidence.range_ohm):
        if not math.isfinite(reach) or reach > OPEN_ABOVE_OHM or case.evidence.taken[k] > 1:
            continue
        conducts = case.table.code[:, case.evidence.column[k]] > 0
        a, b = (case.names[lead] for lead in case.table.pairs[case.evidence.column[k]])
        if case.posterior[conducts].sum() > 0.05 and frozenset((a, b)) not in passed:
            return Ask(a, b, f"open on the {reach:.4g} ohm range may be a higher coil: go up a range", "range")
    return None


def _frame(case: Judged, passed: frozenset[frozenset[str]]) -> Ask | None:
    """One lead of each set of joined leads and every silent one to the frame; again, hands off, where in doubt."""
    taken = frame_readings(case.readings)
    for lead, ohms in taken.items():
        if in_doubt(ohms) and frozenset((lead, FRAME)) not in passed:
            return Ask(lead, FRAME, "that may be your fingers: touch only the insulation and measure again", "frame")
    row = case.ranked[0][0]
    sets = all_sets(case, row) if case.template(row).listed else [(case.names[0],)]
    for leads in sets:
        if any(lead in taken or frozenset((lead, FRAME)) in passed for lead in leads):
            continue
        return frame_ask(leads)
    return None


def _why(case: Judged, verdict: Verdict, chosen: Plan) -> str:
    a, b = (case.names[k] for k in chosen.pair)
    if case.table.pair(*chosen.pair) in case.evidence.column:
        return "much hangs on this reading: measure it once more"
    if verdict.confidence >= NAMED_FROM and _proved(case):
        return "a reading that would contradict the picture if it were wrong"
    if verdict.confidence >= NAMED_FROM and verdict.arrangement != UNKNOWN:
        for coil in verdict.coils:
            if not coil.alive and {a, b} <= {*coil.ends, coil.tap}:
                return f"proves that coil {coil.name} is alive"
        return f"proves the winding between {a} and {b} alive"
    if not len(case.evidence.column):
        return "a first reading: any pair tells as much"
    joined = _joined(case)
    for known, fresh in ((a, b), (b, a)):
        fellows = [name for name in joined.get(known, ()) if name != known]
        if fellows and fresh not in joined[known] and fresh not in joined:
            return f"tells whether {fresh} belongs with {known}-{fellows[0]}"
    if b in joined.get(a, ()):
        return f"tells which of {', '.join(joined[a])} is the tap or common"
    if a in joined and b in joined:
        return f"tells whether {joined[a][0]}-{joined[a][1]} and {joined[b][0]}-{joined[b][1]} are joined"
    return f"tells whether {a} and {b} share a coil"


def _joined(case: Judged) -> dict[str, tuple[str, ...]]:
    """For each lead that has conducted, all leads known to be joined to it."""
    label = list(range(len(case.names)))
    for column, ohm in zip(case.evidence.column, case.evidence.ohm, strict=True):
        if ohm < math.inf:
            a, b = (label[k] for k in case.table.pairs[column])
            label = [a if mark == b else mark for mark in label]
    sets: dict[int, list[str]] = {}
    for name, mark in zip(case.names, label, strict=True):
        sets.setdefault(mark, []).append(name)
    return {name: tuple(names) for names in sets.values() if len(names) > 1 for name in names}
