"""What goes into and comes out of the tests by hand for phase order and half pairing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple, Protocol

from coilbench.winding.engine.fitness import KnownWindings

TestKind = Literal["flick", "twitch", "induced", "added", "free", "drag", "kick"]
Answer = Literal[
    "cw", "ccw", "plus", "minus", "none", "most", "more", "less", "same", "free", "holds", "drags", "unsure"
]
Way = Literal["usual", "volts", "free", "drag", "clips"]


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


class Probe(NamedTuple):
    """A test that could be made: ``touched`` is empty where it asks which lead it is (``induced``)."""

    kind: TestKind
    reference: str
    touched: str = ""


@dataclass(frozen=True, slots=True)
class OrderTest:
    """One test by hand and what was seen; ``unsure`` may be the answer to any.

    ``twitch``: ``reference`` and ``touched`` are ends; the answer is which way the shaft twitched (``cw``, ``ccw``,
    ``none``), seen from the shaft's end. ``flick``: they are the leads the two plus probes sit on; the answer is the
    sign of the kick at the moment the cell is connected (``plus``, ``minus``, ``none``).

    ``induced``: small alternating volts on the half of ``reference``; ``touched`` is the lead of the half on which
    most was measured (``most``). The others take two halves: of five leads, from the common to each lead; of eight
    leads, one after the other, the far end of ``reference`` joined to ``touched``. ``added``: alternating volts on
    the first, measured over both (``more``, ``less``, ``same``). ``free``: current through both, the shaft turned by
    hand (``free``, ``holds``). ``drag``: both in a closed ring, without a supply (``drags``, ``free``).

    ``kick``: a ``flick`` that a board makes and sees on its clips.
    """

    kind: TestKind
    reference: str
    touched: str
    answer: Answer

    @property
    def probe(self) -> Probe:
        """The test without what was seen."""
        return Probe(self.kind, self.reference, "" if self.kind == "induced" else self.touched)

    @property
    def seen(self) -> str:
        """What was seen, among what that probe can show."""
        return self.touched if self.kind == "induced" else self.answer


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
    """The test that tells most now: what to do, step by step, and the cautions that belong to it.

    ``answers`` are what may be answered: an ``Answer``, or ``on LEAD`` where the test asks which lead it is.
    """

    kind: TestKind
    reference: str
    touched: str
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    answers: tuple[str, ...]
    why: str
    touches: Mapping[str, str]  # what is on each lead, for the drawing


@dataclass(frozen=True, slots=True)
class OrderVerdict:
    """What the tests so far tell.

    ``sequence`` is the switching sequence (one end after another; wave drive) that turns the shaft clockwise seen
    from its end, ``reverse`` the other way; both empty until their order is known. While ``direction_known`` is
    false the two may be swapped; ``done`` is true then where the chosen way can't tell it. ``phase_halves`` names,
    for eight leads, each phase's two halves written start to finish in one sense; ``series_joins`` and
    ``parallel_joins`` are the leads to join for each connection.
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
