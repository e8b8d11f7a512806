"""Findings on drivers without current control: what the coil lets through, its resistors, and the clamp."""

from __future__ import annotations

from coilbench.driver.clamp import DIODE_VOLT, decay_second
from coilbench.driver.figure_text import amps, ohms, seconds, volts, watts
from coilbench.driver.finding import Notebook, Series, Situation, Weight
from coilbench.driver.regulation import Loop, reachable_ampere

AS_WANTED = 1.1  # a meter, cold copper and rounded labels together
TWICE_THE_HEAT = 2**0.5
OWN_VOLT = 1.1  # of a supply that counts as the motor's own: common practice, 10 % on the voltage of small motors
SUPPLY_MARGIN = 0.9


def assess_uncontrolled(situation: Situation, loop: Loop | None, book: Notebook) -> float | None:
    """What flows where coil, supply and series resistors alone decide, ampere a coil with two phases on."""
    if loop is None:
        book.withhold("reach", "the current that flows: the supply's voltage or the coil's resistance is not known")
        return None
    flows, wanted = reachable_ampere(loop), situation.setting.peak_ampere
    if situation.series is not None:
        _tell_fitted(situation, situation.series, loop, flows, wanted, book)
    if flows <= AS_WANTED * wanted:
        against = "about" if flows > wanted else "no more than"
        fact = (
            f"supply and coil alone hold the current at {amps(flows)} a coil, {against} the {amps(wanted)} to be set"
        )
        book.add(Weight.NOTE, "reach", fact)
        return flows
    own, supply = situation.made_for_volt, loop.supply_volt
    if own is not None and supply <= OWN_VOLT * own:
        fact = f"the motor is made for {volts(own)}: on {volts(supply)} {amps(flows)} a coil flows, as it may"
        book.add(Weight.NOTE, "reach", fact, "it needs no resistor; the driver must carry that")
        return flows
    heat = (flows / wanted) ** 2
    book.add(
        Weight.STOP if flows > TWICE_THE_HEAT * wanted else Weight.WARN,
        "reach",
        f"nothing but the coil limits the current: {amps(flows)} flows, {amps(wanted)} is to be set",
        f"{heat:.2g} times the heat, more than it can take unless its label names this supply",
        f"{needed(situation, loop, wanted)}, or a lower supply",
    )
    return flows


def needed(situation: Situation, loop: Loop, wanted_ampere: float) -> str:
    """The resistors that leave ``wanted_ampere`` a coil with two phases on, where they go, and their heat."""
    fitted = 0.0 if situation.series is None else situation.series.phase_ohm
    each = loop.drive_volt / wanted_ampere - loop.on_ohm + fitted
    heat = wanted_ampere**2 * each
    two = f"{ohms(each)} in series with each common ({watts(heat, 2)} of heat in each)"
    one = (
        f"{ohms(each / 2)} in the one common lead ({watts(2 * heat, 2)} of heat with two phases on), "
        f"or {ohms(each)} in each end lead ({watts(heat, 2)} each)"
    )
    if situation.leads is None:
        return f"{two}; five leads: {one}"
    return one if situation.leads == 5 else two


def assess_clamp(situation: Situation, flowing_ampere: float | None, book: Notebook) -> None:
    """How the clamp lets the current of a half die: slowly through diodes, fast against a zener."""
    chip, henry, coil, supply = (
        situation.chip,
        situation.inductance_henry,
        situation.coil_ohm,
        situation.supply_volt,
    )
    clamp, top = situation.clamp_volt, chip.supply_max_volt
    if clamp and supply is not None and top is not None and supply + clamp > top:
        book.add(
            Weight.STOP,
            "clamp",
            f"a zener of {volts(clamp)} lets the outputs rise to {volts(supply + clamp)}, over the {volts(top)} "
            f"that {chip.chip} can take",
            "it breaks down",
            "a zener of less, or a lower supply",
        )
        return
    if henry is None or coil is None or supply is None:
        book.add(
            Weight.NOTE,
            "clamp",
            "through the clamp diodes alone the current of a half dies slowly",
            "until then it brakes: torque is lost at speed",
            "" if clamp else "for speed, a zener of the supply's voltage from the clamp pin (COM) to the supply",
        )
        book.withhold("clamp", "how fast the clamp lets the current die: supply, coil and inductance are needed")
        return
    ampere = situation.setting.peak_ampere if flowing_ampere is None else flowing_ampere
    ohm = coil + (0.0 if situation.series is None else situation.series.ohm)
    slow = decay_second(henry, ohm, ampere, DIODE_VOLT)
    most = None if top is None else SUPPLY_MARGIN * top - supply
    usual = supply if most is None else min(supply, most)
    zener = clamp or usual
    if zener <= 0:
        return
    fast = decay_second(henry, ohm, ampere, zener + DIODE_VOLT)
    fact = (
        f"through the clamp diodes alone the current of a half takes {seconds(slow)} to die, "
        f"{seconds(fast)} against a zener of {volts(zener)}"
    )
    if clamp:
        book.add(Weight.NOTE, "clamp", fact, "the zener keeps the torque at speed")
        return
    remedy = f"for speed, a zener of {volts(zener)}"
    if most is not None and most > usual:
        remedy += f" to {volts(most, 2)}"
    book.add(
        Weight.NOTE,
        "clamp",
        fact,
        "until then it brakes: torque is lost at speed",
        f"{remedy} from the clamp pin (COM) to the supply, its cathode at the pin",
    )


def _tell_fitted(
    situation: Situation, series: Series, loop: Loop, flows: float, wanted: float, book: Notebook
) -> None:
    if not series.shared:
        heat = flows**2 * series.ohm
        fact = f"{ohms(series.ohm)} fitted for each phase turns {watts(heat, 2)} into heat"
        book.add(Weight.NOTE, "resistor", fact, f"rated for {watts(2 * heat, 2)} or more it stays usable")
        return
    heat = (2 * flows) ** 2 * series.ohm
    fact = f"{ohms(series.ohm)} in the common lead turns {watts(heat, 2)} into heat with two phases on"
    alone = loop.drive_volt / (loop.on_ohm - series.ohm)
    own = situation.made_for_volt
    on_its_own = own is not None and loop.supply_volt <= OWN_VOLT * own
    much = alone > AS_WANTED * wanted and not on_its_own and not situation.full_step
    book.add(
        Weight.WARN if much else Weight.NOTE,
        "resistor",
        fact,
        f"rated for {watts(2 * heat, 2)} or more; with one phase on {amps(alone)} flows"
        + (f", {amps(wanted)} is to be set" if much else ""),
        "switch two phases at a time (full step), or fit one resistor in each end lead" if much else "",
    )
