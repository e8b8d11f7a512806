"""How many steps a turn has, from the counted positions of index edges; of geared motors too."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from coilbench.errors import NotEnoughKnown

# Step counts that motors are made with, common practice: 7.5, 15, 18, 3.75, 3.6, 1.8 and 0.9 degrees a step.
USUAL_STEPS_PER_TURN = (20, 24, 48, 96, 100, 200, 400)


@dataclass(frozen=True)
class TurnCount:
    """Steps in a turn and how far single edges lie off even spacing; ``usual`` is the made count it fits, if any."""

    steps_per_turn: float
    scatter_steps: float
    turns: int
    usual: int | None


def steps_per_turn(edges: Sequence[float]) -> TurnCount:
    """Steps in a turn from successive edges of one kind, passed in one direction; positions in full steps.

    A straight line is laid through the edges (least squares), so that gears with a broken ratio come out right over
    several turns. Raises NotEnoughKnown for fewer than two edges, or edges that aren't evenly spaced: then steps
    were lost, or an edge was.
    """
    if len(edges) < 2:
        raise NotEnoughKnown("it takes two passes of the index mark to count a turn", remedy="turn it further")
    positions = np.asarray(edges, dtype=float)
    number = np.arange(len(positions), dtype=float)
    slope, begin = np.polyfit(number, positions, 1)
    scatter = float(np.max(np.abs(positions - begin - slope * number)))
    steps = abs(float(slope))
    if steps < 1 or scatter > max(2.0, 0.02 * steps):
        raise NotEnoughKnown(
            f"the index marks came unevenly, up to {scatter:.3g} steps off",
            remedy="turn slower, or look after the flag: it may slip or pass the sensor twice a turn",
        )
    near = min(USUAL_STEPS_PER_TURN, key=lambda made: abs(math.log(made / steps)))
    usual = near if abs(near - steps) <= max(1.0, 0.005 * near) else None
    return TurnCount(steps, scatter, len(positions) - 1, usual)
