"""Currents that are written into a chip's registers: TRINAMIC's current scale, ST's torque value."""

from __future__ import annotations

import math

from coilbench.driver.chip import SENSE_PATH_OHM, Chip
from coilbench.errors import NotEnoughKnown

_SCALES = 32  # CS counts 0 to 31
_GLOBAL = 256  # GS; 32 is its least
_GLOBAL_LEAST = 32
_TORQUE_LEAST, _TORQUE_TOP = 0, 127
_FULL_SCALE_VREF = 2.5  # the reference at which the gain of VREF_RS20 chips is full scale

Codes = tuple[tuple[str, int], ...]


def scale_peak(chip: Chip, sense_ohm: float, current_scale: int, global_scale: int = _GLOBAL) -> float:
    """Peak ampere at codes CS (0 to 31) and GS (32 to 256).

    TRINAMIC TMC5160 Rev 1.18: GS/256 (CS+1)/32 0.325 V/Rs; TMC2130 Rev 1.09: (CS+1)/32 0.325 V/(Rs + 0.02 ohm).
    """
    assert chip.factor is not None
    share = global_scale / _GLOBAL * (current_scale + 1) / _SCALES
    if chip.formula == "VREF_RS20":
        return share * chip.factor * _FULL_SCALE_VREF / (sense_ohm + SENSE_PATH_OHM)
    return share * chip.factor / sense_ohm


def torque_value_peak(chip: Chip, torque_value: int) -> float:
    """Peak ampere at code TVAL (0 to 127): 31.25 mA a step, ST L6474 DocID022529."""
    assert chip.factor is not None
    return (torque_value + 1) * chip.factor


def register_for_peak(chip: Chip, peak_ampere: float, sense_ohm: float | None) -> tuple[Codes, float]:
    """The highest codes that stay at or below ``peak_ampere``, and the peak they give.

    Raises NotEnoughKnown when even the lowest code gives more.
    """
    assert chip.factor is not None
    if sense_ohm is None:
        code = min(math.floor(peak_ampere / chip.factor * (1 + 1e-9)) - 1, _TORQUE_TOP)
        if code < _TORQUE_LEAST:
            raise NotEnoughKnown(f"{chip.chip} goes no lower than {chip.factor:g} A, {peak_ampere:g} A was asked")
        return (("TVAL", code),), torque_value_peak(chip, code)
    full = scale_peak(chip, sense_ohm, _SCALES - 1)
    share = min(peak_ampere / full, 1.0) * (1 + 1e-9)
    if chip.formula == "VREF_RS20":
        scale = max(math.floor(share * _SCALES) - 1, 0)
        return (("CS", scale),), scale_peak(chip, sense_ohm, scale)
    # The global scale first: it keeps all 32 steps of the current scale for the motor's own states.
    whole = math.floor(share * _GLOBAL)
    if whole >= _GLOBAL_LEAST:
        return (("GS", whole), ("CS", _SCALES - 1)), scale_peak(chip, sense_ohm, _SCALES - 1, whole)
    scale = max(math.floor(share * _GLOBAL / _GLOBAL_LEAST * _SCALES) - 1, 0)
    return (("GS", _GLOBAL_LEAST), ("CS", scale)), scale_peak(chip, sense_ohm, scale, _GLOBAL_LEAST)
