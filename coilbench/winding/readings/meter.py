"""The multimeter: how far a displayed resistance may be from the true one."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coilbench.errors import InputProblem

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_PERCENT_PLUS_OHM = re.compile(rf"{_NUMBER}\s*%\s*\+\s*{_NUMBER}\s*(?:ohms?|Ω|Ω)", re.IGNORECASE)
_PERCENT_PLUS_COUNTS = re.compile(
    rf"{_NUMBER}\s*%\s*\+\s*(\d+)\s*(?:counts?|digits?|dgts?)\s*(?:of\s*{_NUMBER}\s*(?:ohms?|Ω|Ω))?",
    re.IGNORECASE,
)
_EXPECTED = 'expected "1% + 0.2 ohm" or "0.8% + 5 counts of 0.1 ohm"'

_DISPLAY_COUNTS = 4000  # a common hand-held display: above 4000 steps the meter changes range
_OWN_SHARE = 0.2  # of the stated percentage: the rest is gain, shared by all readings of a session
_TYPED_SHARE = 0.01  # from a kilohm up people round what they type


@dataclass(frozen=True, slots=True)
class Meter:
    """Stated accuracy: ``gain_percent`` of the reading plus ``counts`` steps of ``step_ohm``.

    ``held``: by hand, with probes whose own resistance is in each reading.
    """

    gain_percent: float = 1.0
    counts: float = 2.0
    step_ohm: float = 0.1
    held: bool = True

    @property
    def gain(self) -> float:
        """Largest relative error that all readings share."""
        return self.gain_percent / 100

    def step_at(self, ohm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Display step in ohm at a reading: ten times coarser with each range."""
        full = self.step_ohm * _DISPLAY_COUNTS
        ranges = np.ceil(np.log10(np.maximum(ohm, full) / full))
        return np.asarray(self.step_ohm * 10.0**ranges)

    def noise_ohm(self, ohm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Standard deviation in ohm of one reading apart from the shared gain: rounding, counts, linearity."""
        step = self.step_at(ohm)
        rounding = step / np.sqrt(12)
        # Stated counts are a bound that most meters stay well inside of, and mostly an offset like the probes'.
        own_counts = 0.25 * np.maximum(self.counts - 1, 0) * step
        typed = np.where(ohm >= 1000, _TYPED_SHARE, 0.0)
        return np.asarray(np.sqrt(rounding**2 + own_counts**2 + ((_OWN_SHARE * self.gain) ** 2 + typed**2) * ohm**2))


DEFAULT_METER = Meter()


def parse_meter(text: str) -> Meter:
    """Read a stated accuracy, "1% + 0.2 ohm" or "0.8% + 5 counts of 0.1 ohm" (counts of 0.1 ohm if not said).

    Raises InputProblem naming the text and what was expected.
    """
    plain = text.strip()
    if found := _PERCENT_PLUS_COUNTS.fullmatch(plain):
        percent, counts, step = found.groups()
        meter = Meter(_number(percent), float(counts), _number(step) if step else 0.1)
    elif found := _PERCENT_PLUS_OHM.fullmatch(plain):
        percent, offset = found.groups()
        # Only the sum is stated: take a tenth-of-an-ohm display unless the offset is finer than that.
        step = min(0.1, _number(offset)) or 0.1
        meter = Meter(_number(percent), _number(offset) / step, step)
    else:
        raise InputProblem(f"meter accuracy {plain[:60]!r} can't be read; {_EXPECTED}")
    if meter.gain_percent > 20 or meter.step_ohm <= 0 or meter.step_ohm > 100 or meter.counts > 1000:
        raise InputProblem(f"meter accuracy {plain[:60]!r} is no ohm-meter's; {_EXPECTED}")
    return meter


def _number(text: str) -> float:
    return float(text.replace(",", "."))
