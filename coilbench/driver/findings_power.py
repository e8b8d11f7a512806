"""Findings on the supply, the logic levels and the heat in the chip."""

from __future__ import annotations

import math

from coilbench.driver.figure_text import amps, volts, watts
from coilbench.driver.finding import Notebook, Situation, Weight

SUPPLY_MARGIN = 0.9  # common practice: leads and braking motors push the rail over what the supply gives
RULE_VOLT = 32.0  # supply at most 32 x root of the inductance in mH: a rule of thumb of driver makers
JUNCTION_MARGIN_KELVIN = 25.0


def assess_supply(situation: Situation, book: Notebook) -> None:
    """Supply against the chip's range and against the coil's inductance."""
    supply, chip = situation.supply_volt, situation.chip
    if supply is None:
        book.withhold("supply", "supply against the chip's limits: no supply voltage given")
        return
    shown = volts(supply)
    top, least = chip.supply_max_volt, chip.supply_min_volt
    if top is None:
        book.withhold("supply", f"supply against the chip's maximum: not found for {chip.chip}")
    elif supply > top:
        book.add(
            Weight.STOP,
            "supply",
            f"{shown} is over the {volts(top)} that {chip.chip} stands",
            "it will be destroyed",
            "another supply or another driver",
        )
    elif supply > SUPPLY_MARGIN * top:
        book.add(
            Weight.WARN,
            "supply",
            f"{shown} is within a tenth of the {volts(top)} that {chip.chip} stands",
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
    _assess_rule(situation, supply, book)


def _assess_rule(situation: Situation, supply: float, book: Notebook) -> None:
    if situation.inductance_henry is None:
        book.withhold(
            "inductance", "supply against the rule of thumb for inductance: the coil's inductance is not known"
        )
        return
    ceiling = RULE_VOLT * math.sqrt(situation.inductance_henry * 1e3)
    fact = f"the rule of thumb, 32 times the root of the inductance in mH, gives {volts(ceiling)} at most"
    if supply > ceiling:
        book.add(
            Weight.WARN,
            "inductance",
            f"{fact}; the supply is {volts(supply)}",
            "ripple heats the motor's iron even at rest",
            "a lower supply voltage",
        )
    else:
        share = supply / ceiling
        slow = (
            "torque falls off at low speed already"
            if share < 0.3
            else "there is room upwards for more speed"
            if share < 0.7
            else ""
        )
        book.add(Weight.NOTE, "inductance", f"{fact}; the supply is at {share:.0%} of it", slow)


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


def assess_heat(
    situation: Situation, flowing_ampere: float | None, book: Notebook
) -> tuple[float | None, float | None]:
    """Heat in the chip against its limit without cooling. Returns its watts and junction temperature.

    Both coils on: 2 x bridge resistance x rms current squared, as the makers' documents have it, plus the bridge's
    fixed drop; switching and idle loss left out. ``flowing_ampere`` caps what can flow.
    """
    chip = situation.chip
    rms = situation.running_rms_ampere
    if flowing_ampere is not None:
        rms = min(rms, flowing_ampere)
    _assess_cool_free(situation, rms, book)
    bridge = chip.bridge_max_ohm or chip.bridge_ohm
    if bridge is None:
        book.withhold("heat", f"heat in the chip: the bridge resistance of {chip.chip} was not found")
        return None, None
    watt = 2 * (bridge * rms**2 + (chip.drop_volt or 0.0) * rms)
    if chip.thermal_kelvin_per_watt is None or chip.junction_max_celsius is None:
        book.withhold(
            "heat",
            f"the temperature in the chip: its thermal resistance was not found ({watts(watt, 2)} of heat)",
        )
        return watt, None
    junction = situation.ambient_celsius + watt * chip.thermal_kelvin_per_watt
    limit = chip.junction_max_celsius
    fact = f"{watts(watt, 2)} of heat in the bridges, {junction:.0f} C inside on the board of its document"
    fact += f" at {situation.ambient_celsius:.0f} C around"
    if junction > limit:
        book.add(
            Weight.STOP,
            "heat",
            fact,
            f"it shuts off or fails over {limit:.0f} C",
            "less current, or a heat sink and moving air",
        )
    elif junction > limit - JUNCTION_MARGIN_KELVIN:
        book.add(
            Weight.WARN,
            "heat",
            fact,
            f"near its limit of {limit:.0f} C; small boards cool worse",
            "a heat sink and moving air",
        )
    else:
        book.add(Weight.NOTE, "heat", fact, f"its limit is {limit:.0f} C; small boards cool worse than that one")
    return watt, junction


def _assess_cool_free(situation: Situation, rms_ampere: float, book: Notebook) -> None:
    chip = situation.chip
    if chip.cool_free_ampere is None:
        return
    peak = situation.setting.peak_ampere
    used = rms_ampere if chip.cool_free_kind == "rms" else peak
    memory = " (from memory)" if chip.from_memory("cool_free_ampere") else ""
    if used > chip.cool_free_ampere:
        book.add(
            Weight.WARN,
            "cooling",
            f"{amps(used)} {chip.cool_free_kind} is over the {amps(chip.cool_free_ampere)} "
            f"{chip.cool_free_kind} that a {chip.chip} board carries without cooling{memory}",
            "it overheats, cuts out and skips steps",
            "a heat sink and moving air, or less current",
        )
