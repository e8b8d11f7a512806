"""Motors whose winding the engine doesn't see, and a meter to measure them with."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from coilbench.winding.engine.catalogue import CATALOGUE, Arrangement
from coilbench.winding.engine.network import resistance_matrix
from coilbench.winding.engine.sorting import judge
from coilbench.winding.engine.verdict import Verdict
from coilbench.winding.readings.reading import FRAME, PROBES, Reading

Judge = Callable[[Sequence[str], Sequence[Reading]], Verdict]

COLOURS = ("RD", "BU", "WH", "BK", "GN", "YE", "BN", "OG", "VT", "GY", "PK", "TQ")


@dataclass
class HiddenMotor:
    """A motor under a random assignment of leads, read through a meter with its own errors.

    ``noisy``: gain error up to 1 %, probes of 0.05 to 0.3 ohm, 0.1 ohm display, coils alike within 0.5 %.
    ``dead`` leaves one coil or half out, ``tap_lost`` breaks a tap's lead off; ``slip_at`` makes that lead-to-lead
    reading a gross slip.
    """

    rng: random.Random
    arrangement: str | Arrangement
    leads: int = 0
    noisy: bool = True
    dead: bool = False
    tap_lost: bool = False
    slip_at: int | None = None
    leaks: bool = False
    order: list[int] | None = None
    ohm: float | None = None
    taken: int = 0
    slipped: frozenset[str] | None = None
    names: tuple[str, ...] = field(init=False)
    kind: Arrangement = field(init=False)

    def __post_init__(self) -> None:
        kind = self.kind = CATALOGUE[self.arrangement] if isinstance(self.arrangement, str) else self.arrangement
        self.leads = self.leads or kind.terminals
        self.names = COLOURS[: self.leads]
        rng = self.rng
        self.coil_ohm = self.ohm or math.exp(rng.uniform(math.log(0.6), math.log(200)))
        gap = self.leads - kind.terminals
        edges = [
            (
                u,
                v if v < kind.terminals else v + gap,
                self.coil_ohm * (rng.gauss(1, 0.005) if self.noisy else 1.0),
            )
            for u, v, _ in kind.edges
        ]
        if self.dead:
            del edges[rng.randrange(len(edges))]
        nodes = kind.nodes + gap
        lost = rng.choice([tap for _, _, tap in kind.coils if tap is not None]) if self.tap_lost else None
        if lost is not None:
            edges = [(nodes if u == lost else u, nodes if v == lost else v, ohm) for u, v, ohm in edges]
        self.matrix = resistance_matrix(nodes + self.tap_lost, edges, self.leads)
        order = self.order if self.order is not None else rng.sample(range(self.leads), self.leads)
        self.terminal = dict(zip(self.names, order, strict=True))
        self.lost = next((name for name, terminal in self.terminal.items() if terminal == lost), None)
        self.gain = 1 + (rng.uniform(-0.01, 0.01) if self.noisy else 0.0)
        self.probes = rng.uniform(0.05, 0.3) if self.noisy else 0.0

    def read(self, a: str, b: str) -> float:
        if a == b == PROBES:
            return round(self.probes, 1)
        if FRAME in (a, b):
            return 5000.0 if self.leaks else math.inf
        true = float(self.matrix[self.terminal[a], self.terminal[b]])
        shown = true if not math.isfinite(true) or not self.noisy else round(true * self.gain + self.probes, 1)
        self.taken += 1
        if self.slip_at is not None and self.taken - 1 == self.slip_at:
            self.slipped = frozenset((a, b))
            return slipped(self.rng, shown)
        return shown

    def is_named_by(self, verdict: Verdict) -> bool:
        """Whether the verdict has the arrangement, every coil with its tap, the common and the spares right."""
        kind = self.kind
        lead = {terminal: name for name, terminal in self.terminal.items()}
        wanted = {(frozenset((lead[u], lead[v])), None if t is None else lead[t]) for u, v, t in kind.coils}
        return (
            verdict.arrangement == kind.name
            and {(frozenset(coil.ends), coil.tap) for coil in verdict.coils} == wanted
            and verdict.common == (None if kind.common is None else lead[kind.common])
            and set(verdict.spare) == {lead[k] for k in range(kind.terminals, self.leads)}
            and not verdict.faults
        )


def slipped(rng: random.Random, shown: float) -> float:
    """A gross slip: decimal point, swapped digits, open for a value or back, bad contact."""
    if shown == math.inf:
        return round(math.exp(rng.uniform(math.log(0.5), math.log(400))), 1)
    kind = rng.randrange(4)
    if kind == 0:
        return round(shown * rng.choice((10, 0.1)), 1)
    if kind == 1:
        digits = list(f"{shown:.1f}")
        at = [k for k, digit in enumerate(digits) if digit != "."]
        swaps = [(i, j) for i, j in pairwise(at) if digits[i] != digits[j]]
        if swaps:
            i, j = rng.choice(swaps)
            digits[i], digits[j] = digits[j], digits[i]
            return float("".join(digits))
    if kind == 2:
        return math.inf
    return round(1.5 * shown + rng.uniform(1, 30), 1)


@dataclass(frozen=True)
class Course:
    """How a motor was sorted: the last verdict, lead-to-lead readings taken, pairs ever named as doubtful."""

    verdict: Verdict
    lead_readings: int
    doubted: frozenset[frozenset[str]]
    readings: tuple[Reading, ...]


def sort_out(motor: HiddenMotor, most: int = 60, judge: Judge = judge) -> Course:
    """Answer every question until none is left."""
    readings: list[Reading] = []
    doubted: set[frozenset[str]] = set()
    while True:
        verdict = judge(motor.names, readings)
        doubted |= {frozenset(pair) for pair in verdict.repeat}
        if verdict.ask is None or len(readings) >= most:
            between = sum(not {r.a, r.b} & {FRAME, PROBES} for r in readings)
            return Course(verdict, between, frozenset(doubted), tuple(readings))
        readings.append(Reading(verdict.ask.a, verdict.ask.b, motor.read(verdict.ask.a, verdict.ask.b)))
