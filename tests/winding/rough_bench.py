"""A rough bench: salvaged motors, cheap meter, tired hand; and how a judge does there.

    python -m tests.winding.rough_bench [--each 50] [--seed 1] [ARRANGEMENT[/LEADS] ...]

prints one line an arrangement. Nothing of the judge's own model is used, only the catalogue's networks.
"""

from __future__ import annotations

import argparse
import math
import random
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

from coilbench.winding.engine.catalogue import CATALOGUE
from coilbench.winding.engine.network import resistance_matrix
from coilbench.winding.engine.sorting import judge
from coilbench.winding.engine.verdict import NAMED_FROM, Verdict
from coilbench.winding.readings.reading import FRAME, PROBES, Reading

SLIPS = (
    "wrong lead",
    "OL for a value",
    "value for OL",
    "decimal point",
    "digits swapped",
    "tips touch",
    "last again",
)
ALL = (
    *("single-coil-2", "tapped-coil-3", "three-phase-3", "bipolar-4", "three-phase-star-4", "unipolar-5"),
    *("five-phase-ring-5", "five-phase-star-5", "unipolar-6", "three-phase-6", "split-8"),
    *("bipolar-4/5", "bipolar-4/6", "split-8/9", "five-phase-10", "unipolar-6+unipolar-6"),
)
MOST_READINGS = 90
COLOURS = ("RD", "BU", "WH", "BK", "GN", "YE", "BN", "OG", "VT", "GY", "PK", "TQ")


@dataclass
class RoughMotor:
    """``what`` is an arrangement, ``NAME/LEADS`` with spares, or two with a plus between in one loom.

    One coil has 0.3 to 300 ohm, the coils are up to ``apart`` apart; readings drift by up to 5 %, the meter's gain
    is off by up to 2 %, leads of up to 0.5 ohm, one contact in ten adds 0.2 ohm, 1999 counts. ``slip`` is the kind of
    slip that happens once, as soon after ``slip_at`` readings as it makes a difference. ``shorted`` is what is left
    of one coil; ``dead`` leaves one out.
    """

    rng: random.Random
    what: str
    slip: str | None = None
    slip_at: int = 0
    apart: float = 0.08
    shorted: float | None = None
    dead: bool = False
    ohm: float | None = None
    least_ohm: float = 0.3
    taken: int = 0
    slipped: tuple[str, str] | None = None
    readings: list[Reading] = field(default_factory=list)

    def __post_init__(self) -> None:
        rng = self.rng
        base, _, count = self.what.partition("/")
        kinds = [CATALOGUE[name] for name in base.split("+")]
        self.kinds = kinds
        terminals = sum(kind.terminals for kind in kinds)
        self.leads = int(count) if count else terminals
        coil_ohm = self.ohm or math.exp(rng.uniform(math.log(self.least_ohm), math.log(300)))
        edges: list[tuple[int, int, float]] = []
        first, inner = 0, self.leads
        self.coils: list[tuple[int, int, int | None]] = []
        self.commons: list[int] = []
        for kind in kinds:
            hidden = kind.nodes - kind.terminals
            number = [*range(first, first + kind.terminals), *range(inner, inner + hidden)]
            unit = coil_ohm if len(kinds) == 1 else coil_ohm * rng.uniform(0.5, 1.0)
            for u, v, _ in kind.edges:
                edges.append((number[u], number[v], unit * (1 + rng.uniform(-0.5, 0.5) * self.apart)))
            self.commons += [] if kind.common is None else [number[kind.common]]
            self.coils += [(number[u], number[v], None if t is None else number[t]) for u, v, t in kind.coils]
            first, inner = first + kind.terminals, inner + hidden
        self.bad = rng.randrange(len(edges))
        if self.shorted is not None:
            u, v, ohm = edges[self.bad]
            edges[self.bad] = (u, v, ohm * self.shorted)
        self.bad_ends = edges[self.bad][:2]
        if self.dead:
            del edges[self.bad]
        self.edges = edges
        self.matrix = resistance_matrix(inner, edges, self.leads)
        self.names = COLOURS[: self.leads]
        order = rng.sample(range(self.leads), self.leads)
        self.terminal = dict(zip(self.names, order, strict=True))
        self.lead = {terminal: name for name, terminal in self.terminal.items()}
        self.gain = 1 + rng.uniform(-0.02, 0.02)
        self.drift = rng.uniform(-0.05, 0.05)
        self.probes = rng.uniform(0.05, 0.5)

    def shown(self, true: float) -> float:
        """What the display says of so many ohms at the tips."""
        ohm = true * self.gain * (1 + self.drift * min(self.taken / 15, 1.0)) + self.probes
        if not math.isfinite(ohm):
            return math.inf
        if self.rng.random() < 0.1:
            ohm += 0.2
        step = 0.1
        while ohm > 1999 * step:
            step *= 10
        return round(round(ohm / step) * step, 1)

    def between(self, a: str, b: str) -> float:
        return float(self.matrix[self.terminal[a], self.terminal[b]])

    def read(self, a: str, b: str) -> float:
        if a == b == PROBES:
            return self.shown(0.0)
        if FRAME in (a, b):
            return math.inf
        shown = self.shown(self.between(a, b))
        if self.slip and self.slipped is None and self.taken >= self.slip_at:
            said = self._slip(a, b, shown)
            if said is not None and said != shown:
                self.slipped = (a, b)
                shown = said
        self.taken += 1
        return shown

    def _slip(self, a: str, b: str, shown: float) -> float | None:
        rng, finite = self.rng, math.isfinite(shown)
        others = [name for name in self.names if name not in (a, b)]
        if self.slip == "wrong lead" and others:
            keep = rng.choice((a, b))
            return self.shown(self.between(keep, rng.choice(others)))
        if self.slip == "OL for a value":
            return math.inf
        if self.slip == "value for OL" and not finite:
            pairs = [(p, q) for p in self.names for q in self.names if p < q and math.isfinite(self.between(p, q))]
            return self.shown(self.between(*rng.choice(pairs)))
        if self.slip == "decimal point" and finite:
            return round(shown * rng.choice((10, 0.1)), 2)
        if self.slip == "digits swapped" and finite:
            digits = list(f"{shown:.1f}" if shown < 200 else f"{shown:.0f}")
            at = [k for k, digit in enumerate(digits) if digit != "."]
            swaps = [(i, j) for i, j in pairwise(at) if digits[i] != digits[j]]
            if swaps:
                i, j = rng.choice(swaps)
                digits[i], digits[j] = digits[j], digits[i]
                return float("".join(digits))
        if self.slip == "tips touch":
            return self.shown(0.0)
        if self.slip == "last again" and self.readings:
            return self.readings[-1].ohm
        return None

    def is_named_by(self, verdict: Verdict) -> bool:
        """Arrangement, coils with taps, common and spares; nothing is wrong with a sound motor."""
        wanted = {
            (frozenset((self.lead[u], self.lead[v])), None if t is None else self.lead[t]) for u, v, t in self.coils
        }
        kind = self.kinds[0]
        loom = len(self.kinds) > 1
        named = verdict.arrangement == ("unknown" if loom else kind.name)
        commons = [self.lead[lead] for lead in self.commons]
        common = commons[0] if len(commons) == 1 else None
        spare = {self.lead[k] for k in range(sum(one.terminals for one in self.kinds), self.leads)}
        return (
            named
            and {(frozenset(coil.ends), coil.tap) for coil in verdict.coils} == wanted
            and verdict.common == common
            and set(verdict.spare) == spare
            and not verdict.faults
        )

    def figures_hold(self, verdict: Verdict) -> bool:
        """Every coil's ohms within three deviations; drift and gain are the meter's."""
        for coil in verdict.coils:
            ends = {self.terminal[lead] for lead in coil.ends}
            true = next((ohm for u, v, ohm in self.edges if {u, v} == ends), self.between(*coil.ends))
            if coil.ohm is None or coil.ohm_sd is None:
                continue
            if abs(coil.ohm - true) > 3 * coil.ohm_sd + 0.07 * true + 0.1:
                return False
        return True


def sort_out(motor: RoughMotor) -> Verdict:
    """Answer every question until none is left."""
    while True:
        verdict = judge(motor.names, motor.readings)
        if verdict.ask is None or len(motor.readings) >= MOST_READINGS:
            return verdict
        motor.readings.append(Reading(verdict.ask.a, verdict.ask.b, motor.read(verdict.ask.a, verdict.ask.b)))


@dataclass
class Tally:
    """What came of motors: wrong and sure, unsure, right but with wrong ohms; lead-to-lead readings of each."""

    motors: int = 0
    wrong: int = 0
    unsure: int = 0
    figures: int = 0
    stuck: int = 0
    readings: list[int] = field(default_factory=list)
    why: Counter[str] = field(default_factory=Counter)

    def add(self, motor: RoughMotor, verdict: Verdict) -> None:
        self.motors += 1
        self.readings.append(sum(not {r.a, r.b} & {FRAME, PROBES} for r in motor.readings))
        kind = motor.slip if motor.slipped else "no slip"
        loom = len(motor.kinds) > 1
        if len(motor.readings) >= MOST_READINGS:
            self.stuck += 1
        if verdict.confidence < NAMED_FROM or (verdict.arrangement == "unknown" and not loom):
            self.unsure += 1
            self.why[f"unsure: {kind}"] += 1
        elif not motor.is_named_by(verdict):
            self.wrong += 1
            self.why[f"WRONG: {kind}"] += 1
        elif not motor.figures_hold(verdict):
            self.figures += 1
            self.why[f"ohms: {kind}"] += 1

    def line(self) -> str:
        share = 100 / max(self.motors, 1)
        mean = sum(self.readings) / max(len(self.readings), 1)
        why = ", ".join(f"{text} {count}" for text, count in self.why.most_common())
        return (
            f"wrong {self.wrong * share:5.1f}  unsure {self.unsure * share:5.1f}  ohms {self.figures * share:5.1f}  "
            f"readings {mean:5.2f} (most {max(self.readings, default=0)})  {why}"
        )


def tallied(what: str, kinds: Iterable[str | None], seed: int, **given: float) -> Tally:
    """The tally over motors of one arrangement, one for each kind of slip given (None: no slip)."""
    rng = random.Random(f"{what} {seed}")
    tally = Tally()
    for kind in kinds:
        own = random.Random(rng.random())
        at = own.randrange(1 + math.ceil(1.3 * float(what[-1] if what[-1] != "0" else 9)))
        motor = RoughMotor(own, what, kind, at, **given)  # type: ignore[arg-type]
        tally.add(motor, sort_out(motor))
    return tally


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--each", type=int, default=7)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--least", type=float, default=0.3)
    parser.add_argument("--clean", type=int, default=20, help="motors without slip")
    parser.add_argument("--shorted", type=float)
    parser.add_argument("what", nargs="*", default=ALL)
    args = parser.parse_args()
    given = {"least_ohm": args.least} | ({"shorted": args.shorted} if args.shorted else {})
    for what in args.what:
        if args.clean:
            print(f"{what:22} none  {tallied(what, [None] * args.clean, args.seed, **given).line()}", flush=True)
        if args.each:
            print(f"{what:22} one   {tallied(what, SLIPS * args.each, args.seed, **given).line()}", flush=True)


if __name__ == "__main__":
    main()
