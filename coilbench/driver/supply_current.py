"""What flows in the supply's lead, which is not what flows in the coils."""

from __future__ import annotations

from coilbench.driver.finding import Judgement, Situation


def standing_ampere(situation: Situation, judgement: Judgement) -> float | None:
    """From the supply, both coils on at a standstill; None while supply, coil or the chip's heat isn't known.

    A chopper takes the power of coils and chip from it, and that at the supply's voltage. Without chopping both
    coils' current comes from it.
    """
    if not situation.chip.formula.regulates:
        return None if judgement.reach_ampere is None else 2 * judgement.reach_ampere
    supply, coil, heat = situation.supply_volt, situation.coil_ohm, judgement.heat
    if supply is None or coil is None or heat is None:
        return None
    rms = situation.running_rms_ampere
    if judgement.reach_ampere is not None:
        rms = min(rms, judgement.reach_ampere)
    return (2 * rms**2 * coil + heat.watt) / supply


def most_ampere(situation: Situation, judgement: Judgement) -> float:
    """The most that a turning motor draws: both coils straight on the supply, when speed has ended the chopping."""
    if not situation.chip.formula.regulates and judgement.reach_ampere is not None:
        return 2 * judgement.reach_ampere
    return 2 * situation.running_rms_ampere
