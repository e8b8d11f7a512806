"""Whether the ohms of a motor that is named are borne out: no figure hangs on one reading that may be a slip."""

from __future__ import annotations

import numpy as np

from coilbench.winding.engine.judged import Judged
from coilbench.winding.engine.verdict import Ask

_ALIKE, _ALIKE_OHM = 0.085, 0.35  # halves of one motor are up to 8 % apart; a poor contact adds some 0.2 ohm
_MOST_TAKEN = 3


def figure_alone(case: Judged, passed: frozenset[frozenset[str]]) -> Ask | None:
    """The reading that neither another of the same pair nor one of a like pair agrees with, to be taken again."""
    row = case.ranked[0][0]
    evidence, ratio = case.evidence, case.table.ratio[case.table.code[row, case.evidence.column]]
    own = np.flatnonzero(np.isfinite(evidence.ohm) & np.isfinite(ratio) & (ratio > 0) & (case.fit.slip[row] < 0.5))
    probes = [float(case.fit.probes_ohm[row]) if evidence.meters[k].held else 0.0 for k in own]
    unit = (evidence.ohm[own] - probes) / ratio[own]
    near = np.maximum(_ALIKE * unit, _ALIKE_OHM / ratio[own])
    for place, k in enumerate(own):
        alike = int(np.count_nonzero(np.abs(unit - unit[place]) <= np.maximum(near, near[place]))) - 1
        a, b = (case.names[lead] for lead in case.table.pairs[evidence.column[k]])
        if alike or evidence.times[k] > 1 or evidence.taken[k] >= _MOST_TAKEN or frozenset((a, b)) in passed:
            continue
        if len(own) == 1:
            return Ask(b, a, "its ohms hang on one reading: once more, with the probes changed over")
        return Ask(a, b, f"{evidence.ohm[k]:.4g} ohm is unlike what its fellows read: measure it once more")
    return None
