"""The catalogue of windings: each arrangement as a network of like resistors, with its faults and how common it is.

Terminals are numbered from 0 and come before any inner node. One unit of resistance is one coil, or one
half-winding where a coil has a tap.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from coilbench.winding.engine.network import Edge, components, crossed_edges, resistance_matrix
from coilbench.winding.engine.verdict import FaultKind


@dataclass(frozen=True)
class Arrangement:
    """A healthy winding. ``coils`` are (end, end, tap or None) by terminal number."""

    name: str
    terminals: int
    edges: tuple[Edge, ...]
    coils: tuple[tuple[int, int, int | None], ...] = ()
    common: int | None = None

    @cached_property
    def nodes(self) -> int:
        return max(max(u, v) for u, v, _ in self.edges) + 1


def _separate(name: str, coils: int) -> Arrangement:
    ends = tuple((2 * k, 2 * k + 1) for k in range(coils))
    return Arrangement(name, 2 * coils, tuple((u, v, 1.0) for u, v in ends), tuple((u, v, None) for u, v in ends))


def _star(name: str, arms: int) -> Arrangement:
    """Arms from a common lead, terminal 0."""
    arm = range(1, arms + 1)
    return Arrangement(name, arms + 1, tuple((0, k, 1.0) for k in arm), tuple((0, k, None) for k in arm), common=0)


def _hidden_star(name: str, arms: int) -> Arrangement:
    return Arrangement(name, arms, tuple((k, arms, 1.0) for k in range(arms)))


def _tapped(name: str, coils: int) -> Arrangement:
    edges: list[Edge] = []
    for k in range(0, 3 * coils, 3):
        edges += [(k, k + 1, 1.0), (k + 1, k + 2, 1.0)]
    return Arrangement(name, 3 * coils, tuple(edges), tuple((k, k + 2, k + 1) for k in range(0, 3 * coils, 3)))


def _ring(name: str, sides: int) -> Arrangement:
    ends = tuple((k, (k + 1) % sides) for k in range(sides))
    return Arrangement(name, sides, tuple((u, v, 1.0) for u, v in ends), tuple((u, v, None) for u, v in ends))


UNKNOWN = "unknown"

CATALOGUE: dict[str, Arrangement] = {
    arrangement.name: arrangement
    for arrangement in (
        _separate("single-coil-2", 1),
        _tapped("tapped-coil-3", 1),
        _hidden_star("three-phase-3", 3),
        _separate("bipolar-4", 2),
        _star("three-phase-star-4", 3),
        _star("unipolar-5", 4),
        _ring("five-phase-ring-5", 5),
        _hidden_star("five-phase-star-5", 5),
        _tapped("unipolar-6", 2),
        _separate("three-phase-6", 3),
        _separate("split-8", 4),
        _separate("five-phase-10", 5),
    )
}

# How common each arrangement is among motors with so many leads: common practice of people who take motors from
# scrapped machines; shares that nobody has counted are small round guesses, and the leads left over are spares.
PRIOR: dict[int, dict[str, float]] = {
    2: {"single-coil-2": 1.0},
    3: {"three-phase-3": 0.48, "tapped-coil-3": 0.48, "single-coil-2": 0.04},
    4: {
        "bipolar-4": 0.90,
        "three-phase-star-4": 0.05,
        "three-phase-3": 0.038,
        "tapped-coil-3": 0.002,
        "single-coil-2": 0.01,
    },
    5: {
        "unipolar-5": 0.79,
        "bipolar-4": 0.10,
        "five-phase-ring-5": 0.05,
        "five-phase-star-5": 0.05,
        "three-phase-star-4": 0.004,
        "three-phase-3": 0.003,
        "tapped-coil-3": 0.002,
        "single-coil-2": 0.001,
    },
    6: {
        "unipolar-6": 0.89,
        "three-phase-6": 0.05,
        "bipolar-4": 0.05,
        "unipolar-5": 0.007,
        "three-phase-star-4": 0.001,
        "three-phase-3": 0.001,
        "single-coil-2": 0.001,
    },
    7: {
        "unipolar-6": 0.60,
        "unipolar-5": 0.15,
        "bipolar-4": 0.15,
        "three-phase-6": 0.05,
        "three-phase-star-4": 0.03,
        "three-phase-3": 0.02,
    },
    8: {
        "split-8": 0.95,
        "unipolar-6": 0.032,
        "bipolar-4": 0.0015,
        "unipolar-5": 0.0095,
        "three-phase-6": 0.004,
        "three-phase-star-4": 0.002,
        "three-phase-3": 0.001,
    },
}

COIL_OPEN = 0.02  # share of salvaged motors' coils; common practice
COIL_SHORTED = 0.01  # the same
TAP_JOINT_BROKEN = 0.004  # both halves of a tapped coil dead at the joint they share; a guess
LEAD_BROKEN = 0.003  # a tap or common broken off; a guess

NOTHING_CONDUCTS = 5e-4  # both coils of two dead

# Remaining resistance of a coil with shorted turns, as steps, with the half-width of each step.
SHORTED_STEPS = ((0.3, 0.09), (0.47, 0.06), (0.6, 0.05), (0.7, 0.035), (0.78, 0.03), (0.84, 0.025), (0.9, 0.02))


@dataclass(frozen=True)
class Template:
    """One arrangement in one state of health on ``terminals`` leads (spares come last), with its prior share."""

    arrangement: str
    terminals: int
    nodes: int
    edges: tuple[Edge, ...]
    prior: float
    fault: FaultKind | None = None
    fault_terminals: tuple[int, ...] = ()
    fault_edge: int | None = None
    fault_width: float = 0.0

    @cached_property
    def unit(self) -> float:
        """The least resistance between two terminals, in coils or half-windings: the scale of ``ratio``.

        Only the coil with shorted turns is measured against the sound ones.
        """
        sound = [(u, v, 1.0) for u, v, _ in self.edges]
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


def _shifted(arrangement: Arrangement, terminals: int) -> tuple[int, tuple[Edge, ...]]:
    """Number the inner nodes after the spare terminals."""
    gap = terminals - arrangement.terminals

    def number(node: int) -> int:
        return node if node < arrangement.terminals else node + gap

    edges = tuple((number(u), number(v), ohm) for u, v, ohm in arrangement.edges)
    return arrangement.nodes + gap, edges


def healthy(name: str, terminals: int, prior: float) -> Template:
    """An arrangement of the catalogue without fault, its spares last."""
    nodes, edges = _shifted(CATALOGUE[name], terminals)
    return Template(name, terminals, nodes, edges, prior)


def with_faults(sound: Template) -> list[Template]:
    """The arrangement as it is, and with each single fault it may have; their priors add up to the sound one's."""
    arrangement = CATALOGUE[sound.arrangement]
    edges = sound.edges
    coils = len(arrangement.coils) or arrangement.terminals
    open_each = COIL_OPEN * coils / len(edges)
    shorted_each = COIL_SHORTED * coils / len(edges)
    found: list[Template] = []
    for number, (u, v, ohm) in enumerate(edges):
        ends = tuple(node for node in (u, v) if node < sound.terminals)
        rest = edges[:number] + edges[number + 1 :]
        fault = replace(sound, fault_terminals=ends, fault_edge=number)
        found.append(replace(fault, edges=rest, prior=sound.prior * open_each, fault="open"))
        for factor, width in SHORTED_STEPS:
            short = (*edges[:number], (u, v, ohm * factor), *edges[number + 1 :])
            share = sound.prior * shorted_each / len(SHORTED_STEPS)
            found.append(replace(fault, edges=short, prior=share, fault="shorted-turns", fault_width=width))
    for terminal in range(arrangement.terminals):
        if sum(terminal in edge[:2] for edge in edges) < 2:
            continue  # breaking an outer lead looks just like an open coil
        inner = sound.nodes
        moved = tuple((inner if u == terminal else u, inner if v == terminal else v, ohm) for u, v, ohm in edges)
        found.append(
            replace(
                sound,
                nodes=sound.nodes + 1,
                edges=moved,
                prior=sound.prior * LEAD_BROKEN,
                fault="broken-lead",
                fault_terminals=(terminal,),
            )
        )
    if len(arrangement.coils) == len(edges) > 2 and arrangement.terminals == 2 * len(edges):
        found += _two_dead(sound)
    if arrangement.name == "unipolar-6":
        found += _whole_coil_dead(sound)
    left = sound.prior - sum(template.prior for template in found)
    return [replace(sound, prior=left), *found]


def _two_dead(sound: Template) -> list[Template]:
    """Two dead coils of three or more separate ones."""
    return [
        replace(
            sound,
            edges=tuple(edge for k, edge in enumerate(sound.edges) if k not in (i, j)),
            prior=sound.prior * COIL_OPEN**2,
            fault="open",
            fault_terminals=(*sound.edges[i][:2], *sound.edges[j][:2]),
        )
        for i in range(len(sound.edges))
        for j in range(i)
    ]


def _whole_coil_dead(sound: Template) -> list[Template]:
    """One of two tapped coils silent on all its leads."""
    return [
        replace(
            sound,
            edges=tuple(edge for edge in sound.edges if not {start, end} & set(edge[:2])),
            prior=sound.prior * TAP_JOINT_BROKEN,
            fault="open",
            fault_terminals=(start, tap, end),
        )
        for start, end, tap in CATALOGUE[sound.arrangement].coils
        if tap is not None
    ]


def nothing_conducts(terminals: int) -> Template:
    """Every coil dead, or no motor at all: a case of its own so that a row of open readings has an explanation."""
    return Template(UNKNOWN, terminals, terminals, (), NOTHING_CONDUCTS)
