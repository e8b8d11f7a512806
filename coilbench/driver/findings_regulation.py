"""Findings on whether the chopper can do what the set-point asks."""

from __future__ import annotations

from coilbench.driver.clamp import BODY_DIODE_VOLT, gone_in_ampere
from coilbench.driver.figure_text import amps, seconds, volts
from coilbench.driver.finding import Notebook, Situation, Weight
from coilbench.driver.regulation import (
    Floor,
    Loop,
    chop_floor,
    clipped_position_error,
    levels_below,
    microstep_ampere,
    quiet_mode_floor,
    reachable_ampere,
    standing_share,
)


def loop_of(situation: Situation) -> Loop | None:
    """The circuit of one coil, or None while supply, coil or bridge are not known."""
    chip = situation.chip
    if situation.supply_volt is None or situation.coil_ohm is None or chip.bridge_ohm is None:
        return None
    return Loop(
        situation.supply_volt,
        situation.coil_ohm,
        chip.bridge_ohm,
        _outside_ohm(situation),
        chip.drop_volt or 0.0,
        situation.inductance_henry,
    )


def _outside_ohm(situation: Situation) -> float:
    """What lies in the coil's way beside the bridge: the sense resistor, or those fitted where nothing chops."""
    if situation.series is not None and not situation.chip.formula.regulates:
        return situation.series.phase_ohm
    return situation.setting.sense_ohm or situation.chip.internal_sense_ohm or 0.0


def missing_for_loop(situation: Situation) -> str:
    """What is not known of the circuit, in words."""
    missing = []
    if situation.supply_volt is None:
        missing.append("the supply's voltage")
    if situation.coil_ohm is None:
        missing.append("the coil's resistance")
    if situation.chip.bridge_ohm is None:
        missing.append(f"the bridge resistance of {situation.chip.chip}")
    return " and ".join(missing)


def assess_reach(situation: Situation, loop: Loop | None, book: Notebook) -> float | None:
    """Can supply and coil reach the set-point? Returns the reachable current, ampere."""
    if loop is None:
        book.withhold("reach", f"the current that can be reached: {missing_for_loop(situation)} not known")
        return None
    reach, peak = reachable_ampere(loop), situation.setting.peak_ampere
    wanted = peak if situation.steps > 1 else (situation.setting.full_step_ampere or peak)
    can, asked = amps(reach), f"{amps(wanted)} {'peak' if situation.steps > 1 else 'a coil'}"
    if reach >= wanted:
        if reach < 1.3 * wanted:
            book.add(
                Weight.NOTE,
                "reach",
                f"supply and coil can reach {can}, little over the {asked} set",
                "a warm winding takes away up to a third of that, and it falls off at low speed",
                "a higher supply voltage",
            )
        return reach
    consequence = f"the driver never chops: {can} flows whatever the trimmer says, with no regulation"
    if situation.steps > 1:
        off = clipped_position_error(peak, reach)
        consequence += f", microsteps are up to {off:.0%} of a full step out of place"
        still = standing_share(peak, reach)
        if still > 0:
            consequence += f" and over {still:.0%} of each full step they do not move the shaft at all"
    need = wanted * loop.on_ohm + loop.drop_volt
    book.add(
        Weight.STOP if reach < 0.7 * wanted else Weight.WARN,
        "reach",
        f"{asked} is set but supply and coil reach {can} at most",
        consequence,
        f"set {amps(0.8 * reach, 2)} or less, connect the coils for less resistance, "
        f"or use a supply well over {volts(need)}",
    )
    return reach


def assess_floor(situation: Situation, loop: Loop | None, book: Notebook) -> tuple[Floor | None, Floor | None]:
    """The smallest current the chopper can hold, while a level rises and (mixed decay) while it falls."""
    chip, off = situation.chip, situation.chip.off_second()
    if not chip.formula.regulates:
        return None, None
    if chip.motor == "unipolar":
        return _assess_unipolar_floor(situation, off, book), None
    if loop is None:
        book.withhold("floor", f"the smallest current the chopper holds: {missing_for_loop(situation)} not known")
        return None, None
    if chip.blank_second is None or off is None:
        gone = "blanking time" if chip.blank_second is None else "off time"
        book.withhold(
            "floor",
            f"the smallest current the chopper holds: the {gone} of {chip.chip} is not known or set outside it",
        )
        return None, None
    fast = 1.0 if chip.decay == "fast" else chip.fast_fraction
    rising = chop_floor(loop, chip.blank_second, off, (fast or 0.0) if chip.decay in ("mixed", "fast") else 0.0)
    falling = (
        chop_floor(loop, chip.blank_second, off, fast) if chip.decay == "mixed-falling" and fast is not None else None
    )
    _assess_floor_levels(situation, rising, falling, book)
    if situation.inductance_henry is None:
        book.withhold("ripple", "the ripple on top of the floor: the coil's inductance is not known")
    return rising, falling


def _assess_unipolar_floor(situation: Situation, off_second: float | None, book: Notebook) -> Floor | None:
    """The current that an off half loses in one off time, against the supply and a body diode: below it the current
    is gone before the next on time, and its mean is no more what was set."""
    supply, coil, henry = situation.supply_volt, situation.coil_ohm, situation.inductance_henry
    if supply is None or coil is None or henry is None or off_second is None:
        needs = "supply, coil and inductance are needed" if off_second is not None else "its off time is not known"
        book.withhold("floor", f"the smallest current the chopper holds: {needs}")
        return None
    least = gone_in_ampere(henry, coil, supply + BODY_DIODE_VOLT, off_second)
    fact = f"in each off time of {seconds(off_second)} the current of an off half falls by {amps(least, 2)}"
    lowest = microstep_ampere(situation.setting.peak_ampere, situation.steps)
    if lowest >= least:
        book.add(Weight.NOTE, "floor", fact, f"the smallest level used, {amps(lowest, 2)}, is above that and is held")
    else:
        fate = f"the smallest level used, {amps(lowest, 2)}, is gone before the next on time: less flows than is set"
        book.add(Weight.WARN, "floor", fact, fate, "a lower supply voltage, or coarser steps")
    return Floor(least, least)


def _assess_floor_levels(situation: Situation, rising: Floor, falling: Floor | None, book: Notebook) -> None:
    peak, steps, chip = situation.setting.peak_ampere, situation.steps, situation.chip
    highest = peak if steps > 1 else (situation.setting.full_step_ampere or peak)
    smallest = microstep_ampere(peak, steps) if steps > 1 else highest
    left = amps(rising.mean_ampere, 2)
    fact = f"blanking of {chip.blank_us:g} us leaves about {left} in a coil however low its level is set"
    if rising.peak_ampere <= smallest:
        held = f"the smallest level used, {amps(smallest, 2)}, is above that and is held"
        book.add(Weight.NOTE, "floor", fact, held)
        return
    remedy = "a lower supply voltage, coarser microsteps, or mixed decay both ways where the chip has it"
    tempered = ""
    if chip.decay == "adaptive":
        tempered = "; this chip takes some of it off again with fast decay of its own, so this is the worst case"
    elif falling is not None:
        tempered = f"; while a level falls, mixed decay brings it down to about {amps(falling.mean_ampere, 2)}"
    elif chip.decay == "" or (chip.decay == "mixed" and chip.fast_fraction is None):
        tempered = "; this counts on slow decay, mixed or fast decay lowers it"
    if rising.peak_ampere > highest:
        fate = f"that is more than the {amps(highest)} set: a rising level is not held{tempered}"
        remedy = "a lower supply voltage, mixed or fast decay, or a chip with a shorter blanking time"
        partly = chip.decay == "adaptive" or falling is not None  # held at least while a level falls
        book.add(Weight.WARN if partly else Weight.STOP, "floor", fact, fate, remedy)
        return
    lost = levels_below(peak, steps, rising.peak_ampere)
    upto = amps(microstep_ampere(peak, steps, lost), 2)
    fate = (
        f"of {steps} microsteps the first {lost} after zero current (up to {upto}) are not followed, then all at once"
    )
    serious = lost > 0.15 * steps and chip.decay != "adaptive"
    book.add(Weight.WARN if serious else Weight.NOTE, "floor", fact, fate + tempered, remedy)


def assess_quiet_mode(situation: Situation, book: Notebook) -> float | None:
    """The lower end, RMS ampere, of the quiet voltage mode of chips that have one."""
    duty = situation.chip.quiet_mode_duty
    if duty is None or situation.supply_volt is None or situation.coil_ohm is None:
        return None
    least = quiet_mode_floor(duty, situation.supply_volt, situation.coil_ohm)
    rms = situation.setting.rms_ampere
    fact = f"the chip's quiet voltage mode tunes itself only above {amps(least)} RMS"
    if rms < least:
        book.add(
            Weight.WARN,
            "quiet mode",
            fact,
            f"the {amps(rms)} RMS set is below: it runs with more current than set",
            "use the chip's chopper mode, or a lower supply voltage",
        )
    else:
        book.add(Weight.NOTE, "quiet mode", fact, "the current set is above that")
    return least
