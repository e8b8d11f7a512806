"""Can it work at all: everything there is to say about a driver setting, most serious first."""

from __future__ import annotations

from coilbench.driver.chip import Chip
from coilbench.driver.finding import Judgement, Notebook, Situation, Weight
from coilbench.driver.findings_heat import assess_cooling, assess_heat
from coilbench.driver.findings_regulation import assess_floor, assess_quiet_mode, assess_reach, loop_of
from coilbench.driver.findings_series import assess_clamp, assess_uncontrolled
from coilbench.driver.findings_setting import (
    assess_current,
    assess_range,
    assess_steps,
    assess_vref,
    hotter_setting,
    tell_hotter,
)
from coilbench.driver.findings_supply import assess_logic, assess_supply
from coilbench.driver.reference_voltage import current_range
from coilbench.driver.regulation import microstep_ampere


def judgement_of(situation: Situation) -> Judgement:
    """All findings on a setting; what can't be found for want of a figure is withheld and named."""
    book = Notebook()
    setting, chip = situation.setting, situation.chip
    _assess_connection(situation, book)
    assess_vref(setting, book)
    assess_supply(situation, book)
    loop = loop_of(situation)
    if chip.formula.regulates:
        reach = assess_reach(situation, loop, book)
    else:
        reach = assess_uncontrolled(situation, loop, book)
        assess_clamp(situation, reach, book)
    assess_current(situation, reach, book)
    rising, falling = assess_floor(situation, loop, book)
    quiet = assess_quiet_mode(situation, book)
    assess_logic(situation, book)
    heat = assess_heat(situation, reach, book)
    held = assess_cooling(situation, reach, book)
    hotter = hotter_setting(situation, None if held is None else held.peak_ampere)
    span = current_range(setting)
    if chip.formula.regulates:
        assess_range(setting, span, book)
    if hotter is not None and not any(each.weight is Weight.STOP for each in book.findings):
        tell_hotter(situation, hotter, book)
    assess_steps(situation, book)
    _assess_source(chip, book)
    return Judgement(
        findings=tuple(sorted(book.findings, key=lambda finding: finding.weight)),
        withheld=tuple(book.withheld),
        reach_ampere=reach,
        floor_ampere=None if rising is None else rising.mean_ampere,
        floor_peak_ampere=None if rising is None else rising.peak_ampere,
        falling_floor_ampere=None if falling is None else falling.mean_ampere,
        smallest_step_ampere=None if situation.steps == 1 else microstep_ampere(setting.peak_ampere, situation.steps),
        quiet_mode_ampere=quiet,
        heat=heat,
        carried_ampere=None if held is None else held.peak_ampere,
        hotter=hotter,
        range_ampere=span,
    )


def _assess_source(chip: Chip, book: Notebook) -> None:
    if chip.status == "memory":
        book.add(
            Weight.WARN,
            "source",
            f"the figures of {chip.chip} are not verified: they were not read in its own document",
            "they may be wrong",
            "check them in its data sheet before relying on them",
        )
    elif chip.status == "own":
        book.add(Weight.NOTE, "source", f"the figures of {chip.chip} are your own")
    elif chip.memory:
        words = ", ".join(each.split(":")[0].replace("_", " ") for each in chip.memory)
        book.add(Weight.NOTE, "source", f"verified in {chip.document.split(';')[0]}, but from memory: {words}")
    if chip.note:
        book.add(Weight.NOTE, "chip", chip.note)
    if chip.decay_note:
        book.add(Weight.NOTE, "decay", f"decay: {chip.decay_note}")
    if chip.conflict:
        book.add(Weight.NOTE, "conflict", f"documents disagree: {chip.conflict}")


def _assess_connection(situation: Situation, book: Notebook) -> None:
    chip, connection = situation.chip, situation.connection
    if situation.half_winding and chip.motor == "bipolar":
        book.add(
            Weight.WARN,
            "connection",
            "the current is that of one half-winding and no connection is chosen",
            "right for half-coil; in series it takes 0.71 times as much or gets twice the heat",
            "choose the connection first",
        )
    if connection is None or (connection == "unipolar") == (chip.motor == "unipolar"):
        return
    book.add(
        Weight.STOP,
        "connection",
        f"{chip.chip} drives {chip.motor} windings, the motor's connection is {connection}",
        "they do not go together",
        "choose the other kind of driver, or connect the motor another way",
    )
