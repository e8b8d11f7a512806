"""The windings of a virtual motor: what is inside, and what a meter would find of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# Of a coil part with shorted turns this share of its resistance is left (invented).
_SHORTED_SHARE = 0.55

# Each end's place in the switching sequence, by terminal. Eight leads: halves 1 and 3 make a phase, the third the
# other way round; halves 2 and 4 the other.
_PLACES = {
    "unipolar-5": {1: 0, 2: 1, 3: 2, 4: 3},
    "unipolar-6": {0: 0, 3: 1, 2: 2, 5: 3},
    "split-8": {0: 0, 5: 0, 1: 2, 4: 2, 2: 1, 6: 1, 3: 3, 7: 3},
}


@dataclass(frozen=True)
class Windings:
    """Windings of known inside. ``leads`` stand in the order of the arrangement's terminals, spares last.

    ``unit_ohm`` is one coil, or one half-winding of a tapped one. ``dead`` and ``shorted`` are numbers of coil parts;
    ``leak_ohm`` joins the first lead to the frame. ``turns`` is the way the shaft goes by the switching sequence of
    ``_PLACES``: 1 or -1.
    """

    arrangement: str
    leads: tuple[str, ...]
    unit_ohm: float
    dead: tuple[int, ...] = ()
    shorted: tuple[int, ...] = ()
    leak_ohm: float | None = None
    turns: int = 1

    @cached_property
    def network(self) -> tuple[int, list[tuple[int, int, float]]]:
        """How many nodes, and the resistors between them, ohm: the leads come first, then the frame."""
        from coilbench.winding.engine.catalogue import CATALOGUE

        winding = CATALOGUE[self.arrangement]
        frame = len(self.leads)
        inner_gap = frame + 1 - winding.terminals

        def number(node: int) -> int:
            return node if node < winding.terminals else node + inner_gap

        edges = [
            (number(u), number(v), self.unit_ohm * ohm * (_SHORTED_SHARE if part in self.shorted else 1.0))
            for part, (u, v, ohm) in enumerate(winding.edges)
            if part not in self.dead
        ]
        if self.leak_ohm is not None:
            edges.append((0, frame, self.leak_ohm))
        return max(frame + 1, *(max(u, v) + 1 for u, v, _ in edges)), edges

    @cached_property
    def resistance_ohm(self) -> NDArray[np.float64]:
        """True resistance between any two leads and the frame (last row), inf for open: (leads + 1, leads + 1)."""
        from coilbench.winding.engine.network import resistance_matrix

        nodes, edges = self.network
        return resistance_matrix(nodes, edges, len(self.leads) + 1)

    @cached_property
    def places(self) -> dict[str, int]:
        """Each end's place (0 to 3) in the sequence that turns the shaft clockwise; five, six and eight leads."""
        places = _PLACES.get(self.arrangement, {})
        return {self.leads[terminal]: place * self.turns % 4 for terminal, place in places.items()}
