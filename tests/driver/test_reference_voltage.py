"""Reference voltages and currents against the examples that the chips' documents print, and both ways round."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.driver.catalogue import built_in, by_gain, find
from coilbench.driver.chip import Chip, Means, SenseUse
from coilbench.driver.finding import Judgement, Situation
from coilbench.driver.reference_voltage import (
    MOST_AMPERE,
    current_range,
    equal_heat,
    fixed_setting,
    peak_for_full_step,
    read_resistor,
    read_vref,
    set_peak,
)
from coilbench.driver.report import set_rows
from coilbench.errors import InputProblem, NotEnoughKnown

# (chip, sense ohm, reference V, torque share, peak A as printed, printed digits' half unit, document)
PRINTED = [
    ("DRV8825", 0.25, 2.5, 1.0, 2.0, 0.05, "TI SLVSA73F 8.3.2"),
    ("DRV8825", 0.2, 1.25, 1.0, 1.25, 0.005, "TI SLVSA73F 9.2.2.2"),
    ("DRV8824", 0.5, 3.3, 1.0, 1.32, 0.005, "TI SLVSA06C, current regulation"),
    ("DRV8834", 0.2, 1.25, 1.0, 1.25, 0.005, "TI SLVSB19D, application"),
    ("DRV8880", 0.1, 0.99, 1.0, 1.5, 0.05, "TI SLVSD18C 8.2.2.2"),
    ("LV8729V", 0.22, 1.1, 1.0, 1.0, 0.05, "SANYO ENA1702C (4)"),
    ("TB67S279FTG", None, 2.0, 1.0, 1.11, 0.005, "Toshiba TB67S279FTG 2017-09-15 p. 16"),
    ("STK672-330", None, 0.195, 1.0, 1.0, 0.05, "SANYO ENN7304 p. 1"),
    ("STK672-120", None, 0.165, 1.0, 1.0, 0.05, "SANYO ENA2140 p. 1"),
    # Sense full scale as printed, over the sense resistor 1 ohm: the document's gain in another guise.
    ("DRV8825", 1.0, 3.3, 1.0, 0.660, 0.0005, "TI SLVSA73F trip 635/660/685 mV at 3.3 V"),
    ("DRV8880", 1.0, 3.3, 1.0, 0.500, 0.0005, "TI SLVSD18C trip 500 mV at 3.3 V"),
    ("LV8729V", 1.0, 1.5, 1.0, 0.300, 0.0005, "SANYO ENA1702C 0.285/0.300/0.315 V at 1.5 V"),
    ("A4988", 1.0, 4.0, 1.0, 0.5, 0.05, "Allegro 4988-DS: VREF 4 V is the sense limit of 0.5 V"),
]

# The same formulas worked by hand (not printed in a document), each kind once more.
WORKED = [
    ("A4988", 0.10, 0.800, 1.0, 1.0, 5e-4, "VREF/(8 Rs)"),
    ("A4988", 0.05, 0.400, 1.0, 1.0, 5e-4, "half the resistor: the same volts give double"),
    ("DRV8825", 0.10, 0.750, 1.0, 1.5, 5e-4, "VREF/(5 Rs)"),
    ("DRV8880", 0.10, 0.66, 0.5, 0.50, 5e-4, "torque pins at half"),
    ("TB67S249FTG", None, 1.20, 1.0, 1.5, 5e-4, "1.25 A/V, from memory"),
    ("TB6600HG", 0.2, 1.2, 1.0, 2.0, 5e-4, "VREF/(3 Rnf)"),
    ("TB6600HG", 0.2, 1.2, 0.3, 0.6, 5e-4, "torque pin low"),
    ("STSPIN820", 0.15, 0.120, 1.0, 0.8, 5e-4, "gain of one"),
    ("TMC2209", 0.11, 1.20, 1.0, 1.20, 5e-4, "20 milliohm inside"),
    ("TB67S109A", 0.1, 0.9, 1.0, 1.8, 5e-4, "VREF/(5 Rrs)"),
    ("L6219", 1.0, 5.0, 1.0, 0.50, 5e-4, "VREF/(10 Rs)"),
    ("L6219", 1.0, 5.0, 2 / 3, 0.333, 5e-4, "its middle level"),
    ("SLA7032M", 0.68, 5 * 100 / 610, 1.0, 1.205, 1e-3, "divider 510/100 off 5 V"),
]  # fmt: skip


def by_register(chip: Chip, sense_ohm: float | None = None, **codes: int) -> float:
    """The peak ampere that codes in the chip's registers give."""
    return chip.formula.peak_of(Means(register=tuple(codes.items())), sense_ohm)


@pytest.mark.parametrize(("name", "sense", "vref", "torque", "peak", "half", "document"), PRINTED + WORKED)
def test_printed_examples_both_ways(
    name: str, sense: float | None, vref: float, torque: float, peak: float, half: float, document: str
) -> None:
    assert read_vref(find(name), vref, sense, torque).peak_ampere == pytest.approx(peak, abs=half), document
    back = set_peak(find(name), peak, sense, torque).vref_volt
    assert back == pytest.approx(vref, abs=half * vref / peak * 1.001)


def test_the_printed_divider_of_drv8880_misses_its_own_target() -> None:
    # SLVSD18C 8.2.2.2 wants 0.99 V for 1.5 A and prints 22 k over 10 k off 3.3 V.
    divider = 3.3 * 10 / 32
    assert divider == pytest.approx(1.031, abs=5e-4)
    assert read_vref(find("DRV8880"), divider, 0.1).peak_ampere == pytest.approx(1.56, abs=0.005)


def test_set_by_resistor() -> None:
    chip = find("MP6500")
    assert read_resistor(chip, 78e3).peak_ampere == pytest.approx(1.0)  # MP6500 rev 1.0, table: 0.95 1.0 1.05 A
    low, high = current_range(read_resistor(chip, 78e3))
    assert (low, high) == pytest.approx((0.95, 1.05))
    setting = set_peak(chip, 1.5)
    assert setting.means.set_resistor_ohm == pytest.approx(52.0e3) and setting.vref_volt is None
    # ISET sits at 0.9 V and mirrors 11.539 uA a ampere (same document): one ampere at 78 kilohm.
    assert pytest.approx(1.0, abs=0.001) == 0.9 / (78e3 * 11.539e-6)
    with pytest.raises(InputProblem, match="no reference voltage"):
        read_vref(chip, 0.9)


def test_fixed_by_the_sense_resistor_alone() -> None:
    chip = find("TB6560AHQ")
    assert set_peak(chip, 1.0).means.wanted_sense_ohm == pytest.approx(0.5)  # Toshiba TB6560AHQ 2014-10-01, 6
    assert fixed_setting(chip, 0.5).peak_ampere == pytest.approx(1.0)
    assert fixed_setting(chip, 0.5, 0.2).peak_ampere == pytest.approx(0.2)
    fixed = set_peak(chip, 1.0, 0.25)
    assert (fixed.asked_ampere, fixed.peak_ampere) == (1.0, 2.0)
    low, high = current_range(fixed_setting(chip, 0.5))
    assert low < 0.9 and high > 1.1  # 0.45 to 0.55 V printed, then the resistor


def test_set_by_register() -> None:
    torque = find("L6474")
    assert by_register(torque, TVAL=0x29) == pytest.approx(1.3125)  # L6474 DocID022529 Rev 4, reset value
    assert set_peak(torque, 1.3125).means.register == (("TVAL", 0x29),)
    assert set_peak(torque, 1.33).peak_ampere == pytest.approx(1.3125)
    big = find("TMC5160")
    assert by_register(big, 0.075, CS=31, GS=128) == pytest.approx(2.17, abs=0.005)
    assert set_peak(big, 2.17, 0.075).means.register == (("GS", 128), ("CS", 31))
    assert set_peak(big, 0.2, 0.075).peak_ampere <= 0.2
    assert by_register(find("TMC2130"), 0.11, CS=16) == pytest.approx(1.328, abs=5e-4)
    with pytest.raises(NotEnoughKnown):
        set_peak(torque, 0.01)


def test_the_resistor_table_of_tmc5160_contradicts_its_formula() -> None:
    # Rev 1.18, 9: 0.075 ohm is printed as 3.1 A rms and 4.4 A peak; 325 mV gives 1.5 % less.
    peak = by_register(find("TMC5160"), 0.075, CS=31, GS=256)
    assert peak == pytest.approx(4.33, abs=0.005) and peak / math.sqrt(2) == pytest.approx(3.06, abs=0.005)
    assert pytest.approx(4.4) == 0.33 / 0.075


def test_chips_with_sense_path_inside() -> None:
    # At 0.11 ohm the reference in volts is the peak in ampere, 0.707 of it RMS (TMC220X Rev 1.02).
    for name in ("TMC2208", "TMC2209", "TMC2130"):
        setting = read_vref(find(name), 1.2, 0.11)
        assert setting.peak_ampere == pytest.approx(1.2) and setting.rms_ampere == pytest.approx(0.849, abs=5e-4)
        assert read_vref(find(name), 3.0, 0.11).peak_ampere == pytest.approx(2.5)  # 2.5 V or more is full scale


def test_full_step_current_and_its_set_point() -> None:
    assert set_peak(find("A4988"), 1.0, 0.1).full_step_ampere == pytest.approx(0.7071)
    assert set_peak(find("LV8729V"), 0.7, 0.22).full_step_ampere == pytest.approx(0.7)
    assert set_peak(find("LV8729V"), 0.7, 0.22).vref_volt == pytest.approx(0.770)
    a4988 = set_peak(find("A4988"), peak_for_full_step(find("A4988"), 1.0), 0.1)
    assert a4988.vref_volt == pytest.approx(1.131, abs=5e-4)
    drv8825 = set_peak(find("DRV8825"), peak_for_full_step(find("DRV8825"), 1.0), 0.1)
    assert drv8825.vref_volt == pytest.approx(0.704, abs=5e-4)
    with pytest.raises(NotEnoughKnown):
        peak_for_full_step(find("L6474"), 1.0)


def test_equal_heat_is_the_root_of_two_and_keeps_the_rms() -> None:
    setting = set_peak(find("A4988"), 1.0, 0.1)
    hotter = equal_heat(setting, 1.0, None)
    assert hotter is not None
    assert hotter.rms_ampere == pytest.approx(setting.peak_ampere)
    assert hotter.vref_volt == pytest.approx(0.8 * math.sqrt(2))
    assert equal_heat(hotter, 1.0, None) is None  # it is set already


def test_equal_heat_ends_where_the_chip_or_its_scale_ends() -> None:
    capped = equal_heat(set_peak(find("A4988"), 0.8, 0.1), 0.8, 1.0)
    assert capped is not None and capped.peak_ampere == pytest.approx(1.0)
    # 2.5 V is full scale: 2.5 A on 0.11 ohm, whatever the motor would stand.
    capped = equal_heat(set_peak(find("TMC2209"), 2.0, 0.11), 2.0, None)
    assert capped is not None and capped.vref_volt == pytest.approx(2.5)
    assert equal_heat(set_peak(find("TMC2209"), 2.5, 0.11), 2.5, None) is None
    # The trimmer of its board ends at 3.3 V, which is 3.3 A on 0.2 ohm.
    capped = equal_heat(set_peak(find("DRV8825"), 3.0, 0.2), 3.0, None)
    assert capped is not None and capped.vref_volt == pytest.approx(3.3)


SETTABLE = [chip for chip in built_in() if chip.formula.known and chip.formula.regulates]


@given(st.sampled_from(SETTABLE), st.floats(0.02, 1.0), st.floats(0.01, 1.0), st.sampled_from([1.0, 0.5, 0.3]))
def test_what_is_set_reads_back(chip: Chip, sense: float, share: float, torque: float) -> None:
    """Over each chip's range: up to its greatest reference, its full scale, or the most any such driver gives."""
    formula = chip.formula
    fitted = (chip.internal_sense_ohm or sense) if formula.sense_use is SenseUse.NEEDED else None
    top = formula.full_scale_ampere(fitted, torque)
    if top is None and formula.has_vref:
        top = formula.peak_of(Means(vref_volt=chip.vref_max_volt or 2.0), fitted, torque)
    peak = share * min(top or MOST_AMPERE, MOST_AMPERE)
    try:
        setting = set_peak(chip, peak, fitted, torque)
    except NotEnoughKnown as problem:
        assert "goes no lower" in problem.happened and peak < 0.0313  # the least that any register of the table gives
        return
    assert formula.peak_of(setting.means, fitted, torque) == pytest.approx(setting.peak_ampere, rel=1e-9)
    again = set_peak(chip, setting.peak_ampere, fitted, torque)  # the steps of a register are met exactly
    assert again.peak_ampere == pytest.approx(setting.peak_ampere, rel=1e-9)
    if setting.vref_volt is None:
        return
    assert setting.peak_ampere == peak
    read = read_vref(chip, setting.vref_volt, fitted, torque)
    assert read.peak_ampere == pytest.approx(peak, rel=1e-9)
    low, high = current_range(read)
    assert low < read.peak_ampere < high


@given(st.sampled_from(SETTABLE), st.floats(0.05, 3.0))
def test_nothing_set_gives_more_than_was_asked(chip: Chip, peak: float) -> None:
    sense = None if chip.sense_decides else 0.075
    assert 0 < set_peak(chip, peak, sense).peak_ampere <= peak * 1.000001


def test_what_is_missing_is_asked_for() -> None:
    with pytest.raises(NotEnoughKnown, match=r"0\.1, 0\.068, 0\.05"):
        set_peak(find("A4988"), 1.0)
    with pytest.raises(NotEnoughKnown, match="formula of MTD2001"):
        set_peak(find("MTD2001"), 1.0)
    with pytest.raises(NotEnoughKnown, match="inside SLA7075M"):
        set_peak(find("SLA7075M"), 1.0)
    with pytest.raises(InputProblem, match="neither"):
        fixed_setting(find("A4988"), 0.1)


def test_a_chip_by_its_printed_gain() -> None:
    assert set_peak(by_gain("XY1", 5.0), 0.8, 0.1).vref_volt == pytest.approx(0.4)


def test_the_trimmers_turn_stands_beside_the_reference() -> None:
    situation = Situation(set_peak(find("A4988"), 0.825 / 0.8, 0.1))
    assert ("VREF", "0.825 V  (25% of a trimmer that ends at 3.3 V)") in set_rows(situation, Judgement(), 3.3)
