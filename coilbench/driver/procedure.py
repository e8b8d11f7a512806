"""The order of setting a driver, with each caution where the act is."""

from __future__ import annotations

from collections.abc import Sequence

from coilbench.cautions import LIVE_DRIVER
from coilbench.driver.chip import Step
from coilbench.driver.figure_text import amps, ohms
from coilbench.driver.finding import Judgement, Situation
from coilbench.driver.microstep_pins import pin_levels
from coilbench.driver.supply_current import most_ampere, standing_ampere


def steps_to_set(situation: Situation, judgement: Judgement, wires: Sequence[str] = ()) -> tuple[Step, ...]:
    """What to do, in order, to bring the setting about on the board; ``wires`` say which lead goes where."""
    setting, chip = situation.setting, situation.chip
    steps = [
        Step(
            "power off, motor unplugged from the driver",
            LIVE_DRIVER,
        )
    ]
    if setting.sense_ohm is not None and not chip.sense_inside:
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
    most = amps(most_ampere(situation, judgement), 2)
    steps.append(
        Step(
            "put a fuse into the supply's lead, at the supply: sized for the wire and for the supply's current, "
            f"at most about {most} here, not for the coils'",
            "a computer supply gives enough to set a wire on fire",
        )
    )
    steps += _pin_steps(situation)
    steps += chip.formula.means_steps(setting) if chip.formula.regulates else _series_steps(situation)
    steps += [
        Step(f"power off, wait for the supply to run down, then connect the motor{_wired(wires)}"),
        Step(
            "power on",
            "keep fingers and cloth off the shaft: it may twitch",
        ),
        Step(_ammeter(situation, judgement)),
        Step(
            "leave it powered for ten minutes, then feel for heat with care",
            "motor and chip may be hot enough to burn; a heat sink's edge too",
        ),
    ]
    if setting.vref_volt is not None:
        steps.append(Step("measure the reference once more, hot, and correct it"))
    steps.append(
        Step(
            "turn the axis by hand only slowly while the motor is on the driver",
            "turned fast it is a generator and feeds the driver, switched off or not",
        )
    )
    return tuple(steps)


def _wired(wires: Sequence[str]) -> str:
    return f": {'; '.join(wires)}" if wires else ", each coil to its own pair of outputs"


def _pin_steps(situation: Situation) -> list[Step]:
    """The pins that choose the microsteps, where the chip has any."""
    chip, steps = situation.chip, situation.steps
    if not chip.formula.regulates or len(chip.microsteps) < 2:
        return []
    wanted = "full step" if steps == 1 else f"1/{steps} step"
    levels = [f"{pin} {level}" for pin, level in pin_levels(chip.chip, steps)]
    return [Step(f"set the microstep pins for {wanted}: {', '.join(levels) or 'as the board is marked'}")]


def _series_steps(situation: Situation) -> list[Step]:
    if situation.series is None:
        return []
    where = "in the one common lead" if situation.series.shared else "in each common lead, or in each end lead"
    return [
        Step(
            f"{ohms(situation.series.ohm)} {where}, rated for its heat",
            "series resistors get hot: mount them clear of wires and plastic",
        )
    ]


def _ammeter(situation: Situation, judgement: Judgement) -> str:
    standing = standing_ampere(situation, judgement)
    about = "" if standing is None else f" about {amps(standing, 2)} at rest"
    if not situation.chip.formula.regulates:
        return f"an ammeter in the supply's lead shows both coils together:{about or ' half of it is each coil'}"
    shows = f"shows{about}, " if about else "shows "
    return (
        f"an ammeter in the supply's lead {shows}less than the coil gets: a chopper trades volts for amperes; "
        "do not set the current by it"
    )


def step_lines(steps: tuple[Step, ...]) -> list[str]:
    """Numbered lines with a box to tick, each caution under its act."""
    lines = []
    for number, step in enumerate(steps, 1):
        lines.append(f"[ ] {number}. {step.act}")
        if step.caution:
            lines.append(f"       caution: {step.caution}")
    return lines
