"""Findings on the heat in the chip, and on what its cooling carries."""

from __future__ import annotations

from coilbench.driver.carried import MARGIN_KELVIN, Carried, carried, cooled_kelvin_per_watt
from coilbench.driver.chip import SQRT2
from coilbench.driver.figure_text import amps, volts, watts
from coilbench.driver.finding import Notebook, Situation, Weight
from coilbench.driver.heat import Heat, load_of, settled_heat


def assess_heat(situation: Situation, flowing_ampere: float | None, book: Notebook) -> Heat | None:
    """Heat in the chip against its limit: conduction, switching and idle, with both coils on.

    ``flowing_ampere`` is what can flow: less than was set, or more where nothing chops.
    """
    chip = situation.chip
    rms = situation.running_rms_ampere
    if flowing_ampere is not None:
        rms = min(rms, flowing_ampere) if chip.formula.regulates else flowing_ampere
    duty = 0.0
    if situation.supply_volt is not None and situation.coil_ohm is not None:
        duty = min(rms * situation.coil_ohm / situation.supply_volt, 1.0)
    sine = chip.formula.regulates and situation.steps > 1
    load = load_of(chip, rms, situation.supply_volt, sine=sine, duty=duty)
    cooled = cooled_kelvin_per_watt(chip, chip.thermal_kelvin_per_watt, situation.sink_kelvin_per_watt)
    heat = settled_heat(chip, load, situation.ambient_celsius, cooled)
    if heat is None:
        book.withhold("heat", f"heat in the chip: the bridge resistance of {chip.chip} was not found")
        return None
    if heat.junction_celsius is None or chip.junction_max_celsius is None:
        book.withhold(
            "heat",
            f"the temperature in the chip: its thermal resistance was not found ({watts(heat.watt, 2)} of heat)",
        )
        return heat
    fact = f"{_parts(heat)} in the chip{_taken(situation)}, {heat.junction_celsius:.0f} °C inside "
    fact += f"{_on(situation)} at {situation.ambient_celsius:.0f} °C around"
    worse = "; small boards cool worse" if chip.thermal_on == "board" else ""
    _assess_junction(fact, heat.junction_celsius, chip.junction_max_celsius, worse, book)
    return heat


def assess_cooling(situation: Situation, flowing_ampere: float | None, book: Notebook) -> Carried | None:
    """What flows against what the chip carries for good as it is cooled."""
    chip = situation.chip
    found = carried(chip, situation.sink_kelvin_per_watt)
    if found is None:
        book.withhold(
            "cooling", f"what a bare board of {chip.chip} carries for good: not found; its maximum is no guide"
        )
        return None
    used, most, kind = situation.setting.peak_ampere, found.peak_ampere, "peak"
    if not chip.formula.regulates:
        used, kind = used if flowing_ampere is None else flowing_ampere, "a coil"
    elif situation.steps == 1:  # steady currents heat by what they are, not by a sine's peak
        used, most, kind = situation.running_rms_ampere, most / SQRT2, "RMS"
    if flowing_ampere is not None:
        used = min(used, flowing_ampere)
    if used <= most * (1 + 1e-9):
        return found
    memory = " (from memory)" if found.basis == "printed" and chip.from_memory("cool_free_ampere") else ""
    by = "" if found.basis == "printed" else ", reckoned from its heat"
    how = "without cooling" if situation.sink_kelvin_per_watt is None else "with that heat sink"
    book.add(
        Weight.WARN,
        "cooling",
        f"{amps(used)} {kind} is over the {amps(most)} {kind} that a {chip.chip} board carries {how}{by}{memory}",
        "it overheats, cuts out and loses steps",
        "moving air, or less current"
        if situation.sink_kelvin_per_watt
        else "a heat sink and moving air, or less current",
    )
    return found


def _assess_junction(fact: str, junction: float, limit: float, worse: str, book: Notebook) -> None:
    if junction > limit:
        book.add(
            Weight.STOP,
            "heat",
            fact,
            f"it shuts off or fails over {limit:.0f} °C",
            "less current, or a heat sink and moving air",
        )
    elif junction > limit - MARGIN_KELVIN:
        book.add(
            Weight.WARN,
            "heat",
            fact,
            f"near its limit of {limit:.0f} °C{worse}",
            "a heat sink and moving air",
        )
    else:
        book.add(Weight.NOTE, "heat", fact, f"its limit is {limit:.0f} °C{worse}")


def _parts(heat: Heat) -> str:
    if not heat.switching_watt:
        return f"{watts(heat.watt, 2)} of heat"
    parts = f"bridges {watts(heat.conduction_watt, 2)}, switching {watts(heat.switching_watt, 2)}"
    return f"{watts(heat.watt, 2)} of heat ({parts}, idle {watts(heat.idle_watt, 2)})"


def _taken(situation: Situation) -> str:
    if situation.supply_volt is not None or not situation.chip.formula.regulates:
        return ""
    return f" (on {volts(load_of(situation.chip, 0.0, None).supply_volt)}, none being given)"


def _on(situation: Situation) -> str:
    if situation.sink_kelvin_per_watt is not None:
        return "with the heat sink"
    return "on the board of its document" if situation.chip.thermal_on == "board" else "by itself in free air"
