"""The chip table, a person's own rows, and names that are nearly right."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.driver.catalogue import all_chips, built_in, by_gain, find, nearest, parse_rows
from coilbench.driver.formulas import VrefOverSense
from coilbench.driver.microstep_pins import pin_levels
from coilbench.errors import InputProblem


def test_every_row_says_where_it_comes_from() -> None:
    for chip in built_in():
        assert chip.document, chip.chip
        assert chip.status in ("verified", "memory"), chip.chip
        assert chip.verified or not (chip.formula.known and chip.formula.regulates) or chip.memory, chip.chip


def test_microstep_pins_are_those_of_chips_that_have_such_steps() -> None:
    told = {chip.chip: [pin_levels(chip.chip, steps) for steps in chip.microsteps] for chip in built_in()}
    known = {name: levels for name, levels in told.items() if any(levels)}
    assert {"A4988", "DRV8825", "TMC2208", "TMC2209"} <= set(known)
    for name, levels in known.items():
        assert all(levels) and len(set(levels)) == len(levels), name
        assert len({tuple(pin for pin, _ in each) for each in levels}) == 1, name
    # Allegro 4988-DS Rev 4, 2012, table 1; TRINAMIC: TMC2226 Rev 1.06, MS2 and MS1.
    assert pin_levels("A4988", 4) == (("MS1", "low"), ("MS2", "high"), ("MS3", "low"))
    assert pin_levels("TMC2209", 64) == (("MS1", "low"), ("MS2", "high"))
    assert pin_levels("A4988", 32) == () and pin_levels("none such", 2) == ()


def test_the_rows_left_unverified_are_the_known_ones() -> None:
    unverified = {chip.chip for chip in built_in() if not chip.verified}
    assert unverified == {
        *("A4982", "A4984", "A4985", "TB67S249FTG", "TB6600HG", "STSPIN220", "SLA7024M", "SLA7026M", "SLA7075M"),
        *("SLA7076M", "SLA7077M", "SLA7078M", "STK672-040", "MTD2001", "UCN5804B"),
    }  # fmt: skip


# Each pair: a chip whose documents contradict each other or themselves, and the two figures printed.
CONFLICTS = {
    "A4988": ("Rev 4", "Rev 5"),  # decay with a resistor on ROSC
    "DRV8825": ("3.75 us", "4 us"),  # blanking, text and table of SLVSA73F
    "DRV8834": ("1 ohm", "three times"),  # bridge, worked example and table of SLVSB19D
    "DRV8880": ("1.031 V", "0.99 V"),  # its printed divider misses its own target
    "MP6500": ("1.5 A", "1.8 A"),  # without cooling, two carrier pages
    "LV8729V": ("10 kilohm", "4.7 kilohm"),  # trimmer of a carrier, drawing and note
    "TB6560AHQ": ("43 W", "83 W"),  # ideal heat sink, rated and by its resistance to the case
    "TMC2100": ("325 mV", "320 mV"),  # its resistor table and its parameter
    "TMC2208": ("30 milliohm", "20"),  # sense path, table and formula
    "TMC2209": ("28 V", "29 V"),  # preliminary and released issues
    "TMC5160": ("3.1 A", "3.06 A"),  # its resistor table and its formula
    "L297+L298": ("3 V", "2 V"),  # reference of the one, sense pin of the other
}


def test_conflicts_between_documents_are_kept_as_conflicts() -> None:
    assert {chip.chip for chip in built_in() if chip.conflict} == set(CONFLICTS)
    for name, figures in CONFLICTS.items():
        for figure in figures:
            assert figure in find(name).conflict


@pytest.mark.parametrize("name", ["drv8825", " DRV-8825 ", "Drv 8825"])
def test_a_name_is_found_whatever_its_case_and_dashes(name: str) -> None:
    assert find(name).chip == "DRV8825"


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("A4899", "A4988"), ("TMC2290", "TMC2209"), ("DRV8825PWPR", "DRV8825"), ("LV8729", "LV8729V")],
)
def test_an_unknown_name_is_answered_with_the_nearest(typed: str, meant: str) -> None:
    assert meant in nearest(typed)
    with pytest.raises(InputProblem, match=meant):
        find(typed)


def test_own_rows_need_only_name_formula_and_gain_and_stand_in_front() -> None:
    own = parse_rows("chip,formula,gain\n# the feeder's board\nXY1,VREF_RS,10\nA4988,VREF_RS,5\n", "drivers.csv")
    assert find("xy1", own).status == "own"
    assert find("A4988", own).formula == VrefOverSense(0.2)
    assert sum(chip.chip == "A4988" for chip in all_chips(own)) == 1


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("chip,formula,gian\nX,VREF_RS,1\n", "line 1: no column is called 'gian', expected gain"),
        ("chip,gain\nX,1\n", "'formula' is missing"),
        ("chip,formula,gain\nX,VREFRS,1\n", "line 2: formula 'VREFRS'"),
        ("chip,formula,gain\n\nX,VREF_RS,five\n", "line 3: gain 'five'"),
        ("chip,formula,gain\nX,VREF_RS,-1\n", "gain '-1'"),
        ("chip,formula,gain\nX,VREF_RS,nan\n", "gain 'nan'"),
        ("chip,formula,gain\nX,VREF_RS,\n", "has no gain or factor"),
        ("chip,formula,gain\n,VREF_RS,1\n", "name is missing"),
        ("chip,formula,gain\nX,VREF_RS,1\nX,VREF_RS,2\n", "line 3: 'X' is there twice"),
        ("chip,formula,gain\nX,VREF_RS,1,2\n", "4 values under 3 columns"),
        ("chip,formula,gain,microsteps\nX,VREF_RS,1,1 2.5\n", "whole numbers"),
        ("chip,formula,gain\nX,VREF_RS,0.125\n", "a gain of 0.125 is none of a driver chip"),
        ("chip,formula,gain\nX,VREF_ONLY,2\n", "VREF_ONLY has no gain"),
        ("chip,formula,gain,factor\nX,VREF_RS,8,0.125\n", "both gain and factor"),
        ("chip,formula,gain,vref_min_volt,vref_max_volt\nX,VREF_RS,1,3,2\n", "not below"),
        ("chip,formula,factor,carrier_sense_ohm\nX,REG,0.325,0.075\n", "line 2: formula REG has no sense resistor"),
        ("chip,formula,gain,vref_min_volt,vref_max_volt\nX,VREF_OFFSET_RS,5,1,2\n", "no offset_volt"),
        ("chip,formula,gain,offset_volt\nX,VREF_OFFSET_RS,5,1\n", "no vref_min_volt"),
        (
            "chip,formula,gain,offset_volt,vref_min_volt,vref_max_volt\nX,VREF_OFFSET_RS,5,1,0.5,2\n",
            "offset_volt 1 is not below vref_min_volt 0.5",
        ),
    ],
)
def test_a_bad_own_row_is_refused_by_line_and_value(text: str, named: str) -> None:
    with pytest.raises(InputProblem) as caught:
        parse_rows(text, "drivers.csv")
    assert named in str(caught.value) and "drivers.csv" in str(caught.value)


@given(st.text(max_size=200))
def test_no_own_file_brings_anything_but_a_plain_refusal(text: str) -> None:
    try:
        parse_rows(text, "drivers.csv")
    except InputProblem as problem:
        assert "\n" not in str(problem)


@pytest.mark.parametrize("gain", [0.0, -5.0, 0.125, float("nan"), float("inf"), 1e9])
def test_an_absurd_gain_is_refused(gain: float) -> None:
    with pytest.raises(InputProblem):
        by_gain("XY1", gain)


def test_verified_chips_come_first_then_by_name():
    listed = [(not chip.verified, chip.chip) for chip in all_chips()]
    assert listed == sorted(listed) and listed[0] == (False, "A4988")
    own = parse_rows("chip,formula,gain\nZZ1,VREF_RS,5\n", "own")
    assert all_chips(own)[0].chip == "ZZ1"


def test_gain_means_the_same_in_a_row_and_in_the_command() -> None:
    # DRV8825: gain of 5, TI SLVSA73F; the factor that multiplies has a word of its own.
    rows = parse_rows("chip,formula,gain\nX1,VREF_RS,5\n", "own")
    other = parse_rows("chip,formula,factor\nX2,VREF_RS,0.2\n", "own")
    assert rows[0].formula == other[0].formula == by_gain("X3", 5.0).formula == find("DRV8825").formula
    assert rows[0].formula_text == "peak = VREF / (5 Rs)"
