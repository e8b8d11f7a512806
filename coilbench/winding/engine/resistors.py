"""Leads with kilohms between them: no winding of a motor, but a thermistor, a sensor or an encoder in its loom."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from coilbench.winding.engine.network import components
from coilbench.winding.engine.verdict import Ask
from coilbench.winding.readings.reading import Reading
from coilbench.winding.readings.repeats import believed

# Coils of small motors end well below a kilohm, end to end; fingers on both tips read more than the upper end.
# Common practice.
_KILOHMS = (1500.0, 200_000.0)
_NO_SENSOR_BELOW_OHM = 200.0
_FEW_SILENT = 2


@dataclass(frozen=True)
class Resistors:
    """The sets of leads that are something else's, and the pairs whose kilohms were read once only."""

    sets: tuple[tuple[str, ...], ...]
    doubtful: tuple[tuple[str, str], ...]

    @property
    def leads(self) -> frozenset[str]:
        return frozenset(lead for leads in self.sets for lead in leads)


def is_kilohms(ohm: float) -> bool:
    return _KILOHMS[0] <= ohm <= _KILOHMS[1]


def resistors(names: Sequence[str], readings: Sequence[Reading]) -> Resistors:
    """What kilohms the readings show. Two readings of a pair have to say so: one may be a slip of the point."""
    by_pair: dict[tuple[str, str], list[float]] = {}
    for reading in readings:
        if reading.a in names and reading.b in names:
            a, b = sorted((reading.a, reading.b), key=names.index)
            by_pair.setdefault((a, b), []).append(reading.ohm)
    sure, doubtful = [], []
    for pair, ohms in by_pair.items():
        kilohms = sum(is_kilohms(ohm) for ohm in ohms)
        if kilohms >= 2 and 2 * kilohms > len(ohms):
            sure.append(pair)
        elif kilohms == len(ohms):
            doubtful.append(pair)
    joined = [*sure, *(pair for pair, ohms in by_pair.items() if believed(ohms) <= _KILOHMS[1])]
    edges = [(names.index(a), names.index(b), 1.0) for a, b in joined]
    label = components(len(names), edges).tolist()
    sets = []
    for mark in dict.fromkeys(label):
        leads = tuple(name for name, own in zip(names, label, strict=True) if own == mark)
        least = min((believed(ohms) for pair, ohms in by_pair.items() if set(pair) <= set(leads)), default=0.0)
        if least >= _NO_SENSOR_BELOW_OHM and any(set(pair) <= set(leads) for pair in sure):
            sets.append(leads)
    return Resistors(tuple(sets), tuple(doubtful))


def sensor_asks(
    found: Resistors, silent: Sequence[str], coils: Sequence[Sequence[str]], readings: Sequence[Reading]
) -> Iterator[Ask]:
    """Pairs that tell whether these are joined to none of the motor's coils, and whether a lead without a place is
    theirs, too."""
    taken = {frozenset((reading.a, reading.b)) for reading in readings}
    for leads in found.sets:
        joined = " ".join(leads)
        for coil in coils:
            if not any(frozenset((lead, end)) in taken for lead in leads for end in coil):
                yield Ask(leads[0], coil[0], f"tells whether {joined} and {' '.join(coil)} are parts of one thing")
    for leads in found.sets if len(silent) <= _FEW_SILENT else ():
        for lead in silent:
            for other in leads[:2]:
                if frozenset((lead, other)) not in taken:
                    yield Ask(lead, other, f"tells whether {lead} belongs to the same thing as {' '.join(leads)}")


def resistor_text(leads: Sequence[str], readings: Sequence[Reading]) -> str:
    """What they may be, with the kilohms they read."""
    read = [r.ohm for a, b in combinations(leads, 2) for r in readings if {r.a, r.b} == {a, b} and is_kilohms(r.ohm)]
    what = "a thermistor or another sensor" if len(leads) == 2 else "a sensor or an encoder"
    return f"what {' '.join(leads)} belong to: {min(read) / 1000:.3g} kohm is no winding, but {what}"


def again(pair: tuple[str, str], passed: Collection[frozenset[str]]) -> Ask | None:
    """Kilohms read once, to be read again."""
    if frozenset(pair) in passed:
        return None
    return Ask(*pair, "kilohms are more than a winding has: measure it once more to believe it")
