"""Drivers that don't chop: the motor's own voltage, series resistors and their place, the clamp."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coilbench.driver.catalogue import find
from coilbench.driver.clamp import DIODE_VOLT, decay_second, gone_in_ampere, switch_off_joule
from coilbench.driver.finding import Finding, Judgement, Series, Situation, Weight
from coilbench.driver.findings import judgement_of
from coilbench.driver.reference_voltage import set_peak
from coilbench.driver.report import headline, to_do


def about(judgement: Judgement, subject: str) -> Finding:
    return next(each for each in judgement.findings if each.subject == subject)


def case(ampere: float, chip: str = "ULN2003A", **known: object) -> Situation:
    return Situation(set_peak(find(chip), ampere), **known)  # type: ignore[arg-type]


def test_a_motor_on_its_own_voltage_is_not_stopped() -> None:
    # A seed-tray feeder's tin can, 12 V and 75 ohm on its label; its rating starts well under what it stands.
    known = {"supply_volt": 12.0, "coil_ohm": 75.0, "leads": 5}
    assert judgement_of(case(0.09, **known)).stops  # for all that is known 0.15 A is too much
    found = judgement_of(case(0.09, **known, made_for_volt=12.0))
    assert not found.stops and "made for 12 V" in about(found, "reach").fact
    assert found.reach_ampere == pytest.approx((12 - 0.76) / 76.2)
    assert judgement_of(case(0.09, **known | {"supply_volt": 24.0}, made_for_volt=12.0)).stops


def test_a_tenth_more_than_wanted_is_no_stop() -> None:
    found = judgement_of(case(0.14, supply_volt=12.0, coil_ohm=75.0))
    assert not found.stops and "about the 0.14 A to be set" in about(found, "reach").fact
    somewhat = about(judgement_of(case(0.12, supply_volt=12.0, coil_ohm=75.0)), "reach")
    assert somewhat.weight is Weight.WARN and "1.5 times the heat" in somewhat.consequence


def test_what_flows_is_held_against_the_chip() -> None:
    # 24 V on 30 ohm drives more through it than any output of the array carries, whatever was wanted.
    found = judgement_of(case(0.3, supply_volt=24.0, coil_ohm=30.0))
    assert "0.745 A" in about(found, "current").fact
    assert about(found, "current").weight is Weight.STOP and "peak" not in about(found, "current").fact


def test_five_leads_have_one_common() -> None:
    # 0.2 A a coil wants 30 ohm in each phase's way; both phases' 0.4 A pass the one common: 15 ohm, 2.4 W.
    supply = 0.2 * (30 + 30 + 1.2) + 0.76
    known = {"supply_volt": supply, "coil_ohm": 30.0}
    remedy = about(judgement_of(case(0.2, **known, leads=5)), "reach").remedy
    assert remedy.startswith("15 Ω in the one common lead (2.4 W of heat with two phases on)")
    assert "or 30 Ω in each end lead (1.2 W each)" in remedy
    six = about(judgement_of(case(0.2, **known, leads=6)), "reach").remedy
    assert six.startswith("30 Ω in series with each common (1.2 W of heat in each)")
    unsaid = about(judgement_of(case(0.2, **known)), "reach").remedy
    assert "30 Ω in series with each common" in unsaid and "five leads: 15 Ω in the one common lead" in unsaid


def test_the_resistor_fitted_ends_the_stop() -> None:
    supply = 0.2 * (30 + 30 + 1.2) + 0.76
    known = {"supply_volt": supply, "coil_ohm": 30.0, "leads": 5}
    in_common = case(0.2, **known, series=Series(15.0, shared=True))
    found = judgement_of(in_common)
    assert not found.stops and found.reach_ampere == pytest.approx(0.2)
    assert headline(in_common, found) == "nothing to set: 0.2 A a coil"
    told = about(found, "resistor")
    # With one phase on the other's share of the drop is gone: 12.24 V over 30 + 15 + 1.2 ohm.
    assert "2.4 W into heat" in told.fact and "0.265 A" in told.consequence and "two phases" in told.remedy
    assert any("15 Ω in the one common lead" in line for line in to_do(in_common, found)[1])
    assert about(judgement_of(replace(in_common, full_step=True)), "resistor").weight is Weight.NOTE
    in_ends = judgement_of(case(0.2, **known, series=Series(30.0)))
    assert in_ends.reach_ampere == pytest.approx(0.2) and about(in_ends, "resistor").weight is Weight.NOTE
    too_small = judgement_of(case(0.2, **known, series=Series(3.0, shared=True)))
    assert too_small.stops and about(too_small, "reach").remedy.startswith("15 Ω in the one common")


def test_a_textbooks_series_resistor_is_too_small_in_watts() -> None:
    # Iovine: Robots, Androids and Animatrons, p. 231: 12 V, 6 ohm, 4 ohm in each common; 1.2 A makes 5.76 W of it,
    # more than the lesser of the "5 to 10 W" printed.
    bare = replace(find("UCN5804B"), bridge_ohm=1e-6, drop_volt=0.0)
    situation = Situation(set_peak(bare, 1.2), 12.0, 6.0, series=Series(4.0), leads=6)
    found = judgement_of(situation)
    assert found.reach_ampere == pytest.approx(1.2, rel=1e-3) and "5.8 W" in about(found, "resistor").fact


# Closed form against printed and reckoned rows: henry, ohm, ampere, volts across the half, seconds, where from.
DECAYS = [
    (
        0.5,
        60.0,
        0.2,
        50.0,
        1.79e-3,
        "Circuit Cellar 178, May 2005, Test Your EQ 5: 8.3 ms, about 2 ms by zener",
    ),
    (0.5, 60.0, 0.2, 45.0, 1.97e-3, "the same coil"),
    (0.5, 60.0, 0.2, 55.0, 1.64e-3, "the same coil"),
    # A hybrid of 3.1 ohm and 2.3 mH a half (MOONS' 17HA4605N, its sheet) at 12 V and 0.87 A, reckoned by hand.
    (2.3e-3, 3.1, 0.87, 0.8, 1094e-6, "diode straight across the half"),
    (2.3e-3, 3.1, 0.87, 13.0, 140e-6, "the other half and its body diode"),
    (2.3e-3, 3.1, 0.87, 24.8, 77e-6, "zener of 24 V"),
    (2.3e-3, 3.1, 0.87, 43.0, 45e-6, "55 V avalanche over a supply of 12 V"),
]


@pytest.mark.parametrize(("henry", "ohm", "ampere", "volt", "second", "source"), DECAYS)
def test_the_decay_of_a_clamped_coil(
    henry: float, ohm: float, ampere: float, volt: float, second: float, source: str
) -> None:
    assert decay_second(henry, ohm, ampere, volt) == pytest.approx(second, rel=0.01), source
    died = decay_second(henry, ohm, ampere, volt)
    assert gone_in_ampere(henry, ohm, volt, died) == pytest.approx(ampere), "the other way round"


def test_what_a_coil_gives_back() -> None:
    # The two coils above: 10 mJ is printed, 0.870 mJ reckoned.
    assert switch_off_joule(0.5, 0.2) == pytest.approx(10e-3)
    assert switch_off_joule(2.3e-3, 0.87) == pytest.approx(0.870e-3, rel=1e-3)


def test_a_diode_slows_and_a_zener_restores() -> None:
    known = {"supply_volt": 12.0, "coil_ohm": 75.0, "inductance_henry": 0.04, "made_for_volt": 12.0}
    bare = about(judgement_of(case(0.15, **known)), "clamp")
    slow = decay_second(0.04, 75.0, 11.24 / 76.2, DIODE_VOLT)
    assert f"{slow * 1e3:.2g} ms" in bare.fact and "torque is lost at speed" in bare.consequence
    # 50 V stood by the array, a tenth kept, 12 V of supply: up to 33 V.
    assert "12 V to 33 V" in bare.remedy and "cathode" in bare.remedy
    del known["inductance_henry"]
    unknown = judgement_of(case(0.15, **known))
    assert "dies slowly" in about(unknown, "clamp").fact and any(each.subject == "clamp" for each in unknown.withheld)
    known["inductance_henry"] = 0.04
    fitted = about(judgement_of(case(0.15, **known, clamp_volt=24.0)), "clamp")
    assert "against a zener of 24 V" in fitted.fact and not fitted.remedy
    assert about(judgement_of(case(0.15, **known, clamp_volt=43.0)), "clamp").weight is Weight.STOP
    assert about(judgement_of(case(0.15, **known, clamp_volt=0.0)), "clamp").remedy == bare.remedy
