"""How each connection is wired, by the names of the leads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import get_args

from coilbench.rating.connections import Connection

PAIRING_TEST = (
    "which halves share a phase, and their sense, is not known yet; the test that tells: meter on its lowest DC "
    "volts range across one half, touch a 1.5 V cell for a moment to another. Only the half of the same phase kicks "
    "the meter well; a plus kick as the cell makes contact means plus of cell and plus of meter sit on like ends. "
    "Take nothing stronger than one cell, and keep fingers off the bare ends as it lets go: it can nip"
)
SEQUENCE_TEST = (
    "which ends share a phase is not known yet: sort the order first (supply the common, touch the ends in turn and "
    "watch which way the shaft nudges); a wrong order only rocks the shaft"
)
UNUSED = "insulate"
CONNECTIONS: tuple[Connection, ...] = get_args(Connection)


@dataclass(frozen=True, slots=True)
class Half:
    """A half-winding from start to finish, in the same sense as its partner."""

    start: str
    finish: str


@dataclass(frozen=True, slots=True)
class Phase:
    """A phase's two halves; with six leads the first's finish and the second's start are the same lead, the tap."""

    name: str
    first: Half
    second: Half | None = None

    @property
    def tapped(self) -> bool:
        return self.second is not None and self.first.finish == self.second.start


@dataclass(frozen=True, slots=True)
class Wire:
    """Where leads go: a driver terminal (``A+``), ``join`` (to each other), ``supply`` or ``insulate``."""

    where: str
    leads: tuple[str, ...]

    def __str__(self) -> str:
        if self.where == UNUSED:
            apart = ", each on its own" if len(self.leads) > 1 else ""
            return f"{' and '.join(self.leads)}: insulate{apart}"
        return f"{self.where}: {' + '.join(self.leads)}"


def deciding_test(leads: int) -> str | None:
    """The test still to be done before leads can be named, for a motor with so many; None when resistance tells."""
    return {8: PAIRING_TEST, 5: SEQUENCE_TEST}.get(leads)


Ends = tuple[str, str]


def plain_phases(coils: Sequence[Ends]) -> tuple[Phase, ...]:
    """The phases of two whole coils; empty for another number of them."""
    if len(coils) != 2:
        return ()
    return tuple(Phase(name, Half(*ends)) for name, ends in zip("AB", coils, strict=True))


def tapped_phases(coils: Sequence[tuple[Ends, str | None]]) -> tuple[Phase, ...]:
    """The phases of two tapped coils; of one with an open half or a lost tap what there is between its two leads."""
    if len(coils) != 2:
        return ()
    return tuple(
        Phase(name, Half(first, tap), Half(tap, last)) if tap else Phase(name, Half(first, last))
        for name, ((first, last), tap) in zip("AB", coils, strict=True)
    )


def paired_phases(halves: Mapping[str, tuple[Ends, Ends]]) -> tuple[Phase, ...]:
    """The phases of four halves, paired and in one sense; empty while they aren't known."""
    if len(halves) != 2:
        return ()
    return tuple(Phase(name, Half(*first), Half(*second)) for name, (first, second) in halves.items())


def phases_around(common: str, sequence: Sequence[str]) -> tuple[Phase, ...]:
    """The phases of four coils on one common lead, by the switching sequence of their ends; empty without it."""
    if not common or len(sequence) != 4:
        return ()
    # In a switching sequence the ends of one phase stand two steps apart.
    a, b, a_other, b_other = sequence
    return (
        Phase("A", Half(a, common), Half(common, a_other)),
        Phase("B", Half(b, common), Half(common, b_other)),
    )


def wires(connection: Connection, phases: Sequence[Phase], idle: Sequence[str] = ()) -> tuple[Wire, ...]:
    """Every lead of the motor and where it goes, for one connection; ``idle`` are those that no coil needs."""
    laid: list[Wire] = []
    for phase in phases:
        laid += _phase_wires(connection, phase)
    if connection == "unipolar" and laid:
        commons = dict.fromkeys(lead for wire in laid if wire.where == "supply" for lead in wire.leads)
        laid = [Wire("supply +", tuple(commons)), *(wire for wire in laid if wire.where != "supply")]
    if idle and laid:
        laid.append(Wire(UNUSED, tuple(idle)))
    return tuple(laid)


def _phase_wires(connection: Connection, phase: Phase) -> list[Wire]:
    plus, minus = f"{phase.name}+", f"{phase.name}-"
    first, second = phase.first, phase.second
    if second is None or connection == "bipolar":
        return [Wire(plus, (first.start,)), Wire(minus, (first.finish,))]
    if connection == "half-coil":
        idle = (second.finish,) if phase.tapped else (second.start, second.finish)
        return [Wire(plus, (first.start,)), Wire(minus, (first.finish,)), Wire(UNUSED, idle)]
    if connection == "series":
        middle = Wire(UNUSED, (first.finish,)) if phase.tapped else Wire("join", (first.finish, second.start))
        return [Wire(plus, (first.start,)), Wire(minus, (second.finish,)), middle]
    if connection == "parallel":
        return [Wire(plus, (first.start, second.start)), Wire(minus, (first.finish, second.finish))]
    common = (first.finish,) if phase.tapped else (first.finish, second.start)
    return [Wire(f"{phase.name}1", (first.start,)), Wire(f"{phase.name}2", (second.finish,)), Wire("supply", common)]
