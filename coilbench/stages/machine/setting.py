"""What a machine's driver is set to for the current of its motor."""

from __future__ import annotations

from coilbench.driver.chip import Setting
from coilbench.driver.finding import Notebook
from coilbench.driver.findings_setting import assess_pins
from coilbench.driver.findings_supply import assess_volt
from coilbench.driver.reference_voltage import set_peak
from coilbench.errors import CoilbenchError
from coilbench.quantity import parse_marking
from coilbench.stages.driver.chips import chip_called
from coilbench.stages.machine.machine import DriverBoard, MachineAxis


def vref_of(board: DriverBoard, peak_ampere: float) -> float | None:
    """The reference voltage, volt; None where no voltage sets it, or chip or sense resistor isn't known."""
    setting = _setting(board, peak_ampere)
    return None if setting is None else setting.vref_volt


def setting_text(board: DriverBoard, peak_ampere: float) -> str:
    """What to set, a voltage or whatever the chip takes, in a few words; empty where that isn't known."""
    setting = _setting(board, peak_ampere)
    return "" if setting is None else setting.chip.formula.means_text(setting)


def against_its_driver(axis: MachineAxis) -> tuple[str, ...]:
    """What there is to say of the supply, and of the microsteps, that the axis gives to its driver."""
    chip = chip_called(axis.driver.at_hand)
    if chip is None:
        return ()
    book = Notebook()
    assess_volt(chip, axis.supply.volt, book)
    assess_pins(chip, axis.microsteps, book)
    return tuple(each.text for each in book.findings)


def _setting(board: DriverBoard, peak_ampere: float) -> Setting | None:
    chip = chip_called(board.at_hand)
    if chip is None:
        return None
    try:
        return set_peak(chip, peak_ampere, parse_marking(board.sense) if board.sense else None)
    except CoilbenchError:
        return None
