"""The rotor's swing as it was measured: with what, whether it holds now, and what follows from it.

It hangs on what turns and on the torque that holds it: on shaft and current, not on the supply.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from coilbench.records.saved.facts import Facts
from coilbench.records.saved.jog import Figures, FoundWith, Jog, SavedSwing
from coilbench.stages.jog.found_with import ON_SHAFT_WORDS, found_with_words, inertia_text, other_current

if TYPE_CHECKING:
    from coilbench.motion.swing import Swing

Swings = Sequence[SavedSwing]


def with_swing(figures: Figures, found: Swing, found_with: FoundWith | None, steps_per_turn: int) -> Figures:
    """One drive's figures with a measured swing put in, in place of the one of the same state of the shaft."""
    made = SavedSwing(
        hz=found.hz,
        low_hz=found.low_hz,
        high_hz=found.high_hz,
        steps_per_turn=steps_per_turn,
        found_with=found_with or FoundWith(),
    )
    others = (each for each in figures.swings if each.found_with.on_shaft != made.found_with.on_shaft)
    return replace(figures, swings=(made, *others))


def swing_of(swings: Swings, now: FoundWith) -> SavedSwing | None:
    """The one that was measured with what is there now; None for none."""
    return next(
        (each for each in swings if each.found_with.on_shaft == now.on_shaft and _holds(each.found_with, now)), None
    )


def bare_swing(swings: Swings, now: FoundWith) -> SavedSwing | None:
    """The bare rotor's at the current that is set now."""
    return swing_of(swings, replace(now, on_shaft="bare"))


def swing_hz(swings: Swings, now: FoundWith) -> float | None:
    """As measured; or the bare rotor's with the load's inertia on; None where neither is known."""
    found = swing_of(swings, now)
    if found is not None:
        return found.hz
    bare, rotor = bare_swing(swings, now), rotor_of(swings, now)
    if bare is None or rotor is None or now.load_inertia_kilogram_metre2 is None:
        return None
    return bare.hz / math.sqrt(1 + now.load_inertia_kilogram_metre2 / rotor)


def rotor_of(swings: Swings, now: FoundWith) -> float | None:
    """The rotor's inertia: as typed, else by its bare swing and holding torque."""
    typed, bare = now.rotor_inertia_kilogram_metre2, bare_swing(swings, now)
    if typed is not None or bare is None:
        return typed
    return _inertia(bare)


def load_ratio(swings: Swings, now: FoundWith) -> float | None:
    """JL/J0 by two swings, bare and with what is on the shaft in ``now``; None where they don't tell."""
    found, bare = swing_of(swings, now), bare_swing(swings, now)
    if found is None or bare is None or now.on_shaft == "bare" or found.hz >= bare.hz:
        return None
    return (bare.hz / found.hz) ** 2 - 1


def measured_load_ratio(swings: Swings, now: FoundWith) -> float | None:
    """JL/J0 of what was last on the shaft, by its swing and the bare one at the current that is set in ``now``."""
    loaded = (each.found_with.on_shaft for each in swings if each.found_with.on_shaft != "bare")
    return next((load_ratio(swings, replace(now, on_shaft=each)) for each in loaded), None)


def measured_rotor_inertia(known: Facts) -> float | None:
    """By the bare swing on any drive, newest first."""
    jog = known.get(Jog)
    for figures in jog.drives if jog is not None else ():
        for each in figures.swings:
            if each.found_with.on_shaft == "bare" and (found := _inertia(each)) is not None:
                return found
    return None


def swing_lines(found: Swing, swings: Swings, now: FoundWith | None, steps_per_turn: int) -> tuple[str, ...]:
    """What a measured swing says, with what it was found, and what follows."""
    from coilbench.motion.search_order import SWING_SHARES

    low, high = (share * found.hz for share in SWING_SHARES)
    lines = [
        f"it shakes worst near {found.worst_sps:.0f} full steps/s: small swings of {found.hz:.0f} Hz (90 % sure of "
        f"{found.low_hz:.0f} to {found.high_hz:.0f})",
        f"in full steps keep away from {low:.0f} to {high:.0f} steps/s, or pass through quickly; the searches do",
    ]
    if now is None:
        return tuple(lines)
    lines.append(f"found with: {found_with_words(now)}; another current or another load swings otherwise")
    here = with_swing(Figures(swings=tuple(swings)), found, now, steps_per_turn).swings
    turns, ratio = _inertia(here[0]), load_ratio(here, now)
    if turns is not None:
        doubt = math.log(found.high_hz / found.low_hz)  # half the interval, twice as an inertia goes with its square
        lines.append(
            f"by its holding torque all that turns has {inertia_text(turns)} g·cm² (within {math.expm1(doubt):.0%}, "
            "were the torque exact)"
        )
    if ratio is not None:
        lines.append(
            f"what is on the shaft has {ratio:.2g} times the rotor's inertia, by both swings: a start falls to "
            f"{1 / math.sqrt(1 + ratio):.0%} of the bare one (1 / sqrt(1 + JL/J0)), and lower by what leans on it"
        )
    return tuple(lines)


def swing_words(each: SavedSwing, peak_ampere: float | None = None) -> str:
    """In a few words, with what has changed since."""
    then = each.found_with
    stale = other_current(then, FoundWith(peak_ampere=peak_ampere))
    doubt = f"{each.hz:.0f} Hz ({each.low_hz:.0f} to {each.high_hz:.0f}), {ON_SHAFT_WORDS[then.on_shaft]}"
    return f"{doubt}; stale: {stale}" if stale else doubt


def _holds(then: FoundWith, now: FoundWith) -> bool:
    load, loaded = then.load_inertia_kilogram_metre2, now.load_inertia_kilogram_metre2
    same = now.on_shaft == "bare" or load is None or loaded is None or math.isclose(load, loaded, rel_tol=0.02)
    return same and not other_current(then, now)


def _inertia(swing: SavedSwing) -> float | None:
    """All that turned with it, where the holding torque was known."""
    from coilbench.motion.swing import inertia_by_swing

    torque = swing.found_with.holding_newton_metre
    return None if torque is None else inertia_by_swing(swing.hz, torque, swing.steps_per_turn / 4)
