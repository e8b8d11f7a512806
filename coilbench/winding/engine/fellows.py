"""Sets of a loom beside their fellows: shorted turns, what is no coil of this motor, coils of two motors."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from coilbench.winding.engine.mixture import COIL_SPREAD, DRIFT
from coilbench.winding.engine.templates import COIL_SHORTED, SHORTED_STEPS
from coilbench.winding.engine.verdict import Verdict
from coilbench.winding.readings.reading import Reading
from coilbench.winding.readings.repeats import agree, believed

# How often, all guesses: one of the sets is something else's; the sets are two motors', by how many leads they have
# together, or three motors' of two coils each; none is like another.
_FOREIGN = 0.005
_TWO_MOTORS = {8: 0.01, 12: 0.5}
_THREE_MOTORS, _SIX_COILS = 0.1, 6
_SEVERAL_MOTORS_LEADS = 12  # so many are several motors', alike or not
_UNRELATED = 0.002
_LOG_SPAN = math.log(10_000 / 0.05)  # of a value that may be anything
_LOG_SCALES = math.log(500 / 0.3)  # of a coil that may be any
_CONTACT_OHM = 0.08  # what contacts leave of doubt once a pair was read twice
_WORTH_SAYING = 0.1

Kind = Literal["own", "foreign", "motors", "unrelated"]


@dataclass(frozen=True)
class Winding:
    """A coil, or half of a tapped one, of the set of this number."""

    part: int
    ends: tuple[str, str]
    log_ohm: float
    variance: float


@dataclass(frozen=True)
class Low:
    """What reads lower than its fellows: how likely by shorted turns, what they leave of it, and how likely it is
    something else's instead."""

    ends: tuple[str, str]
    left: float
    likely: float
    foreign: float = 0.0


@dataclass(frozen=True)
class Fellows:
    """``sure`` is how likely the sets are what they are taken for: one motor's, but for those that are ``foreign``,
    or those of several motors (``motors``). ``again`` are pairs read once only that this hangs on."""

    sure: float = 1.0
    low: tuple[Low, ...] = ()
    foreign: tuple[Verdict, ...] = ()
    motors: bool = False
    again: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class _Case:
    kind: Kind
    log_weight: float
    foreign: int | None
    low: int | None
    left: float


def fellows(parts: Sequence[Verdict], readings: Sequence[Reading]) -> Fellows:
    """Compare coils with coils, and halves of tapped coils with halves."""
    found = Fellows()
    for name in ("single-coil-2", "tapped-coil-3"):
        alike = [part for part in parts if part.arrangement == name and part.coils and part.coils[0].ohm is not None]
        if len(alike) > 1:
            one = _compared(
                alike, [each for k, part in enumerate(alike) for each in _windings(k, part, readings)], readings
            )
            found = Fellows(
                found.sure * one.sure,
                found.low + one.low,
                found.foreign + one.foreign,
                found.motors or one.motors,
                found.again + one.again,
            )
    return found


def _windings(number: int, part: Verdict, readings: Sequence[Reading]) -> Iterator[Winding]:
    coil = part.coils[0]
    ohm, sd = coil.ohm or 0.0, coil.ohm_sd or 0.0
    halves: list[tuple[tuple[str, str], float]] = [(coil.ends, ohm)]
    if coil.tap is not None:
        # Each half as it was read; one that was not is what the other leaves of the whole.
        read = [_read(readings, end, coil.tap) for end in coil.ends]
        own = [None if one is None else one - (part.probes_ohm or 0.0) for one in read]
        first = own[0] if own[0] is not None else ohm - own[1] if own[1] is not None else ohm / 2
        second = own[1] if own[1] is not None else ohm - first
        halves = [((coil.ends[0], coil.tap), first), ((coil.ends[1], coil.tap), second)]
    for ends, value in halves:
        value = max(value, 0.01)
        variance = COIL_SPREAD**2 + DRIFT**2 + (sd / value) ** 2 + (_CONTACT_OHM / value) ** 2
        yield Winding(number, ends, math.log(value), variance)


def _read(readings: Sequence[Reading], a: str, b: str) -> float | None:
    ohms = [reading.ohm for reading in readings if {reading.a, reading.b} == {a, b}]
    return believed(ohms) if ohms and math.isfinite(believed(ohms)) else None


def _compared(parts: Sequence[Verdict], windings: Sequence[Winding], readings: Sequence[Reading]) -> Fellows:
    leads = sum(len(part.leads) for part in parts)
    cases = list(_cases(len(parts), leads, windings))
    top = max(case.log_weight for case in cases)
    share = [math.exp(case.log_weight - top) for case in cases]
    total = sum(share)
    likely: dict[tuple[Kind, int | None], float] = {}
    low: dict[int, float] = {}
    left: dict[int, tuple[float, float]] = {}
    for case, weight in zip(cases, share, strict=True):
        kind: Kind = "own" if case.kind == "motors" and leads == _SEVERAL_MOTORS_LEADS else case.kind
        likely[kind, case.foreign] = likely.get((kind, case.foreign), 0.0) + weight / total
        if case.low is not None:
            low[case.low] = low.get(case.low, 0.0) + weight / total
            left[case.low] = max(left.get(case.low, (0.0, 0.0)), (weight, case.left))
    kind, foreign = max(likely, key=lambda one: likely[one])
    lowest = max(low, key=lambda one: low[one], default=None)
    found: tuple[Low, ...] = ()
    telling = [one for one in windings if one.part == foreign or kind in ("motors", "unrelated")]
    if lowest is not None and low[lowest] > _WORTH_SAYING and windings[lowest].part != foreign:
        elses = likely.get(("foreign", windings[lowest].part), 0.0)
        found = (Low(windings[lowest].ends, left[lowest][1], low[lowest], elses),)
        telling += windings if len(windings) == 2 else [windings[lowest]]
    return Fellows(
        likely[kind, foreign],
        found,
        () if foreign is None else (parts[foreign],),
        kind in ("motors", "unrelated"),
        tuple(_again(parts, telling, readings)),
    )


def _again(
    parts: Sequence[Verdict], telling: Sequence[Winding], readings: Sequence[Reading]
) -> Iterator[tuple[str, str]]:
    """The pairs of these that were read once, and those of a tapped coil that were not read at all."""
    for one in telling:
        if not _twice(one.ends, readings):
            yield one.ends
    for part in dict.fromkeys(one.part for one in telling):
        for pair in combinations(parts[part].leads, 2):
            if _read(readings, *pair) is None:
                yield pair


def _cases(sets: int, leads: int, windings: Sequence[Winding]) -> Iterator[_Case]:
    """Every way to take the sets as one motor's, with one foreign, as several motors' or unlike one another; each as
    it is and with one coil or half that has shorted turns."""
    everything = frozenset(range(sets))
    two = [
        (frozenset(some), everything - frozenset(some))
        for size in range(2, sets // 2 + 1)
        for some in combinations(range(sets), size)
        if 2 * size < sets or 0 in some
    ]
    three = [
        (first, frozenset(some), second - frozenset(some))
        for first, second in two
        if len(first) == 2 and sets == _SIX_COILS and 0 in first
        for some in combinations(sorted(second), 2)
        if min(second) in some
    ]
    ways: list[tuple[Kind, float, tuple[frozenset[int], ...], int | None]] = []
    if leads in _TWO_MOTORS:
        ways += [("motors", _TWO_MOTORS[leads] / len(two), groups, None) for groups in two]
    ways += [("motors", _THREE_MOTORS / len(three), groups, None) for groups in three]
    if sets > 2:
        ways += [("foreign", _FOREIGN / sets, (everything - {k},), k) for k in range(sets)]
    ways.append(("unrelated", _UNRELATED, (), None))
    ways.append(("own", 1 - sum(prior for _, prior, _, _ in ways), (everything,), None))
    for kind, prior, groups, foreign in ways:
        members = [[k for k, one in enumerate(windings) if one.part in group] for group in groups]
        apart = len(windings) - sum(len(group) for group in members)
        plain = math.log(prior) - apart * math.log(_LOG_SPAN)
        logs = [_log_density(windings, group) for group in members]
        yield _Case(kind, plain + sum(logs), foreign, None, 1.0)
        for group, own in zip(members, logs, strict=True):
            rest = plain + sum(logs) - own + math.log(COIL_SHORTED / len(SHORTED_STEPS))
            for k in group:
                for left, width in SHORTED_STEPS:
                    yield _Case(kind, rest + _log_density(windings, group, k, left, width), foreign, k, left)


def _log_density(
    windings: Sequence[Winding], group: Sequence[int], low: int | None = None, left: float = 1.0, width: float = 0.0
) -> float:
    """Of these ohms, by decades, where they are alike but for one: the likeness may be at any ohms."""
    weight = mean = total = 0.0
    for k in group:
        here = windings[k].variance + ((width / left) ** 2 if k == low else 0.0)
        value = windings[k].log_ohm - (math.log(left) if k == low else 0.0)
        total -= 0.5 * math.log(2 * math.pi * here) + 0.5 * value**2 / here
        weight += 1 / here
        mean += value / here
    return total + 0.5 * mean**2 / weight + 0.5 * math.log(2 * math.pi / weight) - math.log(_LOG_SCALES)


def _twice(ends: tuple[str, str], readings: Sequence[Reading]) -> bool:
    """Whether two readings of the pair agree, or it was read often enough."""
    values = [reading.ohm for reading in readings if {reading.a, reading.b} == set(ends)]
    return len(values) > 3 or any(agree(one, other) for one, other in combinations(values, 2))
