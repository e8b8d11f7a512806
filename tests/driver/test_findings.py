"""What is said about a setting: the right things, the gravest first, and nothing that rests on a missing figure."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.driver.carried import carried
from coilbench.driver.catalogue import built_in, by_gain, find
from coilbench.driver.chip import Chip
from coilbench.driver.finding import Finding, Judgement, Series, Situation, Weight
from coilbench.driver.findings import judgement_of
from coilbench.driver.formulas import VrefOverSense
from coilbench.driver.procedure import step_lines, steps_to_set
from coilbench.driver.reference_voltage import fixed_setting, set_peak
from coilbench.driver.report import finding_lines, headline, result_object, set_rows, to_do


def about(judgement: Judgement, subject: str) -> Finding:
    return next(each for each in judgement.findings if each.subject == subject)


def judged(name: str, peak: float, sense: float | None = 0.1, **known: object) -> Judgement:
    return judgement_of(Situation(set_peak(find(name), peak, sense), **known))  # type: ignore[arg-type]


def steps_of(name: str, **known: object) -> list[str]:
    situation = Situation(set_peak(find(name), 0.8, 0.1), **known)  # type: ignore[arg-type]
    return step_lines(steps_to_set(situation, judgement_of(situation)))


def test_a_set_point_out_of_reach_never_chops() -> None:
    # The greenhouse vent's tin-can motor, 34 ohm, on a computer supply: 12 V tops out near 0.34 A.
    found = judged("A4988", 0.8, supply_volt=12.0, coil_ohm=34.0, microsteps=16)
    reach = about(found, "reach")
    assert reach.weight is Weight.STOP and found.findings[0] is reach
    assert (
        "0.34" in reach.fact and "never chops" in reach.consequence and "do not move the shaft" in reach.consequence
    )
    assert found.reach_ampere == pytest.approx(0.345, abs=0.001)


def test_a_set_point_just_within_reach_says_so() -> None:
    assert about(judged("A4988", 0.3, supply_volt=12.0, coil_ohm=34.0), "reach").weight is Weight.NOTE


def test_a_low_ohm_coil_on_long_blanking_loses_its_small_microsteps() -> None:
    found = judged("DRV8825", 1.5, supply_volt=24.0, coil_ohm=2.0, inductance_henry=2e-3, microsteps=16)
    floor = about(found, "floor")
    assert floor.weight is Weight.WARN and "of 16 microsteps the first" in floor.consequence
    assert found.falling_floor_ampere is not None and found.falling_floor_ampere < 0.05
    slow = Chip(chip="XY1", formula=VrefOverSense(0.2), blank_us=3.75, chop_khz=30, bridge_ohm=0.4, decay="slow")
    hopeless = judgement_of(Situation(set_peak(slow, 0.5, 0.1), 24.0, 2.0, 2e-3, microsteps=16))
    assert about(hopeless, "floor").weight is Weight.STOP


def test_a_full_step_driver_is_judged_by_its_full_step_current() -> None:
    kept = judged("A4988", 1.0, supply_volt=24.0, coil_ohm=2.0, inductance_henry=2e-3, full_step=True)
    assert about(kept, "floor").weight is Weight.NOTE


@pytest.mark.parametrize(
    ("supply", "weight"), [(40.0, Weight.STOP), (33.0, Weight.WARN), (24.0, None), (6.0, Weight.STOP)]
)
def test_supply_against_the_chip(supply: float, weight: Weight | None) -> None:
    said = [each for each in judged("A4988", 0.5, supply_volt=supply).findings if each.subject == "supply"]
    assert [each.weight for each in said] == ([] if weight is None else [weight])


def test_twelve_volts_destroys_the_low_voltage_chips() -> None:
    for name in ("DRV8834", "STSPIN220"):
        assert "destroyed" in about(judged(name, 0.3, supply_volt=12.0), "supply").consequence


def test_the_rule_of_thumb_ends_where_chip_and_safety_end_it() -> None:
    # 20 mH gives 143 V, which neither an A4988 (35 V, a tenth kept) nor a bare wire may have.
    said = about(judged("A4988", 0.3, supply_volt=24.0, inductance_henry=20e-3), "inductance")
    assert "143 V at most; A4988 ends it at 31.5 V" in said.fact and "at 76% of that" in said.fact
    said = about(judged("A4988", 0.3, supply_volt=34.0, inductance_henry=20e-3), "inductance")
    assert "at 108% of that" in said.fact
    anything = replace(find("A4988"), chip="XY1", supply_max_volt=200.0)
    said = about(judgement_of(Situation(set_peak(anything, 0.3, 0.1), 48.0, inductance_henry=20e-3)), "inductance")
    assert "extra-low voltage ends it at 60 V" in said.fact
    high = about(judgement_of(Situation(set_peak(anything, 0.3, 0.1), 70.0, inductance_henry=20e-3)), "supply")
    assert high.weight is Weight.WARN and "qualified person" in high.remedy


def test_rule_of_thumb_for_inductance() -> None:
    # 1.9 mH gives 44 V by 32 times the root of the mH (weak: a laser cutter's manual, printed with that example).
    said = about(judged("DRV8825", 1.0, supply_volt=45.0, inductance_henry=1.9e-3), "inductance")
    assert said.weight is Weight.WARN and "44.1 V" in said.fact
    assert (
        about(judged("DRV8825", 1.0, supply_volt=24.0, inductance_henry=1.9e-3), "inductance").weight is Weight.NOTE
    )


def test_heat_follows_the_printed_formula() -> None:
    # SLVSA73F prints P = 4 R Irms^2 for one transistor's R, both bridges: 0.25 ohm typical at 85 C, 1 A RMS.
    found = judged("DRV8825", 2**0.5).heat
    assert found is not None and found.conduction_watt == pytest.approx(4 * 0.25 * 1.0**2, rel=0.05)
    # 2.55 V of drop at 1 A in each of two bridges: about 5 W (ST L298, typical figures).
    found = judged("L297+L298", 1.0, 0.5, full_step=True).heat
    assert found is not None and found.conduction_watt == pytest.approx(5.1, abs=0.1)
    # Two outputs at 0.35 A and 1.2 V typical: 0.84 W (TI SLRS027M).
    found = judged("ULN2003A", 0.35, None).heat
    assert found is not None and found.watt == pytest.approx(0.84, abs=0.02)
    hot = judged("DRV8824", 1.5)
    assert about(hot, "heat").weight is Weight.STOP or about(hot, "cooling").weight is Weight.WARN


def test_a_heat_sink_fitted_counts() -> None:
    bare = judged("DRV8825", 1.8, supply_volt=24.0)
    assert "a heat sink" in about(bare, "cooling").remedy
    cooled = judged("DRV8825", 1.8, supply_volt=24.0, sink_kelvin_per_watt=25.0)
    assert all(each.subject != "cooling" for each in cooled.findings)
    assert bare.heat is not None and cooled.heat is not None
    assert (cooled.heat.junction_celsius or 0) < (bare.heat.junction_celsius or 0) - 20
    too_much = about(judged("DRV8825", 2.4, supply_volt=24.0, sink_kelvin_per_watt=25.0), "cooling")
    assert "with that heat sink" in too_much.fact and "heat sink" not in too_much.remedy


def test_what_a_board_is_said_to_carry_is_not_called_too_hot_afterwards() -> None:
    for chip in built_in():
        found = carried(chip)
        if found is None or not chip.formula.regulates:
            continue
        sense = None if chip.sense_decides else 0.1
        situation = Situation(
            set_peak(chip, found.peak_ampere * 0.999, sense), 24.0 if chip.supply_max_volt != 10 else 9.0
        )
        hot = [each for each in judgement_of(situation).findings if each.subject in ("cooling", "heat")]
        assert all(each.weight is Weight.NOTE for each in hot), chip.chip


def test_full_step_currents_are_held_against_the_sine_that_heats_alike() -> None:
    # 100 % in each coil: 0.9 A steady heats like a sine of 1.27 A, over the 1.06 A peak that a bare board carries.
    said = about(judged("TB67S109A", 0.9, full_step=True, supply_volt=24.0), "cooling")
    assert said.fact.startswith("0.9 A RMS is over the 0.7") and "RMS that a TB67S109A" in said.fact
    assert all(each.subject != "cooling" for each in judged("TB67S109A", 0.9, microsteps=16).findings)


def test_the_heat_names_its_parts_and_the_supply_taken() -> None:
    assert "switching" in about(judged("A4988", 0.8, supply_volt=12.0), "heat").fact
    assert "on 24 V, none being given" in about(judged("A4988", 0.8), "heat").fact


def test_more_current_is_offered_as_a_remark_and_to_a_rating_alone() -> None:
    remark = about(judged("A4988", 0.5, rated_ampere=0.5, microsteps=16), "equal heat")
    assert remark.weight is Weight.NOTE and "0.707 A peak (VREF 0.566 V)" in remark.fact
    assert "one coil" in remark.consequence and "0.5 A RMS" in remark.consequence
    for known in ({}, {"rated_ampere": 0.5, "full_step": True}, {"rated_ampere": 0.354}):
        assert all(each.subject != "equal heat" for each in judged("A4988", 0.5, **known).findings)
    # What a bare board carries ends it, and after a stop there is nothing to offer.
    capped = about(judged("A4988", 0.8, rated_ampere=0.8, microsteps=16), "equal heat")
    assert "up to 1 A peak" in capped.fact and "as far as the driver goes" in capped.fact
    stopped = judged("A4988", 0.5, rated_ampere=0.5, supply_volt=40.0)
    assert stopped.stops and all(each.subject != "equal heat" for each in stopped.findings)


def test_microsteps_are_said_to_give_smoothness() -> None:
    said = about(judged("A4988", 0.8, microsteps=16), "microsteps")
    assert "smoothness, not stiffness" in said.fact and "10%" in said.consequence  # sin(90 / 16 degree) is 0.098
    assert all(each.subject != "microsteps" for each in judged("A4988", 0.8, full_step=True).findings)


def test_the_supplys_current_is_not_the_coils() -> None:
    lines = "\n".join(steps_of("A4988", supply_volt=24.0, coil_ohm=4.0, microsteps=16))
    # 0.8 A peak is 0.57 A RMS: 2 x 0.32 x 4 ohm is 2.56 W, the chip makes 0.8 W more, and that over 24 V.
    assert "shows about 0.14 A at rest, less than the coil gets" in lines
    assert "sized for the wire and for the supply's current, at most about 1.1 A here" in lines
    assert "turned fast it is a generator and feeds the driver" in lines


def test_a_resistor_inside_the_chip_is_not_looked_for() -> None:
    lines = "\n".join(step_lines(steps_to_set(*judged_with("SLA7078M", 1.0, 0.1))))
    assert "marking on the sense" not in lines
    situation, judgement = judged_with("SLA7078M", 1.0, 0.1)
    assert ("sense", "0.155 Ω, inside the chip") in set_rows(situation, judgement)
    assert result_object(situation, judgement)["vref_volt"] == pytest.approx(0.155)
    assert "sense resistor 1 %" not in about(judgement, "range").consequence


def judged_with(name: str, peak: float, sense: float | None) -> tuple[Situation, Judgement]:
    situation = Situation(set_peak(find(name), peak, sense))
    return situation, judgement_of(situation)


def test_a_reference_under_the_recommended_minimum_is_a_warning() -> None:
    assert about(judged("DRV8825", 0.8), "reference").weight is Weight.WARN
    assert about(judged("DRV8825", 8.0), "reference").weight is Weight.STOP


def test_logic_levels() -> None:
    assert about(judged("ULN2003A", 0.3, None, logic_volt=1.8), "logic").weight is Weight.STOP
    assert about(judged("DRV8825", 1.5, logic_volt=3.3), "logic").weight is Weight.NOTE
    assert any(each.subject == "logic" for each in judged("A4988", 0.8, logic_volt=3.3).withheld)


def test_current_limits_and_least_current() -> None:
    assert about(judged("A4988", 2.5), "current").weight is Weight.STOP
    assert "no less than 1.5 A" in about(judged("TB67S249FTG", 0.6, None), "current").fact
    assert about(judgement_of(Situation(set_peak(find("TB6560AHQ"), 1.0, 0.25))), "current").weight is Weight.WARN


def test_unverified_rows_say_so() -> None:
    assert "not verified" in about(judged("A4982", 0.8), "source").fact
    assert "from memory: cool free ampere" in about(judged("A4988", 0.8), "source").fact
    assert "your own" in about(judgement_of(Situation(set_peak(by_gain("XY1", 5.0), 0.8, 0.1))), "source").fact


def test_a_driver_of_the_other_kind_is_refused() -> None:
    assert about(judged("A4988", 0.5, connection="unipolar"), "connection").weight is Weight.STOP
    assert about(judged("SLA7032M", 0.5, connection="series"), "connection").weight is Weight.STOP
    assert all(each.subject != "connection" for each in judged("A4988", 0.5, connection="series").findings)


def test_a_half_windings_current_without_a_connection_is_warned_of() -> None:
    said = about(judged("A4988", 0.5, half_winding=True), "connection")
    assert said.weight is Weight.WARN and "0.71" in said.consequence


def test_no_current_control_names_the_series_resistor() -> None:
    # Iovine: Robots, Androids and Animatrons, p. 231: 12 V and 6 ohm want 4 ohm in series for 1.2 A, the chip's drops
    # left out.
    chip = find("UCN5804B")
    bare = replace(chip, bridge_ohm=0.0, drop_volt=0.0)
    found = about(judgement_of(Situation(set_peak(bare, 1.2), 12.0, 6.0)), "reach")
    assert found.weight is Weight.STOP and found.remedy.startswith("4 Ω in series")
    with_drops = about(judged("UCN5804B", 1.2, None, supply_volt=12.0, coil_ohm=6.0), "reach")
    assert with_drops.remedy.startswith("3.01 Ω in series")


def test_what_is_not_known_is_withheld_and_named() -> None:
    silent = judged("TMC2209", 0.8, 0.11, supply_volt=12.0, coil_ohm=3.0)
    assert any("off time" in each.why for each in silent.withheld)
    bare = judged("A4985", 0.5, supply_volt=12.0, coil_ohm=3.0)
    assert any("bridge resistance of A4985" in each.why for each in bare.withheld)
    assert {"supply", "reach", "floor"} <= {each.subject for each in judged("A4988", 0.5).withheld}


def test_quiet_mode_lower_limit() -> None:
    low = judged("TMC2208", 0.25, 0.11, supply_volt=24.0, coil_ohm=5.0)
    assert about(low, "quiet mode").weight is Weight.WARN
    assert about(judged("TMC2208", 0.8, 0.11, supply_volt=24.0, coil_ohm=5.0), "quiet mode").weight is Weight.NOTE


def test_the_order_of_doing_it() -> None:
    text = steps_of("DRV8825")
    joined = "\n".join(text)
    order = [
        "motor unplugged",
        "marking on the sense",
        "100 uF",
        "1/32 step: MODE0 high, MODE1 low, MODE2 high",
        "low end",
        "motor supply",
        "until the meter shows 0.4 V",
        "then connect the motor, each coil to its own pair of outputs",
        "power on",
    ]
    places = [joined.index(each) for each in order]
    assert places == sorted(places)
    assert any("never plug or unplug" in line for line in text[:3])
    assert "logic supply alone" in "\n".join(steps_of("A4988"))


SETTABLE = [chip for chip in built_in() if chip.formula.known]
some = st.none() | st.floats(1e-3, 60.0)


@given(
    st.sampled_from(SETTABLE), st.floats(0.05, 4.0), some, some, st.none() | st.floats(1e-6, 0.5),
    st.none() | st.sampled_from([1, 2, 8, 16, 256]), st.booleans(), some, some, some, st.booleans(),
)  # fmt: skip
def test_any_situation_is_judged_in_order_and_told(
    chip: Chip,
    peak: float,
    supply: float | None,
    coil: float | None,
    henry: float | None,
    steps: int | None,
    full: bool,
    rated: float | None,
    fitted: float | None,
    zener: float | None,
    five: bool,
) -> None:
    setting = fixed_setting(chip, 0.5) if chip.sense_decides else set_peak(chip, peak, 0.2)
    more = {"rated_ampere": rated, "clamp_volt": zener, "made_for_volt": zener, "sink_kelvin_per_watt": fitted}
    resistors = None if fitted is None else Series(fitted, shared=five)
    situation = Situation(setting, supply, coil, henry, steps, full, 3.3, series=resistors, leads=5 * five, **more)
    found = judgement_of(situation)
    weights = [each.weight for each in found.findings]
    assert weights == sorted(weights)
    heading, lines = to_do(situation, found)
    assert heading and lines and headline(situation, found)
    told = result_object(situation, found)
    assert told["peak_amp"] == pytest.approx(setting.peak_ampere, rel=1e-5)
    assert len(told["warnings"]) == sum(weight < Weight.NOTE for weight in weights)
    assert all("nan" not in line for line in finding_lines(found))
    assert all(name for name, _ in set_rows(situation, found))


def test_after_a_stop_nobody_is_told_how_to_set_it() -> None:
    situation = Situation(set_peak(find("A4988"), 5.0, 0.068))
    judgement = judgement_of(situation)
    heading, lines = to_do(situation, judgement)
    assert heading.startswith("do not set it like this") and "- less current or another driver" in lines
    assert not any("trimmer" in line or "power on" in line for line in lines)
    told = result_object(situation, judgement)
    assert told["steps"] == [] and told["vref_volt"] == pytest.approx(2.72) and told["warnings"]
    assert headline(situation, judgement).startswith("stop: not VREF 2.72 V")
    fine = Situation(set_peak(find("A4988"), 0.8, 0.1))
    assert to_do(fine, judgement_of(fine))[0] == "to do" and result_object(fine, judgement_of(fine))["steps"]


def test_a_reference_no_pin_stands_says_stop() -> None:
    assert judgement_of(Situation(set_peak(by_gain("XY1", 100.0), 2.0, 1.0))).stops
