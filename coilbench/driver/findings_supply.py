"""Findings on the supply and the logic levels."""

from __future__ import annotations

import math

from coilbench.cautions import QUALIFIED
from coilbench.driver.chip import Chip
from coilbench.driver.figure_text import volts
from coilbench.driver.finding import Notebook, Situation, Weight

SUPPLY_MARGIN = 0.9  # common practice: leads and braking motors push the rail over what the supply gives
RULE_VOLT = 32.0  # supply at most 32 x root of the inductance in mH: a rule of thumb of driver makers
# IEC 60364-4-41, 414.4.5: direct voltage up to which extra-low voltage may stay bare in dry rooms (from memory).
EXTRA_LOW_VOLT = 60.0


def assess_supply(situation: Situation, book: Notebook) -> None:
    """Supply against the chip's range and against the coil's inductance."""
    supply, chip = situation.supply_volt, situation.chip
    if supply is None:
        book.withhold("supply", "supply against the chip's limits: no supply voltage given")
        return
    assess_volt(chip, supply, book)
    if chip.formula.regulates:
        _assess_rule(situation, supply, book)


def assess_volt(chip: Chip, supply: float, book: Notebook) -> None:
    """Whether a supply is one for the chip, and for bare hands."""
    shown = volts(supply)
    top, least = chip.supply_max_volt, chip.supply_min_volt
    if top is None:
        book.withhold("supply", f"supply against the chip's maximum: not found for {chip.chip}")
    elif supply > top:
        book.add(
            Weight.STOP,
            "supply",
            f"{shown} is over the {volts(top)} that {chip.chip} can take",
            "it will be destroyed",
            "another supply or another driver",
        )
    elif supply > SUPPLY_MARGIN * top:
        book.add(
            Weight.WARN,
            "supply",
            f"{shown} is within a tenth of the {volts(top)} that {chip.chip} can take",
            "a braking motor or long leads can push the rail over it",
            f"stay at or under {volts(SUPPLY_MARGIN * top)}, with 100 uF or more at the driver",
        )
    if least is not None and supply < least:
        book.add(
            Weight.STOP,
            "supply",
            f"{shown} is under the {volts(least)} that {chip.chip} needs",
            "it will not run",
            "a higher supply voltage",
        )
    if supply > EXTRA_LOW_VOLT:
        book.add(
            Weight.WARN,
            "supply",
            f"{volts(supply)} is over the {volts(EXTRA_LOW_VOLT)} DC that bare hands may meet",
            "a touch can hurt or worse",
            f"a lower supply voltage, or covers; {QUALIFIED}",
        )


def _assess_rule(situation: Situation, supply: float, book: Notebook) -> None:
    if situation.inductance_henry is None:
        book.withhold(
            "inductance", "supply against the rule of thumb for inductance: the coil's inductance is not known"
        )
        return
    rule = RULE_VOLT * math.sqrt(situation.inductance_henry * 1e3)
    top, chip = situation.chip.supply_max_volt, situation.chip.chip
    caps = [(rule, ""), (EXTRA_LOW_VOLT, "extra-low voltage ends it at {}")]
    if top is not None:
        caps.append((SUPPLY_MARGIN * top, f"{chip} ends it at {{}}"))
    ceiling, by = min(caps)
    fact = f"the rule of thumb, 32 times the root of the inductance in mH, gives {volts(rule)} at most"
    if by:
        fact += f"; {by.format(volts(ceiling))}"
    if supply > rule:
        book.add(
            Weight.WARN,
            "inductance",
            f"{fact}; the supply is {volts(supply)}",
            "ripple heats the motor's iron even at rest",
            "a lower supply voltage",
        )
        return
    share = supply / ceiling
    more = ""
    if supply < 0.3 * rule:
        more = "torque falls off at low speed already"
    elif share < 0.7:
        more = f"up to {volts(ceiling)} there is room for more speed"
    book.add(Weight.NOTE, "inductance", f"{fact}; the supply is at {share:.0%} of that", more)


def assess_logic(situation: Situation, book: Notebook) -> None:
    """The controller's levels against the chip's inputs."""
    chip, logic = situation.chip, situation.logic_volt
    if logic is None:
        return
    if chip.logic_high_volt is None:
        book.withhold(
            "logic",
            f"the level {chip.chip} takes for high was not found"
            + (f": {chip.logic_note}" if chip.logic_note else ""),
        )
        return
    need = volts(chip.logic_high_volt)
    if logic < chip.logic_high_volt:
        book.add(
            Weight.STOP,
            "logic",
            f"{volts(logic)} logic is under the {need} that {chip.chip} takes for high",
            "steps go missing or nothing moves",
            "a level shifter",
        )
    else:
        book.add(
            Weight.NOTE,
            "logic",
            f"{volts(logic)} logic is over the {need} that {chip.chip} takes for high",
        )
