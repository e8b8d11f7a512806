"""Nine to twelve leads: joined sets first, then the inside of each; one motor, or two in one loom."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace

from coilbench.winding.engine.catalogue import OWNER, UNKNOWN, UNLISTED, Arrangement, Catalogue, Piece
from coilbench.winding.engine.fellows import Fellows, Low, fellows
from coilbench.winding.engine.frame import frame_ask, frame_faults, frame_readings, in_doubt
from coilbench.winding.engine.hypotheses import EXACT_LEADS
from coilbench.winding.engine.joining import Joining, likeliest_joining
from coilbench.winding.engine.partition import UNLISTED_SIZES
from coilbench.winding.engine.verdict import NAMED_FROM, Ask, Fault, Verdict
from coilbench.winding.engine.wording import (
    TWO_MOTORS,
    or_stranger_text,
    percent,
    shorted_text,
    strangers_text,
    uneven_text,
)
from coilbench.winding.readings.reading import FRAME, PROBES, Reading
from coilbench.winding.readings.repeats import OPEN_ABOVE_OHM

Judge = Callable[[tuple[str, ...], Sequence[Reading], int], Verdict]

_SPARES = {2: "two spare leads", 3: "three spare leads"}
_MOST_REPEATS = 3
_WORTH_SAYING = 0.01
_NOTE = (
    f"more than eight leads are compared by joined sets of the usual sizes: other sizes (about {UNLISTED_SIZES:.0%}) "
    "are neglected"
)


def judge_loom(
    names: tuple[str, ...],
    readings: Sequence[Reading],
    judge: Judge,
    passed: Collection[frozenset[str]],
    catalogue: Catalogue,
) -> Verdict:
    """The verdict for nine to twelve leads; ``judge`` is the exact judge for the leads of one set of so many."""
    between = [r for r in readings if r.a in names and r.b in names]
    place = {name: k for k, name in enumerate(names)}
    taken: dict[tuple[int, int], list[float]] = {}
    for reading in between:
        low, high = sorted((place[reading.a], place[reading.b]))
        taken.setdefault((low, high), []).append(reading.ohm)
    joining = likeliest_joining(len(names), taken)
    if joining is None:
        return _contradiction(names, readings, between, passed)
    joined = [tuple(names[k] for k in leads) for leads in joining.sets if len(leads) > 1]
    # Two leads that are joined are a coil: that they are, was weighed with the joining.
    inner = max(sum(len(own) > 2 for own in joined), 1)
    parts = [
        judge(own, [r for r in readings if {r.a, r.b} <= {*own, PROBES}], inner if len(own) > 2 else 1)
        for own in joined
    ]
    sets = [tuple(names[k] for k in leads) for leads in joining.sets]
    silent = tuple(name for leads in sets if len(leads) == 1 for name in leads)
    beside = fellows(parts, readings)
    believed = [low for low in beside.low if low.likely >= NAMED_FROM and not beside.again]
    foreign = [part for part in parts if part.arrangement == UNKNOWN or part in beside.foreign]
    own_parts = [part for part in parts if part not in foreign]
    confidence = joining.probability * beside.sure
    confidence *= math.prod(verdict.confidence for verdict in own_parts if len(verdict.leads) > 2)
    motor = _Motor(UNLISTED, silent) if beside.motors else _motor(own_parts, silent, catalogue)
    others = tuple(lead for part in foreign for lead in part.leads)
    frame, notes = frame_faults(names, readings, sets)
    coils = tuple(
        replace(coil, name="ABCDEFGHIJ"[k])
        for k, coil in enumerate(coil for verdict in own_parts for coil in verdict.coils)
    )
    untold = dict.fromkeys(text for verdict in parts for text in verdict.cannot_tell if text != OWNER)
    if motor.arrangement is UNLISTED or len(parts) > 3:
        untold["which coils belong to one motor, if this is the loom of two"] = None
    untold |= dict.fromkeys(motor.untold)
    untold |= dict.fromkeys(strangers_text(part.leads) for part in foreign)
    untold["the sense of each coil and the order of the phases"] = None
    untold |= dict.fromkeys(uneven_text(low.ends, low.left, low.likely) for low in beside.low if low not in believed)
    untold |= dict.fromkeys(or_stranger_text(low.ends) for low in beside.low if low.foreign > _WORTH_SAYING)
    ask = _next(names, joining, parts, beside, readings, passed)
    commons = [verdict.common for verdict in own_parts if verdict.common]
    known = [verdict for verdict in parts if verdict.probes_ohm is not None]
    again = beside.again
    if joining.again and joining.next_pair is not None:
        again = (*again, (names[joining.next_pair[0]], names[joining.next_pair[1]]))
    return Verdict(
        names,
        motor.arrangement.name,
        confidence,
        coils=coils,
        common=commons[0] if len(commons) == 1 else None,
        spare=(*motor.spare, *others),
        cannot_tell=tuple(untold),
        faults=(
            *motor.faults,
            *(fault for verdict in own_parts for fault in verdict.faults if fault.kind != "frame"),
            *(_shorted(low) for low in believed),
            *frame,
        ),
        repeat=(*(pair for verdict in parts for pair in verdict.repeat), *again),
        ask=ask,
        sure=ask is None and confidence >= NAMED_FROM,
        readings=len(readings),
        doubt=_doubt(names, sets, parts, joining.probability),
        untouched=tuple(lead for verdict in own_parts for lead in verdict.untouched),
        looks_like=_looks_like(motor.arrangement, own_parts),
        probes_ohm=known[0].probes_ohm if known else None,
        probes_ohm_sd=known[0].probes_ohm_sd if known else None,
        notes=(*notes, _NOTE),
    )


def _shorted(low: Low) -> Fault:
    text = f"{shorted_text(low.ends, low.left)} ({percent(low.likely)} sure)"
    return Fault("shorted-turns", low.ends, text)


@dataclass(frozen=True)
class _Motor:
    """What the joined sets make together; ``untold`` is what else the same readings may come from."""

    arrangement: Arrangement
    spare: tuple[str, ...] = ()
    faults: tuple[Fault, ...] = ()
    untold: tuple[str, ...] = ()


def _motor(parts: Sequence[Verdict], silent: tuple[str, ...], catalogue: Catalogue) -> _Motor:
    """The motor from what the sets are and which leads are silent, which may be a dead coil's."""
    sizes = [len(verdict.leads) for verdict in parts]
    pieces: list[Piece] = []
    for verdict in parts:
        inside = catalogue.find(verdict.arrangement)
        if inside.terminals == len(verdict.leads):
            pieces += inside.pieces
    named = catalogue.made_of(tuple(pieces)) if len(pieces) == len(parts) else UNLISTED
    for whole in catalogue:
        if whole.terminals > EXACT_LEADS and silent and whole.sizes == tuple(sorted((*sizes, len(silent)))):
            text = f"the coil on {' '.join(silent)} is open: a broken wire, or a lead broken off"
            fewer = catalogue.made_of(whole.pieces[:-1])
            spares = _SPARES.get(len(silent), f"{len(silent)} spare leads")
            doubt = f"whether this is {whole.name} with a dead coil or {fewer.name} with {spares}"
            return _Motor(whole, faults=(Fault("open", silent, text),), untold=(doubt,))
    if len(parts) == 1:
        return _Motor(catalogue.find(parts[0].arrangement), silent)
    return _Motor(named, silent)


def _looks_like(arrangement: Arrangement, parts: Sequence[Verdict]) -> str | None:
    if arrangement is not UNLISTED:
        return None
    sizes = sorted(len(verdict.leads) for verdict in parts)
    loom = {
        (2, 2, 2, 2): TWO_MOTORS,
        (3, 3, 3, 3): "two six-lead motors in one loom",
        (2, 2, 2, 2, 2, 2): "three four-lead motors in one loom, or a four-lead and an eight-lead one",
        (5, 5): "two five-lead motors in one loom",
        (2, 2, 3, 3): "a four-lead and a six-lead motor in one loom",
        (3, 3, 5): "a five-lead and a six-lead motor in one loom",
        (2, 2, 5): "a four-lead and a five-lead motor in one loom",
    }
    return loom.get(tuple(sizes))


def _next(
    names: tuple[str, ...],
    joining: Joining,
    parts: Sequence[Verdict],
    beside: Fellows,
    readings: Sequence[Reading],
    passed: Collection[frozenset[str]],
) -> Ask | None:
    for verdict in parts:  # a doubtful or low reading inside a set is settled before the sets grow
        if verdict.ask and verdict.ask.kind in ("probes-together", "range") and _free(verdict.ask, passed):
            return verdict.ask
    unproved = [
        part.ask
        for part in parts
        if part.ask and part.ask.kind == "pair" and not any(coil.alive for coil in part.coils)
    ]
    if joining.again or joining.next_pair is None:
        for ask in unproved:
            if _free(ask, passed):
                return ask
    if joining.next_pair is not None:
        a, b = (names[k] for k in joining.next_pair)
        taken = sum({r.a, r.b} == {a, b} for r in readings)
        if frozenset((a, b)) not in passed and (not joining.again or taken <= _MOST_REPEATS):
            why = "much hangs on this reading: measure it once more"
            return Ask(a, b, why if joining.again else f"tells whether {a} and {b} are joined")
        for a, b in () if joining.again else ((a, b) for k, a in enumerate(names) for b in names[k + 1 :]):
            if frozenset((a, b)) not in passed and not any({r.a, r.b} == {a, b} for r in readings):
                return Ask(a, b, f"tells whether {a} and {b} are joined")
    for verdict in parts:
        if verdict.ask and verdict.ask.kind == "pair" and _free(verdict.ask, passed):
            return verdict.ask
    for a, b in beside.again:
        if frozenset((a, b)) not in passed:
            return Ask(a, b, "it reads unlike its fellows: measure it once more to believe it")
    read = frame_readings(readings)
    for lead, ohms in read.items():
        if in_doubt(ohms) and frozenset((lead, FRAME)) not in passed:
            return Ask(lead, FRAME, "that may be your fingers: touch only the insulation and measure again", "frame")
    silent = [(name,) for name in names if not any(name in verdict.leads for verdict in parts)]
    for leads in (*(verdict.leads for verdict in parts), *silent):
        if not any(lead in read or frozenset((lead, FRAME)) in passed for lead in leads):
            return frame_ask(leads)
    return None


def _free(ask: Ask, passed: Collection[frozenset[str]]) -> bool:
    return frozenset((ask.a, ask.b)) not in passed


def _doubt(
    names: tuple[str, ...], sets: Sequence[tuple[str, ...]], parts: Sequence[Verdict], probability: float
) -> dict[str, float]:
    doubt = dict.fromkeys(names, 1 - probability)
    for verdict in parts:
        for name, within in verdict.doubt.items():
            doubt[name] = 1 - probability * (1 - within)
    return doubt


def _pairs(readings: Sequence[Reading]) -> list[frozenset[str]]:
    return list(dict.fromkeys(frozenset((r.a, r.b)) for r in readings))


def _contradiction(
    names: tuple[str, ...],
    readings: Sequence[Reading],
    between: Sequence[Reading],
    passed: Collection[frozenset[str]],
) -> Verdict:
    """Readings that can't all be true: the least repeated of them is asked again, open ones first."""
    times = {pair: sum({r.a, r.b} == pair for r in between) for pair in _pairs(between)}
    again = [
        r for r in between if times[frozenset((r.a, r.b))] < _MOST_REPEATS and frozenset((r.a, r.b)) not in passed
    ]
    again.sort(key=lambda r: (times[frozenset((r.a, r.b))], r.ohm <= OPEN_ABOVE_OHM))
    ask = None
    repeat: tuple[tuple[str, str], ...] = ()
    if again:
        doubtful = again[0]
        ask = Ask(doubtful.a, doubtful.b, "the readings contradict one another: measure this pair once more")
        repeat = ((doubtful.a, doubtful.b),)
    return Verdict(
        names,
        UNKNOWN,
        0.5,
        repeat=repeat,
        ask=ask,
        readings=len(readings),
        doubt=dict.fromkeys(names, 1.0),
        cannot_tell=UNLISTED.untold,
        notes=("the readings fit no usual winding", _NOTE),
    )
