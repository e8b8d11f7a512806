"""The current of a test run: what the coils carried, where a driver's set-point is all one has."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from coilbench.errors import InputProblem

CountedAs = Literal["coil", "RMS", "peak"]

# A full step holds both coils at 1/sqrt(2) of the peak, and any other place between steps heats as much.
REST_SHARE_OF_PEAK = math.sqrt(0.5)
# What a set-point may overstate the current by where nothing was said: 71 % of the peak, and half of that at rest.
LEAST_SHARE_UNTOLD = 0.5
# A meter's 10 A range; a trimmer's voltage, sense resistors and the chopper's ripple (common practice).
MEASURED_DOUBT, SET_DOUBT = 0.02, 0.05


@dataclass(frozen=True, slots=True)
class RunCurrent:
    """The current in each coil during the run, RMS. ``told`` is false where it isn't known whether it was measured in
    the coil or set at a driver: then it may be as little as ``least_ampere``. ``doubt`` is one standard deviation of
    the current as told, a share."""

    ampere: float
    told: bool
    text: str
    doubt: float = SET_DOUBT

    @property
    def least_ampere(self) -> float:
        return self.ampere if self.told else LEAST_SHARE_UNTOLD * self.ampere


def run_current(ampere: float, counted: CountedAs | None, rest_share: float | None = None) -> RunCurrent:
    """What each coil carried at rest. ``counted``: measured in the ``coil``, or a driver's set-point as ``RMS`` or
    ``peak``; ``rest_share`` is what the driver leaves of it at standstill. Raises InputProblem for no share.
    """
    if rest_share is not None and not 0 < rest_share <= 1:
        raise InputProblem(f"share at rest {100 * rest_share:g} %: expected more than 0, up to 100 %")
    if counted == "coil":
        return RunCurrent(ampere, True, f"{ampere:.3g} A RMS in each coil, as measured", MEASURED_DOUBT)
    at_rest = ampere * (rest_share or 1.0) * (REST_SHARE_OF_PEAK if counted == "peak" else 1.0)
    if counted is None:
        return RunCurrent(at_rest, False, f"{at_rest:.3g} A, taken as RMS in each coil")
    shares = [f"{ampere:.3g} A {counted} set"]
    if counted == "peak":
        shares.append("71 % of it in each coil at rest")
    if rest_share is not None:
        shares.append(f"lowered to {100 * rest_share:g} % at rest")
    return RunCurrent(at_rest, True, f"{', '.join(shares)}: {at_rest:.3g} A RMS in each coil")
