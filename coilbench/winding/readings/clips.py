"""A motor's leads on the clips of a board: which pair to drive next, and the resistances that the voltages show.

Each clip is driven through 220 ohm and the pin's own resistance, and held to ground by 100 kohm. Voltages are shares
of the board's supply, against which it measures and from which it drives: the supply itself drops out.

What each term of the error comes to, for a reading of R ohm between two leads:

- the resistors that drive: 1 % of 220 ohm each, metal film (a common tolerance of IEC 60063's E96 row); two in a row,
  so 0.6 % of R for one pair, less where several pairs see the same winding;
- the pins: 25 ohm at 10 mA and 25 degC, typical (Microchip: ATmega328P data sheet, "Typical Characteristics", output
  voltage against current at 5 V; from memory), 20 to 30 ohm from chip to chip and with its warmth, alike on one chip.
  Of 490 ohm in a row 10 ohm are 2 %, and all readings are off by the same share: 4 % is the bound taken, and it goes
  into the coils' doubt, not into which lead is which;
- the converter: its steps of 1/1024 of the supply are 0.48 ohm at this current. 64 samples with a noise of half a
  step leave 0.04 ohm. Offset and gain error (2 steps; the same data sheet, "ADC Characteristics"; from memory) drop
  out by driving both ways round and by measuring against the supply; non-linearity (0.5 step) doesn't: 0.25 ohm;
- 100 kohm to ground on each clip: taken into account; its 5 % is 0.01 % of R;
- clips and their wire: 0.02 to 0.1 ohm (common practice).

So R is known to 4 % and 0.4 ohm, of which 1 % and 0.2 ohm are each reading's own. Below about an ohm that says
nothing: such windings are asked for by hand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from coilbench.winding.readings.inductance import Kick, NotTimed, Timed
from coilbench.winding.readings.meter import Meter
from coilbench.winding.readings.reading import Reading
from coilbench.winding.readings.repeats import OPEN_ABOVE_OHM

SERIES_OHM, PIN_OHM, BLEED_OHM = 220.0, 25.0, 100_000.0
DRIVE_OHM = SERIES_OHM + PIN_OHM
CLIPS = Meter(gain_percent=4.0, counts=8.0, step_ohm=0.1, held=False)  # see above

_JOINED = 0.5  # of the lowest clip's voltage when a pair conducts, of the supply when it doesn't
_CONDUCTS_BELOW = 0.97  # across a pair that isn't joined: eight leads' 100 kohm leave 0.98, 10 kohm between them 0.95
_ALL_PAIRS = 6  # of so many joined leads every pair is driven, of more each with its next two
# A shaft that turns slowly adds its volts. Without it both ways round add up to the supply, but for the 100 kohm and
# for pins and resistors that aren't alike (0.011 at most among 150 jigs drawn as above); all voltages of joined leads
# are those of one network within 0.0015, and those of a pair driven again are the same within 0.0005.
_SUM_OFF, _NETWORK_OFF, _AGAIN_OFF = 0.014, 0.003, 0.0015

Pair = tuple[int, int]
Shares = Mapping[Pair, Sequence[float]]


def next_pair(shares: Shares, leads: int) -> Pair | None:
    """Which clip to drive high and which low, counted from 0; None when all that tells is known.

    ``shares`` are the voltages of the clips for each pair driven so far.
    """
    fellows = _fellows(shares, leads)
    for lead in range(leads):
        if lead not in fellows:
            return lead, 1 if lead == 0 else 0
    for pair in _worth_driving(fellows):
        for way in (pair, pair[::-1]):
            if way not in shares:
                return way
    return None


def to_repeat(shares: Shares, leads: int) -> list[Pair]:
    """What to drive once more at the end: pairs joined to none else, whose voltages nothing else bears out.

    The last comes first: so each is driven again after another time, and no rate of a turning shaft fits all of them.
    """
    pairs = [tuple(sorted(joined)) for joined in set(_fellows(shares, leads).values()) if len(joined) == 2]
    return [way for low, high in sorted(pairs, reverse=True) for way in ((high, low), (low, high))]


def _fellows(shares: Shares, leads: int) -> dict[int, frozenset[int]]:
    """The leads that each lead is joined to, itself included, as far as it is known."""
    found: dict[int, frozenset[int]] = {}
    for (high, low), volts in shares.items():
        conducts = volts[high] - volts[low] < _CONDUCTS_BELOW
        above = _JOINED * (volts[low] if conducts else 1.0)
        joined = frozenset({high} | {k for k in range(leads) if volts[k] > above})
        for lead in joined:
            found.setdefault(lead, joined)
    return found


def _worth_driving(fellows: Mapping[int, frozenset[int]]) -> list[Pair]:
    pairs: list[Pair] = []
    for joined in sorted(set(fellows.values()), key=min):
        size, ring = len(joined), sorted(joined)
        near = range(1, size) if size <= _ALL_PAIRS else (1, 2, size - 2, size - 1)
        pairs += [(ring[i], ring[j]) for i, j in combinations(range(size), 2) if j - i in near]
    return pairs


@dataclass(frozen=True)
class ClipMap:
    """What the clips show. ``alone`` are the leads that conduct to no other: their clips may hang in the air.

    ``readings`` are all pairs, the resistances in ohm; ``restless`` says that something changed meanwhile.
    ``inductances`` and ``kicks`` are those that were asked for (``readings.rise``, ``readings.kick``).
    """

    readings: tuple[Reading, ...]
    alone: tuple[str, ...]
    restless: bool
    inductances: tuple[Timed | NotTimed, ...] = ()
    kicks: tuple[Kick, ...] = ()


def clip_map(shares: Shares, names: Sequence[str], again: Shares | None = None) -> ClipMap:
    """The readings that the voltages of all driven pairs come to; ``names`` are the leads in the clips' order.

    ``again`` are the voltages of the pairs that were driven once more.
    """
    fellows = _fellows(shares, len(names))
    ohms: dict[Pair, float] = {}
    restless = _restless(shares, fellows)
    for joined in set(fellows.values()):
        found, off = _resistances(shares, sorted(joined))
        ohms |= found
        restless |= off > _NETWORK_OFF
    for pair, volts in (again or {}).items():
        restless |= any(abs(volts[k] - shares[pair][k]) > _AGAIN_OFF for k in pair)
    readings = []
    for a, b in combinations(range(len(names)), 2):
        ohm = ohms.get((a, b), np.inf)
        readings.append(Reading(names[a], names[b], _rounded(ohm) if ohm < OPEN_ABOVE_OHM else np.inf, meter=CLIPS))
    alone = tuple(name for k, name in enumerate(names) if len(fellows[k]) == 1)
    return ClipMap(tuple(readings), alone, restless)


def _rounded(ohm: float) -> float:
    return round(max(ohm, 0.0), 2 if ohm < 100 else 1)


def _restless(shares: Shares, fellows: Mapping[int, frozenset[int]]) -> bool:
    """Whether the two ways round of a pair don't fit each other: a shaft that turned, a clip that was moved."""
    for (high, low), there in shares.items():
        back = shares.get((low, high))
        if back is None or low not in fellows[high]:
            continue
        held = 1 - len(fellows[high]) * DRIVE_OHM / 2 / BLEED_OHM
        if any(abs(there[k] + back[k] - held) > _SUM_OFF for k in fellows[high]):
            return True
    return False


def _resistances(shares: Shares, joined: Sequence[int]) -> tuple[dict[Pair, float], float]:
    """Resistance in ohm between every two of these joined leads: the least squares of all voltages; and how far the
    worst of these is off, as a share of the supply.

    With currents c into the leads that add up to nothing, the potentials are -1/2 R c and a constant, R being the
    resistances between them (D. J. Klein, M. Randic, "Resistance distance", J. Math. Chem. 12, 1993; from memory): so
    a tap's voltage bears on the resistances to both ends. Both ways round are taken together, which frees them from
    the converter's offset and from a small steady voltage.
    """
    pairs = list(combinations(range(len(joined)), 2))
    column = {pair: k for k, pair in enumerate(pairs)}
    rows, wanted = [], []
    for i, j in pairs:
        there, back = shares.get((joined[i], joined[j])), shares.get((joined[j], joined[i]))
        if there is None or back is None:
            continue
        half = (np.array(there)[list(joined)] - np.array(back)[list(joined)]) / 2
        current = -half / BLEED_OHM
        current[i] += (0.5 - half[i]) / DRIVE_OHM
        current[j] -= (0.5 + half[j]) / DRIVE_OHM
        rest = current.sum() / 2
        current[i] -= rest
        current[j] -= rest
        for lead in range(len(joined)):
            if lead == j:
                continue
            row = np.zeros(len(pairs))
            for other in range(len(joined)):
                _add(row, column, lead, other, -0.5 * current[other])
                _add(row, column, j, other, 0.5 * current[other])
            rows.append(row)
            wanted.append(half[lead] - half[j])
    if not rows:
        return {}, 0.0
    matrix, told = np.array(rows), np.array(wanted)
    found: NDArray[np.float64] = np.linalg.lstsq(matrix, told, rcond=None)[0]
    ohms = {(joined[i], joined[j]): float(ohm) for (i, j), ohm in zip(pairs, found, strict=True)}
    return ohms, float(np.abs(matrix @ found - told).max())


def _add(row: NDArray[np.float64], column: Mapping[Pair, int], a: int, b: int, share: float) -> None:
    if a != b:
        row[column[min(a, b), max(a, b)]] += share
