"""A reading that is as another pair of the motor reads: by a slip of the hand, or because its coils are alike."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from coilbench.winding.readings.meter import Meter

# Guesses for a tired person.
_TYPED_AGAIN = 0.15  # how often it is the other pair's very figure, not that pair measured once more
_MEASURED_AGAIN = 0.005  # how far apart, as a share, two readings of one pair are
# How many motors have coils so far apart (standard deviation), as a share; exactly alike they are in a drawing.
_APART = ((0.25, 0.002), (0.4, 0.007), (0.5, 0.034))
_ANOTHER_UNIT = 1.25  # readings further apart than this are of one coil and of two
_ROUNDED_OHM = 0.04


def as_read(ohm: float, meter: Meter, others: Sequence[float]) -> float:
    """Density of a slip that gives what another pair reads: measured in its stead, or its figure typed again.

    The more alike this motor's coils are, the less it tells that two readings are. Clips stay where they are.
    """
    if not others or not meter.held:
        return 0.0
    sd = math.hypot(float(meter.noise_ohm(np.array(ohm))), _MEASURED_AGAIN * ohm)
    measured = sum(math.exp(-0.5 * ((ohm - one) / sd) ** 2) for one in others) / (sd * math.sqrt(2 * math.pi))
    typed = sum(ohm == one for one in others) / float(meter.step_at(np.array(ohm)))
    density = (1 - _TYPED_AGAIN) * measured + _TYPED_AGAIN * typed
    return density / len(others) / _by_chance(others)


def _by_chance(ohms: Sequence[float]) -> float:
    """How much oftener readings agree by chance than on a motor whose coils are as unlike as they come."""
    least, apart = 0.0, []
    for ohm in sorted(max(ohm, _ROUNDED_OHM) for ohm in ohms):
        if ohm > _ANOTHER_UNIT * least:
            least = ohm
        else:
            apart.append(math.log(ohm / least))
    blur = _ROUNDED_OHM / max(min(ohms), 0.1)
    sds = [math.hypot(sd, blur) for _, sd in _APART]
    weight = [
        share * math.prod(math.exp(-0.5 * (one / sd) ** 2) / sd for one in apart)
        for (share, _), sd in zip(_APART, sds, strict=True)
    ]
    likelier = sum(each * sds[-1] / sd for each, sd in zip(weight, sds, strict=True))
    return likelier / sum(weight) if sum(weight) > 0 else 1.0
