"""Resistor networks: what a meter sees between any two terminals of a winding."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Edge = tuple[int, int, float]  # node, node, resistance (ohm, or any common unit)

_CARRIES_CURRENT = 1e-9


def components(nodes: int, edges: Sequence[Edge]) -> NDArray[np.intp]:
    """Label each node with the smallest node it is joined to through ``edges``."""
    label = list(range(nodes))
    for u, v, _ in edges:
        low, high = sorted((label[u], label[v]))
        label = [low if mark == high else mark for mark in label]
    return np.array(label, dtype=np.intp)


@lru_cache(maxsize=512)
def _inverse_laplacian(nodes: int, edges: tuple[Edge, ...]) -> NDArray[np.float64]:
    laplacian = np.zeros((nodes, nodes))
    for u, v, ohm in edges:
        if not ohm > 0:
            raise ValueError(f"a resistor needs a resistance above zero, not {ohm}")
        laplacian[[u, v], [u, v]] += 1 / ohm
        laplacian[[u, v], [v, u]] -= 1 / ohm
    return np.asarray(np.linalg.pinv(laplacian, hermitian=True))


def resistance_matrix(nodes: int, edges: Sequence[Edge], terminals: int | None = None) -> NDArray[np.float64]:
    """Resistance between every two of the first ``terminals`` nodes (default all), inf where nothing joins them.

    Shape (terminals, terminals), in the unit of the edges. The resistance distance of graph theory:
    R_ij = G_ii + G_jj - 2 G_ij with G the pseudo-inverse of the network's Laplacian (D. J. Klein, M. Randic,
    "Resistance distance", J. Math. Chem. 12, 1993; from memory). It holds within one connected part of the
    network; across parts the pseudo-inverse means nothing and the answer is open.
    """
    inverse = _inverse_laplacian(nodes, tuple(edges))
    diagonal = np.diag(inverse)
    matrix = diagonal[:, None] + diagonal[None, :] - 2 * inverse
    label = components(nodes, edges)
    matrix[label[:, None] != label[None, :]] = np.inf
    np.fill_diagonal(matrix, 0.0)
    size = nodes if terminals is None else terminals
    return matrix[:size, :size]


def crossed_edges(nodes: int, edges: Sequence[Edge], terminals: int) -> NDArray[np.int64]:
    """Which edges carry current when a meter is put on two terminals: a bit mask (bit = edge number) per pair."""
    inverse = _inverse_laplacian(nodes, tuple(edges))
    label = components(nodes, edges)
    masks = np.zeros((terminals, terminals), dtype=np.int64)
    for a in range(terminals):
        for b in range(a + 1, terminals):
            if label[a] != label[b]:
                continue
            potential = inverse[:, a] - inverse[:, b]
            mask = 0
            for bit, (u, v, _) in enumerate(edges):
                if abs(potential[u] - potential[v]) > _CARRIES_CURRENT:
                    mask |= 1 << bit
            masks[a, b] = masks[b, a] = mask
    return masks
