"""What is asked of a board and what it answers, as records with units."""

from __future__ import annotations

from dataclasses import dataclass

from coilbench.board.link.faults import OffLimits
from coilbench.board.link.frames import Value
from coilbench.board.link.messages import sketch_version


@dataclass(frozen=True)
class Identity:
    """Who the board said it is."""

    protocol: int
    sketch: int
    chip: str
    can: frozenset[str]

    @property
    def sketch_version(self) -> str:
        """The sketch's version as people write it."""
        return sketch_version(self.sketch)


@dataclass(frozen=True)
class AnalogueReading:
    """The mean at an analogue input: as a share of the reference, and in volt by the reference's nominal value.

    ``supply_volt`` is the board's own supply as last measured, to about 10 %.
    """

    share: float
    volt: float
    supply_volt: float


@dataclass(frozen=True)
class Bandgap:
    """What the board takes its reference for; ``kept`` in it by what a meter told."""

    volt: float
    kept: bool


@dataclass(frozen=True)
class RateLimits:
    """What the board can do; rates in steps/s, ``gain_sps2`` in steps/s2."""

    lowest_sps: int
    highest_sps: int
    gain_sps2: int
    steps: int

    def check(self, name: str, value: float, low: float, high: float, unit: str) -> int:
        """``value`` rounded. Raises OffLimits when it lies outside ``low`` to ``high``."""
        whole = round(value)
        if not low <= whole <= high:
            raise OffLimits(f"{name} of {value:g} {unit} is more than the board does: {low:g} to {high:g} {unit}")
        return whole

    def rate(self, name: str, value: float) -> int:
        """``value`` as a rate the board can run at, steps/s. Raises OffLimits."""
        return self.check(name, value, self.lowest_sps, self.highest_sps, "steps/s")


@dataclass(frozen=True)
class MoveOrder:
    """A move: signed steps, rates in steps/s, acceleration in steps/s2."""

    steps: int
    start_sps: float
    run_sps: float
    gain_sps2: float

    def fields(self, limits: RateLimits) -> dict[str, Value]:
        """As fields of a frame. Raises OffLimits."""
        return {
            "steps": limits.check("a move", self.steps, -limits.steps, limits.steps, "steps"),
            "start": limits.rate("a start rate", self.start_sps),
            "run": limits.rate("a run rate", self.run_sps),
            "gain": limits.check("an acceleration", self.gain_sps2, 1, limits.gain_sps2, "steps/s2"),
        }


@dataclass(frozen=True)
class TripOrder(MoveOrder):
    """A move, a rest of ``rest_s``, and the same way back at no more than ``back_sps``."""

    rest_s: float = 0.3
    back_sps: float = 100

    def fields(self, limits: RateLimits) -> dict[str, Value]:
        """As fields of a frame. Raises OffLimits."""
        return {
            **super().fields(limits),
            "rest": limits.check("a rest", self.rest_s * 1000, 0, 60_000, "ms"),
            "back": limits.rate("a rate back", self.back_sps),
        }


@dataclass(frozen=True)
class MotionEnd:
    """How a motion ended: ``why`` is end, eased, stopped, beat, duty, reset, fault, or lost (no event came)."""

    why: str
    position: int
    left: int

    @property
    def complete(self) -> bool:
        """All steps were made."""
        return self.why == "end"


@dataclass(frozen=True)
class BoardState:
    """What a beat brings back."""

    state: str
    position: int
    rate_sps: int
    outputs_on: bool


@dataclass(frozen=True)
class IndexState:
    """What the index sensor has seen: level now, edges, position at the last falling and rising one."""

    level: int
    edges: int
    fall: int
    rise: int
