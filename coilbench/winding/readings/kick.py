"""Eight and five leads: which halves share a core, and in which sense, by what one does to the other on clips.

A current that begins to rise in one half makes in the other half of its phase as many volts as across itself. One end
of that is held to ground, and the board looks at the other end a moment after the rise: held at its finish the start
shows the volts, or nothing where it is wound the other way, for a pin's clamp keeps them off. A half of the other
phase shows next to nothing both ways: they share hardly any flux (common practice: the flick of a meter goes by it).
Each two halves are looked at both ways round, at two moments: an answer is what all four bear out.

What is expected at a moment follows from the half's inductance and ohms (``readings.rise``): the share of the loop's
490 ohm, times exp(-t / tau). Halves of one phase have 0.9 to 0.99 of it, those of two phases a tenth at most (both
assumed): above half of it and below a quarter there is an answer, between them none. A half rings with the wires'
capacitance, some 100 pF, for a few microseconds: the two moments lie apart, and no ringing turns the sense.

Five leads' halves are joined; there the inductances from end to end tell the same.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import combinations

from coilbench.winding.readings.clips import ClipMap
from coilbench.winding.readings.inductance import Kick, KickAnswer, Timed, apart_and_together
from coilbench.winding.readings.rise import CLOCK_HZ, LOOP_OHM, Untellable

Half = tuple[int, int]  # the clips of its two ends

_MOMENTS = (0.3, 0.5)  # of the time constant
_SOONEST_SECOND, _LATEST_SECOND = 1.5e-6, 50e-6
_SHARED_FROM, _APART_BELOW = 0.5, 0.25
_LEAST_EXPECTED = 0.15  # of the supply

# Clip ``high`` driven against ``low``, ``hold`` at ground, ``see`` looked at so many cycles later: the share there.
KickLook = Callable[[int, int, int, int, int], tuple[int, float]]


def halves_of(found: ClipMap, names: Sequence[str]) -> list[Half]:
    """The four separate halves of a motor of eight leads, by their clips; none where it isn't made so."""
    joined = [(one.a, one.b) for one in found.readings if math.isfinite(one.ohm)]
    halves = [(names.index(a), names.index(b)) for a, b in joined]
    apart = len({clip for half in halves for clip in half}) == 8
    return halves if len(halves) == 4 and apart else []


def kicks(halves: Sequence[Half], found: ClipMap, names: Sequence[str], look: KickLook) -> tuple[Kick, ...]:
    """Each two halves' kick; those whose inductance isn't told kick nobody."""
    ohms = {(one.a, one.b): one.ohm for one in found.readings}
    told = {(one.a, one.b): one.henry for one in found.inductances if isinstance(one, Timed)}
    constants: dict[Half, tuple[float, float]] = {}
    for a, b in halves:
        ends = names[a], names[b]
        if ends in told:
            loop_ohm = ohms[ends] + LOOP_OHM
            constants[a, b] = told[ends] / loop_ohm, LOOP_OHM / loop_ohm
    pairs = [(one, other) if one in constants else (other, one) for one, other in combinations(halves, 2)]
    return tuple(
        Kick(names[one[0]], names[other[0]], _seen(one, other, constants[one], look))
        for one, other in pairs
        if one in constants
    )


def kicks_of_five(found: ClipMap) -> tuple[Kick, ...]:
    """The same of four halves that meet in a common lead: that two ends are of one phase shows in their inductance.

    What flows from one end to the other goes through both halves, out of the one and into the other.
    """
    parted = apart_and_together([one for one in found.inductances if isinstance(one, Timed)])
    if parted is None:
        return ()
    answers: tuple[KickAnswer, KickAnswer] = ("none", "minus")
    return tuple(Kick(one.a, one.b, answer) for answer, pairs in zip(answers, parted, strict=True) for one in pairs)


def _seen(one: Half, other: Half, constant: tuple[float, float], look: KickLook) -> KickAnswer:
    try:
        return _answer(one, other, constant, look)
    except Untellable:
        return "unsure"


def _answer(one: Half, other: Half, constant: tuple[float, float], look: KickLook) -> KickAnswer:
    second, height = constant
    start, finish = other
    alike: list[float] = []
    against: list[float] = []
    for moment, (high, low) in zip(_MOMENTS, (one, one[::-1]), strict=True):
        wanted = min(max(moment * second, _SOONEST_SECOND), _LATEST_SECOND)
        for see, hold in ((start, finish), (finish, start)):
            cycles, share = look(high, low, hold, see, round(wanted * CLOCK_HZ))
            expected = height * math.exp(-cycles / CLOCK_HZ / second)
            if expected < _LEAST_EXPECTED:
                return "unsure"
            same = (high == one[0]) == (see == start)
            (alike if same else against).append(share / expected)
    if min(alike) > _SHARED_FROM and max(against) < _APART_BELOW:
        return "plus"
    if min(against) > _SHARED_FROM and max(alike) < _APART_BELOW:
        return "minus"
    return "none" if max(alike + against) < _APART_BELOW else "unsure"
