"""The order of setting a driver, with each caution where the act is."""

from __future__ import annotations

from coilbench.cautions import LIVE_DRIVER
from coilbench.driver.chip import Setting, Step
from coilbench.driver.figure_text import ohms


def steps_to_set(setting: Setting) -> tuple[Step, ...]:
    """What to do, in order, to bring ``setting`` about on the board."""
    steps = [
        Step(
            "power off, motor unplugged from the driver",
            LIVE_DRIVER,
        )
    ]
    if setting.sense_ohm is not None:
        steps.append(
            Step(
                f"read the marking on the sense resistors: {ohms(setting.sense_ohm)} is counted on",
                "a resistor of half the value doubles the current",
            )
        )
    steps.append(
        Step(
            "fit 100 uF or more, rated over the supply, right at the driver's supply pins, plus to plus",
            "a capacitor the wrong way round bursts; one from a scrapped supply may still be charged",
        )
    )
    steps += setting.chip.formula.means_steps(setting)
    steps += [
        Step(
            "power off, wait for the supply to run down, plug in the motor, then power on",
            "keep fingers and cloth off the shaft: it may jump",
        ),
        Step(
            "let it stand powered for ten minutes, then feel for heat with care",
            "motor and chip may be hot enough to burn; a heat sink's edge too",
        ),
    ]
    if setting.vref_volt is not None:
        steps.append(Step("measure the reference once more, hot, and correct it"))
    return tuple(steps)


def step_lines(steps: tuple[Step, ...]) -> list[str]:
    """Numbered lines, each caution under its act."""
    lines = []
    for number, step in enumerate(steps, 1):
        lines.append(f"{number}. {step.act}")
        if step.caution:
            lines.append(f"   caution: {step.caution}")
    return lines
