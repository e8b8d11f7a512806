"""Weighing the answers of hand tests, some of them wrong, and choosing the test that tells most."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from coilbench.winding.engine.verdict import TIE
from coilbench.winding.order.types import Answer, OrderTest

WRONG_ANSWER = 0.1
_SINGLE_ERROR = WRONG_ANSWER / 2  # two wrong answers to choose from
_CONTRADICTED_FROM = 0.9

H = TypeVar("H")


@dataclass(frozen=True, slots=True)
class Belief(Generic[H]):
    """Hypotheses with their probabilities after some tests, and how a test would come out under each."""

    hypotheses: tuple[H, ...]
    probabilities: tuple[float, ...]
    outcome: Callable[[H, str, str], Answer]

    @property
    def best(self) -> tuple[H, float]:
        index = max(range(len(self.hypotheses)), key=self.probabilities.__getitem__)
        return self.hypotheses[index], self.probabilities[index]

    def gain_bit(self, reference: str, touched: str) -> float:
        """Expected information of one more test, in bits."""
        shares: dict[Answer, float] = {}
        for hypothesis, probability in zip(self.hypotheses, self.probabilities, strict=True):
            right = self.outcome(hypothesis, reference, touched)
            shares[right] = shares.get(right, 0.0) + probability
        clean = list(shares.values()) + [0.0] * (3 - len(shares))
        seen = [share * (1 - WRONG_ANSWER) + (1 - share) * _SINGLE_ERROR for share in clean]
        noise = _entropy_bit([1 - WRONG_ANSWER, _SINGLE_ERROR, _SINGLE_ERROR])
        return _entropy_bit(seen) - noise


def _entropy_bit(shares: Sequence[float]) -> float:
    return -sum(share * math.log2(share) for share in shares if share > 0)


def believe(
    hypotheses: Sequence[H], outcome: Callable[[H, str, str], Answer], tests: Sequence[OrderTest]
) -> Belief[H]:
    """Weigh the hypotheses, equally likely before, by the answers."""
    weights = []
    for hypothesis in hypotheses:
        weight = 0.0
        for test in tests:
            if test.answer != "unsure":
                right = outcome(hypothesis, test.reference, test.touched) == test.answer
                weight += math.log(1 - WRONG_ANSWER if right else _SINGLE_ERROR)
        weights.append(round(weight, TIE))
    top = max(weights)
    scaled = [math.exp(weight - top) for weight in weights]
    total = sum(scaled)
    return Belief(tuple(hypotheses), tuple(value / total for value in scaled), outcome)


def most_telling_test(
    belief: Belief[H], pairs: Sequence[tuple[str, str]], tests: Sequence[OrderTest]
) -> tuple[str, str]:
    """The test that tells most; a test made before counts for less (its mistake may have a lasting cause), and the
    reference stays where it is clipped when that costs nothing."""
    held = tests[-1].reference if tests else None

    def worth(pair: tuple[str, str]) -> float:
        times = sum((test.reference, test.touched) == pair for test in tests)
        swapped = sum((test.touched, test.reference) == pair for test in tests)
        clipped = 0.02 if pair[0] == held else 0.0
        return round(belief.gain_bit(*pair) * 0.8**times * 0.95**swapped + clipped, TIE)

    return max(pairs, key=worth)


def contradicted(
    tests: Sequence[OrderTest], best: H, probability: float, outcome: Callable[[H, str, str], Answer]
) -> tuple[OrderTest, ...]:
    """The answers that the best hypothesis, once it is well ahead, calls wrong."""
    if probability < _CONTRADICTED_FROM:
        return ()
    return tuple(
        test
        for test in tests
        if test.answer != "unsure" and outcome(best, test.reference, test.touched) != test.answer
    )
