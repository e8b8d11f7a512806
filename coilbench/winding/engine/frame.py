"""Readings from a lead to the motor's frame: leakage, and leads that are meant to be joined to it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from coilbench.winding.engine.verdict import Ask, Fault
from coilbench.winding.readings.reading import FRAME, Reading

HANDS_OHM = 100_000.0  # above this to the frame a reading may be the fingers on the probes
_JOINED_OHM = 2.0


def frame_readings(readings: Sequence[Reading]) -> dict[str, list[float]]:
    """The readings to the frame in ohm, by lead, in the order taken."""
    found: dict[str, list[float]] = {}
    for reading in readings:
        if FRAME in (reading.a, reading.b):
            lead = reading.b if reading.a == FRAME else reading.a
            found.setdefault(lead, []).append(reading.ohm)
    return found


def in_doubt(ohms: Sequence[float]) -> bool:
    """Whether a lead's reading to the frame wants repeating with hands off the probes."""
    return HANDS_OHM < ohms[-1] < math.inf and len(ohms) < 2


def frame_ask(leads: Sequence[str]) -> Ask:
    """To read one of these joined leads, or a silent one, to the frame."""
    if len(leads) == 1:
        return Ask(leads[0], FRAME, f"tells whether the silent lead {leads[0]} goes to the motor's case", "frame")
    return Ask(leads[0], FRAME, f"tells whether the winding on {leads[0]} leaks to the motor's case", "frame")


def frame_faults(
    names: Sequence[str], readings: Sequence[Reading], sets: Sequence[tuple[str, ...]]
) -> tuple[tuple[Fault, ...], tuple[str, ...]]:
    """Faults and notes from the frame readings; ``sets`` are the leads joined to one another."""
    faults: list[Fault] = []
    notes: list[str] = []
    low: dict[str, float] = {}
    for lead, ohms in frame_readings(readings).items():
        if ohms[-1] <= HANDS_OHM:
            low[lead] = ohms[-1]
        elif ohms[-1] < math.inf and len(ohms) >= 2:
            notes.append(
                f"{lead} to the case reads {ohms[-1] / 1e6:.2g} Mohm with hands off: damp or dirt, dry it out"
            )
    for leads in sets:
        leaking = [lead for lead in leads if lead in low]
        if not leaking:
            continue
        if len(leads) == 1 and low[leaking[0]] <= _JOINED_OHM:
            notes.append(f"{leaking[0]} is joined to the case and to no coil: a screen or earth lead")
            continue
        nearest = min(leaking, key=lambda lead: low[lead])
        joined = " ".join(leads)
        text = f"the winding on {joined} leaks to the case ({_frame_ohm(low[nearest])} at {nearest}): do not power it"
        faults.append(Fault("frame", tuple(leaking), text))
        notes.insert(0, "a winding touches the case: do not power this motor, on the bench or in a machine")
    return tuple(faults), tuple(dict.fromkeys(notes))


def _frame_ohm(ohm: float) -> str:
    """A leak's resistance, coarse: its place, not its value, is what counts."""
    for size, unit in ((1e6, "Mohm"), (1e3, "kohm")):
        if ohm >= size:
            return f"{ohm / size:.3g} {unit}"
    return f"{ohm:.3g} ohm"
