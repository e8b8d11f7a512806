"""Weighing the answers of hand tests, some of them wrong, and choosing the test that tells most."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from coilbench.winding.engine.verdict import TIE
from coilbench.winding.order.types import OrderTest, Probe, Way
from coilbench.winding.order.ways import chance

_CONTRADICTED_FROM = 0.9
_LEAST_GAIN_BIT = 1e-6  # below this a test tells nothing

H = TypeVar("H")


class Model(Protocol[H]):
    """What may be the case, equally likely before any test, and what each test would show."""

    @property
    def hypotheses(self) -> Sequence[H]: ...

    def probes(self, way: Way) -> Sequence[Probe]:
        """The tests of a way that could be made."""
        ...

    def possible(self, probe: Probe) -> Sequence[str]:
        """What a test can show; empty for one that isn't this model's."""
        ...

    def right(self, hypothesis: H, probe: Probe) -> str:
        """What a test shows, of what is possible, where the hypothesis is true."""
        ...


@dataclass(frozen=True, slots=True)
class Belief(Generic[H]):
    """The hypotheses of a model with their probabilities after some tests."""

    model: Model[H]
    probabilities: tuple[float, ...]

    @property
    def best(self) -> tuple[H, float]:
        index = max(range(len(self.probabilities)), key=self.probabilities.__getitem__)
        return self.model.hypotheses[index], self.probabilities[index]

    def gain_bit(self, probe: Probe) -> float:
        """Expected information of one more test, in bits."""
        possible = self.model.possible(probe)
        seen = [0.0] * len(possible)
        noise = 0.0
        spread: dict[str, list[float]] = {}  # what is right -> how likely each is seen
        for hypothesis, probability in zip(self.model.hypotheses, self.probabilities, strict=True):
            right = self.model.right(hypothesis, probe)
            if right not in spread:
                spread[right] = [chance(probe.kind, right, each, len(possible)) for each in possible]
            for place, share in enumerate(spread[right]):
                seen[place] += probability * share
            noise += probability * _entropy_bit(spread[right])
        return _entropy_bit(seen) - noise


def _entropy_bit(shares: Sequence[float]) -> float:
    return -sum(share * math.log2(share) for share in shares if share > 0)


def believe(model: Model[H], tests: Sequence[OrderTest]) -> Belief[H]:
    """Weigh the hypotheses by the answers; tests that aren't the model's tell nothing."""
    telling = [(test, model.possible(test.probe)) for test in tests if test.answer != "unsure"]
    weights = []
    for hypothesis in model.hypotheses:
        weight = 0.0
        for test, possible in telling:
            if test.seen in possible:
                right = model.right(hypothesis, test.probe)
                weight += math.log(chance(test.kind, right, test.seen, len(possible)))
        weights.append(round(weight, TIE))
    top = max(weights)
    scaled = [math.exp(weight - top) for weight in weights]
    total = sum(scaled)
    return Belief(model, tuple(value / total for value in scaled))


def most_telling_test(belief: Belief[H], way: Way, tests: Sequence[OrderTest]) -> Probe | None:
    """The test of this way that tells most; None where none tells anything.

    A test made before counts for less (its mistake may have a lasting cause), and the reference stays where it is
    clipped when that costs nothing.
    """
    held = tests[-1].reference if tests else None
    made = [test.probe for test in tests]

    def worth(probe: Probe, gain: float) -> float:
        swapped = made.count(Probe(probe.kind, probe.touched, probe.reference))
        clipped = 0.02 if probe.reference == held else 0.0
        return round(gain * 0.8 ** made.count(probe) * 0.95**swapped + clipped, TIE)

    gains = [(probe, belief.gain_bit(probe)) for probe in belief.model.probes(way)]
    telling = [(worth(probe, gain), probe) for probe, gain in gains if gain > _LEAST_GAIN_BIT]
    return max(telling, key=lambda each: each[0])[1] if telling else None


def contradicted(belief: Belief[H], tests: Sequence[OrderTest]) -> tuple[OrderTest, ...]:
    """The answers that the best hypothesis, once it is well ahead, calls wrong."""
    best, probability = belief.best
    if probability < _CONTRADICTED_FROM:
        return ()
    model = belief.model
    return tuple(
        test
        for test in tests
        if test.answer != "unsure"
        and test.seen in model.possible(test.probe)
        and model.right(best, test.probe) != test.seen
    )
