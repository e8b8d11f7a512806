"""The inductances of a virtual motor's windings, and what two halves on one core have of each other."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coilbench.board.virtual.windings import Windings
from coilbench.winding.engine.catalogue import CATALOGUE

TIME_CONSTANT_S = 1.2e-3  # a part's inductance over its resistance (invented)
_SHORTED_SHARE = 0.3  # of it is left where turns are shorted (invented)
_COUPLED = 0.97  # of the flux that the halves of a phase share (invented)


def inductance_henry(windings: Windings, time_constant_s: float = TIME_CONSTANT_S) -> NDArray[np.float64]:
    """Of the network's resistors, in their order."""
    places = {windings.leads.index(lead): place for lead, place in windings.places.items()}
    own, flux = [], []
    for part, (u, v, ohm) in enumerate(CATALOGUE[windings.arrangement].edges):
        if part in windings.dead:
            continue
        share = _SHORTED_SHARE if part in windings.shorted else 1.0
        own.append(windings.unit_ohm * ohm * time_constant_s * share)
        place = places[u] if u in places else places[v] + 2 if v in places else None
        flux.append(None if place is None else (place % 2, 1 if place % 4 < 2 else -1))
    if windings.leak_ohm is not None:
        own.append(0.0)
        flux.append(None)
    found = np.diag(own)
    for i, one in enumerate(flux):
        for j, other in enumerate(flux):
            if i != j and one is not None and other is not None and one[0] == other[0]:
                found[i, j] = _COUPLED * one[1] * other[1] * np.sqrt(own[i] * own[j])
    return found
