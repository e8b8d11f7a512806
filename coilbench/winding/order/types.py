"""What goes into and comes out of the tests by hand for phase order and half pairing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

from coilbench.winding.engine.fitness import KnownWindings

TestKind = Literal["flick", "twitch"]
Answer = Literal["cw", "ccw", "plus", "minus", "none", "unsure"]


class SortedCoil(Protocol):
    """A coil from end to end, and the lead at its middle, if it has one."""

    @property
    def ends(self) -> tuple[str, str]: ...

    @property
    def tap(self) -> str | None: ...


class Sorted(KnownWindings, Protocol):
    """Windings with their coils."""

    @property
    def coils(self) -> Sequence[SortedCoil]: ...

    @property
    def common(self) -> str | None: ...


@dataclass(frozen=True, slots=True)
class OrderTest:
    """One test by hand and what was seen.

    ``twitch``: ``reference`` and ``touched`` are ends; the answer is which way the shaft twitched (``cw``, ``ccw``,
    ``none``, ``unsure``), seen from the shaft's end. ``flick``: they are the leads the two plus probes sit on; the
    answer is the sign of the kick at the moment the cell is connected (``plus``, ``minus``, ``none``, ``unsure``).
    """

    kind: TestKind
    reference: str
    touched: str
    answer: Answer


@dataclass(frozen=True, slots=True)
class OrderQuestion:
    """What is asked of one motor: its ends, what they are supplied from, and what is known beforehand.

    ``ends`` are the leads that are energised one at a time and ``supply`` the lead on the other side of each.
    ``phases`` are the ends that share a phase where resistance told it (six leads). ``halves`` are the four
    separate half-windings of an eight-lead motor; then ``ends``, ``supply`` and ``phases`` are empty until paired.
    """

    ends: tuple[str, ...] = ()
    supply: tuple[str, ...] = ()
    phases: tuple[tuple[str, str], ...] = ()
    halves: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class NextTest:
    """The test that tells most now: what to do, step by step, and the cautions that belong to it."""

    kind: TestKind
    reference: str
    touched: str
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    answers: tuple[Answer, ...]
    why: str


@dataclass(frozen=True, slots=True)
class OrderVerdict:
    """What the tests so far tell.

    ``sequence`` is the switching sequence (one end after another; wave drive) that turns the shaft clockwise seen
    from its end, ``reverse`` the other way; both empty until their order is known. While ``direction_known`` is
    false the two may be swapped. ``phase_halves`` names, for eight leads, each phase's two halves written start to
    finish in one sense; ``series_joins`` and ``parallel_joins`` are the leads to join for each connection.
    """

    ends: tuple[str, ...]
    sequence: tuple[str, ...]
    reverse: tuple[str, ...]
    phases: tuple[tuple[str, str], ...]
    confidence: float
    next: NextTest | None
    done: bool
    tests: int
    direction_known: bool = False
    halves_known: bool = False
    phase_halves: tuple[tuple[str, tuple[tuple[str, str], tuple[str, str]]], ...] = ()
    series_joins: tuple[tuple[str, str], ...] = ()
    parallel_joins: tuple[tuple[str, str], ...] = ()
    repeat: tuple[OrderTest, ...] = ()  # answers the rest contradicts
