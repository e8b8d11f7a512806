"""What comes out of the sorting of leads: plain data, shared by every part that shows it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

NAMED_FROM = 0.95  # confidence from which a motor counts as named
# Decimals beyond which cases and costs count as equal: processors round the last bits of a sum or a logarithm
# differently, and which of two equal questions is asked must not hang on that.
TIE = 9

AskKind = Literal["pair", "frame", "probes-together", "range"]
FaultKind = Literal["open", "shorted-turns", "broken-lead", "frame"]


@dataclass(frozen=True, slots=True)
class Coil:
    """A coil end to end. ``ohm`` has the probes' own resistance removed; None while it isn't known."""

    name: str
    ends: tuple[str, str]
    tap: str | None = None
    ohm: float | None = None
    ohm_sd: float | None = None
    alive: bool = False  # proved by a reading across it


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault found, with the leads it concerns and one plain sentence."""

    kind: FaultKind
    leads: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Ask:
    """The reading that tells most now, and why, in one line."""

    a: str
    b: str
    why: str
    kind: AskKind = "pair"


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another way to read the same readings, with its probability."""

    probability: float
    arrangement: str
    text: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """The best reading of the measurements so far.

    ``arrangement`` is one of the catalogue's names or ``unknown``; ``confidence`` its probability together with the
    lead assignment shown; ``kind_confidence`` that of the arrangement alone, where it is known. ``sure`` means:
    named with confidence of at least 0.95, every coil proved alive and every lead touched, so ``ask`` is None.
    ``doubt`` gives for each lead the probability that its place in the picture is wrong.
    ``untouched`` are placed leads that no conducting reading had a probe on: they are where they are by elimination.
    ``lead_ohm`` is the resistance between a lead and its neighbours for arrangements that list no coils.
    """

    leads: tuple[str, ...]
    arrangement: str
    confidence: float
    coils: tuple[Coil, ...] = ()
    common: str | None = None
    spare: tuple[str, ...] = ()
    cannot_tell: tuple[str, ...] = ()
    faults: tuple[Fault, ...] = ()
    repeat: tuple[tuple[str, str], ...] = ()
    ask: Ask | None = None
    sure: bool = False
    readings: int = 0
    to_go: float | None = None  # expected further readings, where the planner knows
    alternatives: tuple[Alternative, ...] = ()
    doubt: Mapping[str, float] = field(default_factory=dict)
    untouched: tuple[str, ...] = ()
    looks_like: str | None = None  # perhaps not a stepper: what it looks like
    probes_ohm: float | None = None
    probes_ohm_sd: float | None = None
    lead_ohm: float | None = None
    lead_ohm_sd: float | None = None
    kind_confidence: float | None = None
    notes: tuple[str, ...] = ()  # further plain sentences (warnings first)
