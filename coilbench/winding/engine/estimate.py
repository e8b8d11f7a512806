"""A coil's resistance with its doubt, from the readings that cross it."""

from __future__ import annotations

import math

from coilbench.winding.engine.judged import Judged
from coilbench.winding.engine.mixture import CLIPS_OHM, CLIPS_SD_OHM, COIL_SPREAD
from coilbench.winding.engine.planning import crossed_alone
from coilbench.winding.engine.templates import Template


def coil_ohm(case: Judged, row: int, ends: tuple[int, int]) -> tuple[float, float] | None:
    """A coil's own resistance and its standard deviation in ohm, the probes' part removed.

    The meter's own gain counts into the deviation (its bound taken as a uniform spread). Readings of this coil
    itself come first; without any, what the others say of their like. None while nothing conducts.
    """
    template = case.template(row)
    across = float(template.ratio[ends])
    if not math.isfinite(across) or not math.isfinite(case.fit.scale_ohm[row]):
        return None
    best: tuple[float, float] | None = None
    for k, a, b in crossed_alone(case.table, case.evidence, template, case.table.perm[row], ends):
        if case.fit.slip[row, k] > 0.5:
            continue
        meter = case.evidence.meters[k]
        probes, probes_sd = CLIPS_OHM, CLIPS_SD_OHM
        if meter.held:
            probes, probes_sd = float(case.fit.probes_ohm[row]), float(case.fit.probes_sd[row])
        factor = across / float(template.ratio[a, b])
        ohm = max((float(case.evidence.ohm[k]) - probes) * factor, 0.0)
        noise, gain_sd = float(meter.noise_ohm(case.evidence.ohm[k])), meter.gain / math.sqrt(3)
        # A half stands for the whole only as far as the halves are alike, one side of a ring for another no further.
        unlike = 0.0 if {a, b} == set(ends) else COIL_SPREAD * ohm
        sd = math.hypot(noise * factor, probes_sd * factor, unlike, gain_sd * ohm)
        if best is None or sd < best[1]:
            best = (ohm, sd)
    own = _own_share(template, ends)
    if best is None:
        ohm = across * float(case.fit.scale_ohm[row])
        sd = math.hypot(across * float(case.fit.scale_sd[row]), (COIL_SPREAD + case.meter.gain / math.sqrt(3)) * ohm)
        best = (ohm, sd)
    return best[0] * own, best[1] * own


def _own_share(template: Template, ends: tuple[int, int]) -> float:
    """A coil's own resistance over what a meter reads between its ends: more than one where a ring lies beside it."""
    sides = [ohm for u, v, ohm in template.edges if {u, v} == set(ends)]
    return sides[0] / (float(template.ratio[ends]) * template.unit) if sides else 1.0
