"""Eight leads: which of four separate halves share a phase, and in which sense."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from coilbench.winding.order.types import OrderQuestion, Probe, Way

Pair = tuple[str, str]
Pairing = tuple[tuple[Pair, Pair], tuple[Pair, Pair]]  # phase A, phase B: each two halves from start to finish

# What two halves show: of one phase in one sense, of one phase in opposite senses, of two phases.
_SHOWS = {
    "flick": ("plus", "minus", "none"),
    "kick": ("plus", "minus", "none"),
    "added": ("more", "less", "same"),
    "free": ("holds", "free", "holds"),
    "drag": ("drags", "free", "drags"),
}


@dataclass(frozen=True)
class Halves:
    """The twelve pairings of four halves."""

    question: OrderQuestion

    @cached_property
    def hypotheses(self) -> Sequence[Pairing]:
        halves = self.question.halves
        first = halves[0]
        found: list[Pairing] = []
        for partner in (1, 2, 3):
            third, fourth = (halves[k] for k in (1, 2, 3) if k != partner)
            for second in (halves[partner], halves[partner][::-1]):
                found += [((first, second), (third, last)) for last in (fourth, fourth[::-1])]
        return found

    @cached_property
    def _half_of(self) -> dict[str, int]:
        return {lead: number for number, half in enumerate(self.question.halves) for lead in half}

    @cached_property
    def _places(self) -> dict[Pairing, dict[str, tuple[int, int]]]:
        """For each pairing each lead's phase, and whether it is a start (0) or a finish (1)."""
        return {
            pairing: {
                lead: (number, end)
                for number, phase in enumerate(pairing)
                for half in phase
                for end, lead in enumerate(half)
            }
            for pairing in self.hypotheses
        }

    def probes(self, way: Way) -> Sequence[Probe]:
        halves = self.question.halves
        starts = [half[0] for half in halves]
        two = [(first, then) for first in starts for then in starts if first != then]
        if way == "usual":
            return [Probe("flick", *pair) for pair in two]
        if way == "volts":
            return [*(Probe("induced", start) for start in starts), *(Probe("added", *pair) for pair in two)]
        if way == "clips":
            return []  # a board makes them all at once
        return [
            Probe(way, half[0], touched)
            for number, half in enumerate(halves)
            for other in halves[number + 1 :]
            for touched in other
        ]

    def possible(self, probe: Probe) -> Sequence[str]:
        own = self._half_of.get(probe.reference)
        if own is None:
            return ()
        if probe.kind == "induced":
            return tuple(half[0] for number, half in enumerate(self.question.halves) if number != own)
        if probe.kind not in _SHOWS or self._half_of.get(probe.touched, own) == own:
            return ()
        return tuple(dict.fromkeys(_SHOWS[probe.kind]))

    def right(self, hypothesis: Pairing, probe: Probe) -> str:
        """By the dot convention: two starts, or two finishes, of one phase go with each other."""
        places = self._places[hypothesis]
        phase, end = places[probe.reference]
        if probe.kind == "induced":
            own = self._half_of[probe.reference]
            return next(
                half[0]
                for number, half in enumerate(self.question.halves)
                if number != own and places[half[0]][0] == phase
            )
        other_phase, other_end = places[probe.touched]
        alike, opposed, apart = _SHOWS[probe.kind]
        return apart if phase != other_phase else alike if end == other_end else opposed
