"""The network reduction against cases worked by hand and an independent circuit simulator."""

from __future__ import annotations

import random
import re
import subprocess

import numpy as np
import pytest

from coilbench.winding.engine.network import crossed_edges, resistance_matrix
from tests.support import ngspice


def test_series_parallel_and_open() -> None:
    matrix = resistance_matrix(5, [(0, 1, 2.0), (1, 2, 3.0), (0, 2, 5.0), (3, 4, 7.0)])
    assert matrix[0, 2] == pytest.approx(2.5)
    assert matrix[0, 1] == pytest.approx(2 * 8 / 10)
    assert matrix[3, 4] == pytest.approx(7)
    assert np.isinf(matrix[0, 3])


def test_star_and_delta_of_three_are_alike() -> None:
    """Kennelly's theorem: a star of r equals a delta of 3 r at its terminals."""
    star = resistance_matrix(4, [(0, 3, 1.0), (1, 3, 1.0), (2, 3, 1.0)], 3)
    delta = resistance_matrix(3, [(0, 1, 3.0), (1, 2, 3.0), (2, 0, 3.0)])
    np.testing.assert_allclose(star, delta, atol=1e-12)


def test_ring_of_five() -> None:
    """One side against four, two against three, of unit sides: 4/5 and 6/5 (parallel rule)."""
    ring = resistance_matrix(5, [(k, (k + 1) % 5, 1.0) for k in range(5)])
    assert ring[0, 1] == pytest.approx(0.8)
    assert ring[0, 2] == pytest.approx(1.2)


def test_a_resistor_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="above zero"):
        resistance_matrix(2, [(0, 1, 0.0)])


def test_a_reading_proves_only_what_carries_current() -> None:
    masks = crossed_edges(4, [(0, 1, 1.0), (1, 2, 1.0), (1, 3, 1.0)], 4)
    assert masks[0, 2] == 0b011
    assert masks[2, 3] == 0b110


def _random_network(rng: random.Random) -> tuple[int, list[tuple[int, int, float]]]:
    nodes = rng.randint(2, 12)
    edges = [(rng.randrange(k), k, rng.uniform(0.5, 200)) for k in range(1, nodes)]
    for _ in range(rng.randint(0, nodes)):
        u, v = rng.sample(range(nodes), 2)
        edges.append((u, v, rng.uniform(0.5, 200)))
    return nodes, edges


def test_agrees_with_a_circuit_simulator(tmp_path) -> None:
    """50 random networks, one ampere pushed through two nodes, the voltage by ngspice (Debian package ngspice)."""
    spice = ngspice.program()
    rng = random.Random(11)
    wanted = []
    lines = ["networks side by side"]
    for number in range(50):
        nodes, edges = _random_network(rng)
        a, b = rng.sample(range(nodes), 2)
        wanted.append(resistance_matrix(nodes, edges)[a, b])

        def name(node: int, b: int = b, number: int = number) -> str:
            return "0" if node == b else f"n{number}x{node}"

        lines += [f"r{number}x{k} {name(u)} {name(v)} {ohm!r}" for k, (u, v, ohm) in enumerate(edges)]
        lines.append(f"i{number} 0 {name(a)} dc 1")
        wanted[-1] = (f"v(n{number}x{a})", wanted[-1])
    lines += [".op", ".control", "set numdgt=12", "op", *(f"print {node}" for node, _ in wanted), ".endc", ".end"]
    deck = tmp_path / "networks.cir"
    deck.write_text("\n".join(lines) + "\n")
    done = subprocess.run([spice, "-b", str(deck)], capture_output=True, text=True, timeout=60, check=False)
    seen = dict(re.findall(r"(v\(n\d+x\d+\)) = ([-+0-9.e]+)", done.stdout))
    for node, ohm in wanted:
        assert float(seen[node]) == pytest.approx(ohm, rel=1e-6)
