"""Five leads and a bipolar driver: what works, what doesn't, and what cutting the common brings, with numbers."""

from __future__ import annotations

import math

from coilbench.rating.connections import ConnectionRow


def five_lead_notes(row: ConnectionRow, supply_volt: float | None) -> list[str]:
    """What to do with five leads, the advice first. ``row`` is the unipolar one.

    With the common open a phase is its two halves in series, and the common floats at half the supply: both phases
    agree on that only while each has one end high and the other low. So counted, ends at V make V / 2R in all four
    halves, and two halves at half the current pull as one at all of it.
    """
    ohm, rated = 2 * row.ohm, row.ampere / math.sqrt(2)
    volt = row.ampere * row.ohm  # the unipolar motor's own voltage
    most = rated * ohm
    supply = volt if supply_volt is None else supply_volt
    current = supply / ohm
    times = min(current, rated) / row.ampere * 2
    over = f", over the {rated:.3g} A it can take: {most:.3g} V is the most" if current > 1.001 * rated else ""
    return [
        "five leads: both centre taps are one lead inside, so a unipolar driver works it as it is",
        "a step/direction board can't: each of its bridges switches by itself, and its current goes home "
        "through the other one by the common lead, past its sense resistor",
        "a plain dual bridge, hard-switched with both phases always on, does work with the common left open: each "
        f"half gets half of the supply; {supply:.3g} V makes {current:.3g} A through {ohm:.3g} ohm a phase{over}; "
        f"that holds {times:.2f} of the unipolar torque. Full steps alone, no current limit: fuse it",
        f"cutting the common apart makes it a four-lead motor of {ohm:.3g} ohm with four times the inductance: it "
        f"gains only from {most:.3g} V up (1.41 times the torque at rest, {rated:.3g} A), at speed from more; on "
        f"{volt:.3g} V it takes {volt / ohm:.3g} A and pulls as before: nothing gained",
        "and it means opening the motor: small tin cans have the joint on their connector board; the rotor's magnet "
        "loses strength when it is drawn out of a hybrid's stator, bearings and seals suffer, and the joint may be "
        "out of reach: only on one you can afford to lose",
    ]
