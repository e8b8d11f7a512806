"""The order of setting a driver, with each caution where the act is."""

from __future__ import annotations

from dataclasses import dataclass

from coilbench.driver.chip import Chip
from coilbench.driver.reference_voltage import Setting
from coilbench.driver.say import amps, ohms, volts


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do; ``caution`` belongs right beside it."""

    act: str
    caution: str = ""


def steps_to_set(setting: Setting) -> tuple[Step, ...]:
    """What to do, in order, to bring ``setting`` about on the board."""
    steps = [
        Step(
            "power off, motor unplugged from the driver",
            "never plug or unplug a motor while the driver has power: the spark kills it",
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
    steps += _the_setting(setting)
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


def _the_setting(setting: Setting) -> list[Step]:
    if setting.vref_volt is not None:
        return _by_trimmer(setting, setting.vref_volt)
    if setting.set_resistor_ohm is not None:
        fit = f"with the power off, fit {ohms(setting.set_resistor_ohm)} from the chip's set pin to ground"
        return [Step(f"{fit}; a trimmer there is set by its resistance, not by a voltage")]
    if setting.wanted_sense_ohm is not None and setting.sense_ohm is not None:
        fixed = f"{ohms(setting.sense_ohm)} gives {amps(setting.peak_ampere)}"
        return [Step(f"nothing to trim: {fixed}; the torque pins choose a share of it")]
    if setting.wanted_sense_ohm is not None:
        fit = f"with the power off, fit sense resistors of {ohms(setting.wanted_sense_ohm)}, rated for the heat"
        return [Step(f"{fit}; nothing else sets the current")]
    if setting.register:
        codes = ", ".join(f"{name} = {code}" for name, code in setting.register)
        return [Step(f"write {codes} into the chip's registers before it is enabled")]
    return [
        Step(
            "nothing to set: put the series resistors into the common leads, rated for their heat",
            "series resistors get hot: mount them clear of wires and plastic",
        )
    ]


def _by_trimmer(setting: Setting, vref_volt: float) -> list[Step]:
    chip = setting.chip
    value = volts(vref_volt)
    return [
        Step(
            "turn the trimmer to its low end; on most boards that is anticlockwise, but not on all: watch the meter"
        ),
        Step(_power_for_reference(chip), "check the supply's polarity first; a fuse in a high-current rail"),
        Step(
            "meter on direct volts: black probe on logic ground, red on the trimmer's wiper or the reference pin",
            "a probe that slips from a pin to its neighbour can kill the chip",
        ),
        Step(
            f"turn the trimmer slowly with an insulated screwdriver until the meter shows {value}",
            "a metal blade on the trimmer's frame can short it",
        ),
    ]


def _power_for_reference(chip: Chip) -> str:
    if chip.vref_needs_supply == "yes":
        return "motor still unplugged, switch on the motor supply: this chip makes its reference from it"
    if chip.vref_needs_supply == "no":
        return "motor still unplugged, switch on the logic supply alone: the reference comes from it"
    return "motor still unplugged, switch on the logic supply; if the reference reads zero, the motor supply too"


def as_text(steps: tuple[Step, ...]) -> list[str]:
    """Numbered lines, each caution under its act."""
    lines = []
    for number, step in enumerate(steps, 1):
        lines.append(f"{number}. {step.act}")
        if step.caution:
            lines.append(f"   caution: {step.caution}")
    return lines
