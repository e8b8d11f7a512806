"""Five and six leads, and eight once they are paired: four ends in a ring, in one of two directions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, permutations

from coilbench.winding.order.types import OrderQuestion, Probe, Way

Ring = tuple[str, ...]

_BY_STEPS = ("none", "cw", "none", "ccw")


@dataclass(frozen=True)
class Ends:
    """The orders of four ends, told apart as far as a motor can (a rotation is the same motor)."""

    question: OrderQuestion

    @cached_property
    def hypotheses(self) -> Sequence[Ring]:
        first, *rest = self.question.ends
        orders = [(first, *others) for others in permutations(rest)]
        phases = {frozenset(pair) for pair in self.question.phases}
        return [order for order in orders if not phases or frozenset(order[::2]) in phases]

    def probes(self, way: Way) -> Sequence[Probe]:
        """Where resistance has paired the ends, only the twitch is left to tell something."""
        ends = self.question.ends
        if way == "usual":
            return [Probe("twitch", first, then) for first in ends for then in ends if first != then]
        if self.question.phases:
            return []
        if way == "volts":
            return [Probe("induced", end) for end in ends]
        return [Probe("free", *pair) for pair in combinations(ends, 2)] if way == "free" else []

    def possible(self, probe: Probe) -> Sequence[str]:
        ends = self.question.ends
        if probe.reference not in ends or probe.touched not in (*ends, ""):
            return ()
        match probe.kind:
            case "twitch":
                return ("cw", "ccw", "none")
            case "induced" if not self.question.phases:
                return tuple(end for end in ends if end != probe.reference)
            case "free" if not self.question.phases:
                return ("free", "holds")
            case "kick" if not self.question.phases:
                return ("minus", "none")
        return ()

    def right(self, hypothesis: Ring, probe: Probe) -> str:
        """The partner on the same phase lies opposite; both halves of it, fed from the common, cancel out."""
        place = hypothesis.index(probe.reference)
        if probe.kind == "induced":
            return hypothesis[(place + 2) % 4]
        steps = (hypothesis.index(probe.touched) - place) % 4
        if probe.kind == "free":
            return "free" if steps == 2 else "holds"
        if probe.kind == "kick":
            return "minus" if steps == 2 else "none"
        return _BY_STEPS[steps]
