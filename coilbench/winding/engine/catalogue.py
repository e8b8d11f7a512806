"""The catalogue of windings: one record an arrangement holds all that is known of it.

An arrangement is a network of like resistors. Terminals are numbered from 0 and come before any inner node. One unit
of resistance is one coil, or one half-winding where a coil has a tap. To add an arrangement, add its record to
``CATALOGUE``; everything else asks the record. Nothing heavy is imported here, so that a screen may ask it too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Literal, TypedDict

if TYPE_CHECKING:
    from coilbench.winding.engine.network import Edge

# Where the two phases of a stepper motor come from: its plain coils; its tapped coils; four coils on one common lead
# and their order; four half-windings and their pairing.
TwoPhase = Literal["plain", "tapped", "common", "halves"]

# What may fail besides a coil or half that is open or has shorted turns, and the lead of a tap or common: two of
# several separate coils; both halves of a tapped coil, at the joint they share.
ExtraFault = Literal["two-coils-dead", "tapped-coil-dead"]

Coil = tuple[int, int, int | None]  # end, end, tap or None, by terminal number
Piece = tuple[int, tuple[tuple[int, int, float], ...]]  # terminals and edges of one joined set, numbered from 0

DIRECTION = "which way the shaft turns"
OWNER = "what the coil belongs to"
_THREE_PHASE = "It needs a three-phase driver, which is not set here. Direction: swap any two of its phases."
_FIVE_PHASE = "It needs a five-phase driver, which is not set here."
_ONE_COIL = "Set it aside: one coil alone makes no stepper."


@dataclass(frozen=True, eq=False)
class Arrangement:
    """A healthy winding.

    ``shares`` says how common it is among motors with so many leads (the leads left over are spares), as weights:
    they are scaled to one with those of the others. ``title`` and ``motor`` name it, the second as the motor it
    makes; ``untold`` is what resistance never tells of it; ``inside`` what is inside where no coil can be told apart;
    ``whose_ohms`` is said where a coil's ohms are not what a meter reads; ``resembles`` what else it may well be;
    ``driver`` what is said instead of the next stage where it has none.
    """

    name: str
    terminals: int
    edges: tuple[Edge, ...]
    coils: tuple[Coil, ...] = ()
    common: int | None = None
    shares: Mapping[int, float] = field(default_factory=dict)
    title: str = ""
    motor: str = ""
    untold: tuple[str, ...] = (DIRECTION,)
    inside: str | None = None
    whose_ohms: str = ""
    resembles: str | None = None
    driver: str = "It needs a driver made for its kind, which is not set here."
    two_phase: TwoPhase | None = None
    extra_faults: tuple[ExtraFault, ...] = ()

    @cached_property
    def nodes(self) -> int:
        """Terminals and inner nodes together."""
        return max((max(u, v) + 1 for u, v, _ in self.edges), default=self.terminals)

    @property
    def drivable(self) -> bool:
        """Whether it can be driven as a two-phase motor."""
        return self.two_phase is not None

    @property
    def ordered(self) -> bool:
        """Whether its leads have an order that only the shaft, or a kick of the meter, can tell."""
        return self.two_phase in ("tapped", "common", "halves")

    @property
    def phases_need_order(self) -> bool:
        """Whether which leads share a phase is known only with the order."""
        return self.two_phase in ("common", "halves")

    @property
    def halves_pair(self) -> bool:
        """Whether its halves must be paired to phases."""
        return self.two_phase == "halves"

    @property
    def tapped(self) -> bool:
        """Whether it has a coil with a tap."""
        return any(tap is not None for _, _, tap in self.coils)

    @property
    def sizes(self) -> tuple[int, ...]:
        """How many leads each joined set has, the smallest first."""
        return tuple(sorted(terminals for terminals, _ in self.pieces))

    def in_tapped_coil(self, terminals: tuple[int, ...]) -> bool:
        """Whether all these terminals belong to one coil with a tap."""
        return any(coil[2] is not None and set(terminals) <= set(coil) for coil in self.coils)

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        """The joined sets, each as a network of its own, the largest first."""
        label = list(range(self.nodes))
        for u, v, _ in self.edges:
            label = [label[u] if mark == label[v] else mark for mark in label]
        found = []
        for mark in dict.fromkeys(label):
            nodes = [node for node in range(self.nodes) if label[node] == mark]
            edges = tuple((nodes.index(u), nodes.index(v), ohm) for u, v, ohm in self.edges if u in nodes)
            found.append((sum(node < self.terminals for node in nodes), edges))
        return tuple(sorted(found, reverse=True))


UNLISTED = Arrangement(
    "unknown",
    0,
    (),
    title="nothing the catalogue knows",
    motor="none of the windings known here",
    untold=("what this is",),
)
"""What stands for a winding that is none of the catalogue's."""

UNKNOWN = UNLISTED.name


@dataclass(frozen=True, eq=False)
class Catalogue:
    """The arrangements that readings are compared with. Of two equally common ones the first counts as first."""

    arrangements: tuple[Arrangement, ...]

    def __iter__(self) -> Iterator[Arrangement]:
        return iter(self.arrangements)

    def __getitem__(self, name: str) -> Arrangement:
        """The record of this name; raises KeyError."""
        return self._by_name[name]

    @cached_property
    def _by_name(self) -> dict[str, Arrangement]:
        return {arrangement.name: arrangement for arrangement in self.arrangements}

    def find(self, name: str | None) -> Arrangement:
        """The record of a name that was saved or judged; that of unlisted windings for any other."""
        return self._by_name.get(name or "", UNLISTED)

    def prior(self, leads: int) -> dict[Arrangement, float]:
        """How likely each arrangement is among motors with so many leads, the likeliest first.

        They add up to one. Where no record has a share for so many leads, those with most leads that fit are taken
        as equally likely; empty when none fits.
        """
        shares = {arrangement: arrangement.shares.get(leads, 0.0) for arrangement in self.arrangements}
        if not any(shares.values()):
            fitting = [arrangement for arrangement in self.arrangements if arrangement.terminals <= leads]
            most = max((arrangement.terminals for arrangement in fitting), default=0)
            shares = {arrangement: float(arrangement.terminals == most) for arrangement in fitting}
        total = sum(shares.values())
        ranked = sorted(shares.items(), key=lambda item: -item[1])
        return {arrangement: share / total for arrangement, share in ranked if share > 0}

    def made_of(self, pieces: tuple[Piece, ...]) -> Arrangement:
        """The arrangement of several joined sets that consists of these; that of unlisted windings if none does."""
        wanted = tuple(sorted(pieces, reverse=True))
        return next((one for one in self.arrangements if len(wanted) > 1 and one.pieces == wanted), UNLISTED)


class _Wiring(TypedDict, total=False):
    terminals: int
    edges: tuple[Edge, ...]
    coils: tuple[Coil, ...]
    common: int | None


def _untapped(terminals: int, ends: list[tuple[int, int]], common: int | None = None) -> _Wiring:
    return _Wiring(
        terminals=terminals,
        edges=tuple((u, v, 1.0) for u, v in ends),
        coils=tuple((u, v, None) for u, v in ends),
        common=common,
    )


def _separate(coils: int) -> _Wiring:
    return _untapped(2 * coils, [(2 * k, 2 * k + 1) for k in range(coils)])


def _tapped(coils: int) -> _Wiring:
    starts = range(0, 3 * coils, 3)
    return _Wiring(
        terminals=3 * coils,
        edges=tuple(edge for k in starts for edge in ((k, k + 1, 1.0), (k + 1, k + 2, 1.0))),
        coils=tuple((k, k + 2, k + 1) for k in starts),
    )


def _star(arms: int) -> _Wiring:
    """Arms from a common lead, terminal 0."""
    return _untapped(arms + 1, [(0, k) for k in range(1, arms + 1)], common=0)


def _hidden_star(arms: int) -> _Wiring:
    return _Wiring(terminals=arms, edges=tuple((k, arms, 1.0) for k in range(arms)))


def _ring(sides: int) -> _Wiring:
    return _untapped(sides, [(k, (k + 1) % sides) for k in range(sides)])


# The shares are common practice of people who take motors from scrapped machines; those that nobody has counted are
# small round guesses.
CATALOGUE = Catalogue(
    (
        Arrangement(
            "split-8",
            **_separate(4),
            shares={8: 0.95},
            title="four separate halves",
            motor="a motor of four separate half-windings",
            untold=(
                "which halves share a phase, and in which sense",
                "whether these are the four halves of one motor or two four-lead motors in one loom",
                DIRECTION,
            ),
            two_phase="halves",
            extra_faults=("two-coils-dead",),
        ),
        Arrangement(
            "unipolar-6",
            **_tapped(2),
            shares={6: 0.89, 7: 0.60, 8: 0.032},
            title="two tapped coils",
            motor="a unipolar motor: two coils with centre taps",
            two_phase="tapped",
            extra_faults=("tapped-coil-dead",),
        ),
        Arrangement(
            "three-phase-6",
            **_separate(3),
            shares={6: 0.05, 7: 0.05, 8: 0.004},
            title="three separate coils",
            motor="three separate coils",
            untold=("the sense of each coil and the order of the phases", DIRECTION),
            driver=_THREE_PHASE,
            extra_faults=("two-coils-dead",),
        ),
        Arrangement(
            "unipolar-5",
            **_star(4),
            shares={5: 0.79, 6: 0.007, 7: 0.15, 8: 0.0095},
            title="two tapped coils, taps joined",
            motor="a unipolar motor with one common lead",
            untold=("the phase order: which ends belong to one phase", DIRECTION),
            two_phase="common",
        ),
        Arrangement(
            "five-phase-ring-5",
            **_ring(5),
            shares={5: 0.05},
            title="a ring of five coils",
            motor="a five-phase motor in a ring",
            whose_ohms=(
                "The ohms are each coil's own: between its ends, the ring beside it, a meter reads four fifths."
            ),
            driver=_FIVE_PHASE,
        ),
        Arrangement(
            "five-phase-star-5",
            **_hidden_star(5),
            shares={5: 0.05},
            title="a star of five coils",
            motor="a five-phase motor in star",
            untold=("the order of the phases", DIRECTION),
            inside="five phases in a star",
            whose_ohms="The ohms are between any two leads: twice a coil's own.",
            driver=_FIVE_PHASE,
        ),
        Arrangement(
            "bipolar-4",
            **_separate(2),
            shares={4: 0.90, 5: 0.10, 6: 0.05, 7: 0.15, 8: 0.0015},
            title="two separate coils",
            motor="a bipolar motor: two coils",
            two_phase="plain",
        ),
        Arrangement(
            "three-phase-star-4",
            **_star(3),
            shares={4: 0.05, 5: 0.004, 6: 0.001, 7: 0.03, 8: 0.002},
            title="a star of three with its common lead",
            motor="a three-phase motor in star, its neutral brought out",
            untold=("the order of the phases", DIRECTION),
            driver=_THREE_PHASE,
        ),
        Arrangement(
            "three-phase-3",
            **_hidden_star(3),
            shares={3: 0.48, 4: 0.038, 5: 0.003, 6: 0.001, 7: 0.02, 8: 0.001},
            title="a three-phase winding",
            motor="a three-phase motor, star or delta",
            untold=("whether the three phases are joined in star or in delta", DIRECTION),
            inside="star or delta",
            whose_ohms="The ohms are between any two leads: in star twice a coil's own, in delta two thirds of it.",
            resembles="a fan or spindle motor of three phases is as likely as a stepper",
            driver=_THREE_PHASE,
        ),
        Arrangement(
            "tapped-coil-3",
            **_tapped(1),
            shares={3: 0.48, 4: 0.002, 5: 0.002},
            title="one coil with a tap",
            motor="a single coil with a tap",
            driver=_ONE_COIL,
        ),
        Arrangement(
            "single-coil-2",
            **_separate(1),
            shares={2: 1.0, 3: 0.04, 4: 0.01, 5: 0.001, 6: 0.001},
            title="a single coil",
            motor="a single coil",
            untold=(OWNER,),
            driver=_ONE_COIL,
        ),
        Arrangement(
            "five-phase-10",
            **_separate(5),
            title="five separate coils",
            motor="a five-phase motor: five separate coils",
            untold=("the sense of each coil and the order of the phases", DIRECTION),
            driver=_FIVE_PHASE,
            extra_faults=("two-coils-dead",),
        ),
    )
)
