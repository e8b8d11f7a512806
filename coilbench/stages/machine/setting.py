"""What a machine's driver is set to for the current of its motor."""

from __future__ import annotations

from coilbench.driver.reference_voltage import set_peak
from coilbench.errors import CoilbenchError
from coilbench.quantity import parse_marking
from coilbench.stages.driver.chips import chip_called
from coilbench.stages.machine.machine import DriverBoard


def vref_of(board: DriverBoard, peak_ampere: float) -> float | None:
    """The reference voltage, volt; None where no voltage sets it, or chip or sense resistor isn't known."""
    chip = chip_called(board.at_hand)
    if chip is None:
        return None
    try:
        sense = parse_marking(board.sense) if board.sense else None
        return set_peak(chip, peak_ampere, sense).means.vref_volt
    except CoilbenchError:
        return None
