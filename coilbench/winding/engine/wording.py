"""Plain sentences about a winding: what resistance can't tell, what else it may be, what looks wrong."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from coilbench.winding.engine.catalogue import UNLISTED, Arrangement
from coilbench.winding.engine.templates import Template
from coilbench.winding.readings.reading import FRAME, PROBES, Reading

TWO_MOTORS = "two four-lead motors in one loom"
TWO_SPEED = "a fan of two speeds or a transformer: its two parts are unlike on purpose"


def always_untold(template: Template) -> tuple[str, ...]:
    """What resistance never tells about this arrangement."""
    found = template.arrangement.untold
    if template.open_in_tapped_coil:
        if template.fault_edge is None:
            return ("which of the dead coil's leads is its tap", *found)
        return ("which of the two leads of the coil with the open half is its tap", *found)
    return found


def fault_text(template: Template, leads: Sequence[str]) -> str:
    """One sentence for the fault of a template."""
    joined = " ".join(leads)
    if template.fault == "shorted-turns":
        return shorted_text(leads, left_of(template))
    if template.fault == "broken-lead":
        return f"{joined} is open to everything although its coils are alive: broken off inside"
    if template.dead_coils == 2:
        return f"{joined} are open to everything: two dead coils, which leads pair up can't be told"
    if template.fault_edge is None:
        return f"{joined} are open to everything: a dead coil, both halves of it"
    return f"the coil on {joined} is open: a broken wire, or a lead broken off"


def left_of(template: Template) -> float:
    """What shorted turns leave of a coil, as a share of its fellows."""
    return min(ohm for _, _, ohm in template.edges)


def shorted_text(leads: Sequence[str], share: float) -> str:
    """One sentence for a coil with shorted turns."""
    left = round(100 * share)
    return f"the coil on {' '.join(leads)} has only about {left} % of its fellows' resistance: shorted turns"


def uneven_text(leads: Sequence[str], share: float, likely: float) -> str:
    """One clause for a coil that reads low, but not so low that shorted turns are sure."""
    left = round(100 * share)
    return (
        f"whether the coil on {' '.join(leads)} has shorted turns ({percent(likely)} likely): uneven, perhaps, with "
        f"about {left} % of its fellows' resistance"
    )


def percent(share: float) -> str:
    """A probability in whole per cent, never quite none or all."""
    return f"{min(max(round(100 * share), 1), 99)} %"


def _state(template: Template) -> str:
    spares = len(template.spares)
    parts = [template.arrangement.title]
    if template.fault == "open":
        parts.append("two dead" if template.dead_coils == 2 else "one dead")
    elif template.fault == "broken-lead":
        parts.append("a lead broken off")
    elif template.fault == "shorted-turns":
        parts.append("shorted turns in one coil")
    if spares:
        parts.append("one spare lead" if spares == 1 else f"{spares} spare leads")
    return ", ".join(parts)


def twin_text(template: Template, other: Template) -> str:
    """One sentence for a case that reads the same on any meter."""
    this, that = (f"{one.arrangement.name} ({_state(one)})" for one in (template, other))
    return f"whether this is {this} or {that}"


def or_stranger_text(leads: Sequence[str]) -> str:
    """What reads low, and may well be of something else."""
    return f"whether {' '.join(leads)} have shorted turns or belong to something else, a brake or another motor"


def strangers_text(leads: Sequence[str]) -> str:
    """Leads that conduct to one another and are no part of the motor's winding."""
    what = "a brake, a sensor, a thermistor or another motor"
    return f"what {' '.join(leads)} belong to: they are unlike the motor's own coils, {what}"


def alternative_text(template: Template, sets: Sequence[tuple[str, ...]]) -> str:
    """A case in a few words, with the leads that belong together."""
    joined = " | ".join(" ".join(leads) for leads in sets)
    return f"{_state(template)}: {joined}"


def resemblance(
    names: Sequence[str], readings: Sequence[Reading], arrangement: Arrangement, unlisted: float
) -> str | None:
    """What it looks like if it is perhaps not a stepper, else None."""
    between = [r for r in readings if FRAME not in (r.a, r.b) and PROBES not in (r.a, r.b)]
    values = [r.ohm for r in between if r.ohm < math.inf]
    if _drifts(between, 2 if len(names) == 2 else 3):
        return "a brush motor: its ohms change as the shaft is turned; not a stepper"
    if len(names) == 2:
        return "a solenoid, a brush motor or a fan: a stepper has at least two coils"
    kilohms = [ohm for ohm in values if 700 < ohm < 10e6]
    if len(kilohms) >= 2 and len(kilohms) >= 0.5 * len(values):
        return "electronics inside (a fan, a sensor or an encoder): kilohms between leads are no windings"
    if arrangement is UNLISTED and unlisted > 0.5 and len(values) >= 2:
        return "not a plain winding: uneven ohms are a brush motor's, a circuit board's or an encoder's"
    return arrangement.resembles


def _drifts(readings: Sequence[Reading], times: int) -> bool:
    """Whether one pair was read so many times without two readings agreeing."""
    by_pair: dict[frozenset[str], list[float]] = {}
    for reading in readings:
        if reading.ohm < math.inf:
            by_pair.setdefault(frozenset((reading.a, reading.b)), []).append(reading.ohm)
    for values in by_pair.values():
        values.sort()
        if len(values) >= times and all(high > 1.1 * low + 0.3 for low, high in pairwise(values)):
            return True
    return False
