"""Arrangements on so many leads, sound or with one fault: what a meter would see, and how common each is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from coilbench.winding.engine.catalogue import UNLISTED, Arrangement
from coilbench.winding.engine.network import Edge, components, crossed_edges, resistance_matrix
from coilbench.winding.engine.symmetry import automorphisms
from coilbench.winding.engine.verdict import FaultKind

COIL_OPEN = 0.02  # share of salvaged motors' coils; common practice
COIL_SHORTED = 0.01  # the same
TAP_JOINT_BROKEN = 0.004  # both halves of a tapped coil dead at the joint they share; a guess
LEAD_BROKEN = 0.003  # a tap or common broken off; a guess

NOTHING_CONDUCTS = 5e-4  # both coils of two dead

# Remaining resistance of a coil with shorted turns, as steps, with the half-width of each step.
SHORTED_STEPS = ((0.3, 0.09), (0.47, 0.06), (0.6, 0.05), (0.7, 0.035), (0.78, 0.03), (0.84, 0.025), (0.9, 0.02))


@dataclass(frozen=True, eq=False)
class Template:
    """One arrangement in one state of health on ``terminals`` leads (spares come last), with its prior share.

    ``fault_edge`` is the coil or half at fault where it is one; ``dead_coils`` how many coils an open fault concerns.
    ``strangers`` are sets of terminals that conduct to one another but are of something else: any resistance will do.
    """

    arrangement: Arrangement
    terminals: int
    nodes: int
    edges: tuple[Edge, ...]
    prior: float
    fault: FaultKind | None = None
    fault_terminals: tuple[int, ...] = ()
    fault_edge: int | None = None
    fault_width: float = 0.0
    dead_coils: int = 0
    strangers: tuple[tuple[int, ...], ...] = ()

    @cached_property
    def unit(self) -> float:
        """The least resistance between two terminals, in coils or half-windings: the scale of ``ratio``.

        Only the coil with shorted turns is measured against the sound ones.
        """
        sound = tuple((u, v, 1.0) for u, v, _ in self.edges)
        matrix = resistance_matrix(self.nodes, sound, self.terminals)
        apart = matrix[np.isfinite(matrix) & (matrix > 0)]
        return float(apart.min()) if len(apart) else 1.0

    @cached_property
    def ratio(self) -> NDArray[np.float64]:
        """Resistance between terminals in ``unit``: what is alike but for its scale is alike here."""
        return resistance_matrix(self.nodes, self.edges, self.terminals) / self.unit

    @cached_property
    def crossed(self) -> NDArray[np.int64]:
        """Bit masks of the edges that a reading between two terminals proves alive."""
        return crossed_edges(self.nodes, self.edges, self.terminals)

    @cached_property
    def live(self) -> int:
        """Mask of the edges that some reading can prove."""
        return int(np.bitwise_or.reduce(self.crossed, axis=None))

    @cached_property
    def sets(self) -> NDArray[np.intp]:
        """For each terminal a label of the joined set it belongs to."""
        return components(self.nodes, self.edges)[: self.terminals]

    @property
    def listed(self) -> bool:
        """Whether this is an arrangement of the catalogue."""
        return self.arrangement is not UNLISTED

    def strange(self, a: int, b: int) -> int:
        """How many leads the thing has that both terminals belong to; 0 where they are of the motor."""
        return next((len(leads) for leads in self.strangers if a in leads and b in leads), 0)

    @property
    def same_names(self) -> bool:
        """Whether its leads have the same names as without what ails it."""
        return self.fault_width > 0

    @property
    def several_motors(self) -> bool:
        """Whether some of what would be its own coils are another motor's."""
        return any(terminal < self.arrangement.terminals for leads in self.strangers for terminal in leads)

    @property
    def spares(self) -> range:
        """The terminals that are joined to no coil."""
        return range(self.arrangement.terminals if self.listed else self.terminals, self.terminals)

    @property
    def open_in_tapped_coil(self) -> bool:
        """Whether a coil with a tap is open, in one half or both."""
        return self.fault == "open" and self.arrangement.in_tapped_coil(self.fault_terminals)


def healthy(arrangement: Arrangement, terminals: int, prior: float) -> Template:
    """An arrangement without fault on so many leads, its spares last and its inner nodes after them."""
    gap = terminals - arrangement.terminals

    def number(node: int) -> int:
        return node if node < arrangement.terminals else node + gap

    edges = tuple((number(u), number(v), ohm) for u, v, ohm in arrangement.edges)
    return Template(arrangement, terminals, arrangement.nodes + gap, edges, prior)


def nothing_conducts(terminals: int) -> Template:
    """Every coil dead, or no motor at all: a case of its own so that a row of open readings has an explanation."""
    return Template(UNLISTED, terminals, terminals, (), NOTHING_CONDUCTS)


def beside_others(sound: Template, sizes: Sequence[int], prior: float) -> Template:
    """The sound arrangement with things of so many leads each in the same loom, on its first spare terminals."""
    found: list[tuple[int, ...]] = []
    edges = list(sound.edges)
    first = sound.arrangement.terminals
    for size in sizes:
        found.append(tuple(range(first, first + size)))
        edges += [(k, k + 1, 1.0) for k in range(first, first + size - 1)]
        first += size
    return replace(sound, edges=tuple(edges), prior=prior, strangers=tuple(found))


def two_motors(sound: Template, prior: float) -> Template:
    """Of four separate coils two of one motor and two of another, of other ohms."""
    return replace(sound, prior=prior, strangers=(sound.edges[0][:2], sound.edges[1][:2]))


def unlike_windings(terminals: int, prior: float) -> Template:
    """Leads that all conduct to one another, any resistance between any two: a fan's windings for its speeds."""
    edges = tuple((k, k + 1, 1.0) for k in range(terminals - 1))
    return Template(UNLISTED, terminals, terminals, edges, prior, strangers=(tuple(range(terminals)),))


def with_faults(sound: Template) -> list[Template]:
    """The arrangement as it is, and with each single fault it may have; their priors add up to the sound one's.

    Of faults that differ only in how the network is numbered the first stands for all.
    """
    found = [*_open_or_shorted(sound), *_lead_broken(sound)]
    if "two-coils-dead" in sound.arrangement.extra_faults:
        found += _two_dead(sound)
    if "tapped-coil-dead" in sound.arrangement.extra_faults:
        found += _tapped_coil_dead(sound)
    left = sound.prior - sum(template.prior for template in found)
    return [replace(sound, prior=left), *found]


def _open_or_shorted(sound: Template) -> Iterator[Template]:
    """One coil or half open, or with shorted turns."""
    edges = sound.edges
    coils = len(sound.arrangement.coils) or sound.arrangement.terminals
    for (number,), alike in _first_of_kind(sound.arrangement, [(number,) for number in range(len(edges))]):
        u, v, ohm = edges[number]
        share = sound.prior * alike * coils / len(edges)
        ends = tuple(node for node in (u, v) if node < sound.terminals)
        fault = replace(sound, fault_terminals=ends, fault_edge=number)
        rest = edges[:number] + edges[number + 1 :]
        yield replace(fault, edges=rest, prior=share * COIL_OPEN, fault="open", dead_coils=1)
        for factor, width in SHORTED_STEPS:
            short = (*edges[:number], (u, v, ohm * factor), *edges[number + 1 :])
            step = share * COIL_SHORTED / len(SHORTED_STEPS)
            yield replace(fault, edges=short, prior=step, fault="shorted-turns", fault_width=width)


def _lead_broken(sound: Template) -> Iterator[Template]:
    """The lead of a tap or common broken off; breaking an outer lead looks just like an open coil."""
    at = [
        tuple(number for number, edge in enumerate(sound.edges) if terminal in edge[:2])
        for terminal in range(sound.arrangement.terminals)
    ]
    inner = {edges: terminal for terminal, edges in enumerate(at) if len(edges) > 1}
    for edges, alike in _first_of_kind(sound.arrangement, list(inner)):
        terminal, node = inner[edges], sound.nodes
        moved = tuple((node if u == terminal else u, node if v == terminal else v, ohm) for u, v, ohm in sound.edges)
        share = sound.prior * alike * LEAD_BROKEN
        yield replace(
            sound, nodes=node + 1, edges=moved, prior=share, fault="broken-lead", fault_terminals=(terminal,)
        )


def _two_dead(sound: Template) -> Iterator[Template]:
    """Two dead coils of several separate ones."""
    pairs = [(i, j) for i in range(len(sound.edges)) for j in range(i)]
    for (i, j), alike in _first_of_kind(sound.arrangement, pairs):
        yield _without(sound, (i, j), sound.prior * alike * COIL_OPEN**2, dead_coils=2)


def _tapped_coil_dead(sound: Template) -> Iterator[Template]:
    """A tapped coil silent on all its leads."""
    coils = [
        tuple(number for number, edge in enumerate(sound.edges) if {start, end} & set(edge[:2]))
        for start, end, tap in sound.arrangement.coils
        if tap is not None
    ]
    for edges, alike in _first_of_kind(sound.arrangement, coils):
        yield _without(sound, edges, sound.prior * alike * TAP_JOINT_BROKEN, dead_coils=1)


def _without(sound: Template, dead: tuple[int, ...], prior: float, dead_coils: int) -> Template:
    silent = tuple(dict.fromkeys(node for number in dead for node in sound.edges[number][:2]))
    rest = tuple(edge for number, edge in enumerate(sound.edges) if number not in dead)
    return replace(sound, edges=rest, prior=prior, fault="open", fault_terminals=silent, dead_coils=dead_coils)


def _first_of_kind(
    arrangement: Arrangement, edge_sets: Sequence[tuple[int, ...]]
) -> Iterator[tuple[tuple[int, ...], int]]:
    """Of the sets of edges that the network's symmetry carries into one another the first, with their number."""
    moved = _edge_moves(arrangement)
    kinds = [int((1 << moved[:, edges]).sum(axis=1).min()) for edges in edge_sets]
    for number, (edges, kind) in enumerate(zip(edge_sets, kinds, strict=True)):
        if kind not in kinds[:number]:
            yield edges, kinds.count(kind)


@lru_cache(maxsize=64)
def _edge_moves(arrangement: Arrangement) -> NDArray[np.intp]:
    """Where each automorphism of the network carries each edge: (automorphisms, edges)."""
    size = arrangement.nodes
    ohms = sorted({ohm for _, _, ohm in arrangement.edges})
    colour = np.zeros((size, size), dtype=np.intp)
    place = np.zeros((size, size), dtype=np.intp)
    for number, (u, v, ohm) in enumerate(arrangement.edges):
        colour[u, v] = colour[v, u] = 1 + ohms.index(ohm)
        place[u, v] = place[v, u] = number
    # A terminal is no inner node, however alike they lie.
    inner = np.arange(size) >= arrangement.terminals
    colour[np.diag_indices(size)] = -1 - inner
    ends = np.array([edge[:2] for edge in arrangement.edges], dtype=np.intp)
    images = automorphisms(colour)[:, ends]
    return np.asarray(place[images[..., 0], images[..., 1]])
