"""A formula that no chip of the table has: one class and one row, and everything about a setting works.

Both are invented for these tests, and handed in where the table's own would be read.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.driver.catalogue import find, parse_rows
from coilbench.driver.chip import Chip, Means, SenseUse
from coilbench.driver.finding import Situation, Weight
from coilbench.driver.findings import judgement_of
from coilbench.driver.formulas import FORMULAS
from coilbench.driver.means import SetByReference
from coilbench.driver.reference_voltage import current_range, equal_heat, read_resistor, read_vref, set_peak
from coilbench.driver.report import headline, result_object, set_rows, to_do
from coilbench.errors import InputProblem


@dataclass(frozen=True, slots=True)
class SquaredVref(SetByReference):
    """peak = factor VREF^2 / (Rs + lead_ohm): a curve, with a column of its own."""

    sense_use: ClassVar[SenseUse] = SenseUse.NEEDED

    factor: float
    lead_ohm: float = 0.0

    @property
    def symbols(self) -> str:
        return f"peak = {self.factor:g} VREF^2 / (Rs + {self.lead_ohm:g} ohm)"

    def ampere_per_volt(self, sense_ohm: float | None, torque: float = 1.0) -> float:
        assert sense_ohm is not None
        return self.factor * torque / (sense_ohm + self.lead_ohm)

    def means_for(self, peak_ampere: float, sense_ohm: float | None, torque: float = 1.0) -> Means:
        return Means(vref_volt=(peak_ampere / self.ampere_per_volt(sense_ohm, torque)) ** 0.5)

    def peak_of(self, means: Means, sense_ohm: float | None, torque: float = 1.0) -> float:
        assert means.vref_volt is not None
        return self.ampere_per_volt(sense_ohm, torque) * means.vref_volt**2


TABLE = """chip,formula,factor,lead_ohm,vref_min_volt,vref_max_volt,max_ampere,bridge_ohm,status,document
ZZ9,SQUARED,0.1,0.02,0.2,3.0,2.0,0.5,verified,invented
"""
CHIPS = parse_rows(TABLE, "table", own=False, formulas={**FORMULAS, "SQUARED": SquaredVref})
OFFSET_ROW = """chip,formula,gain,offset_volt,vref_min_volt,vref_max_volt
ZZ8,VREF_OFFSET_RS,5,0.3,0.5,3.3
"""
OFFSET_CHIPS = parse_rows(OFFSET_ROW, "drivers.csv")


@pytest.fixture
def chip() -> Chip:
    return find("zz9", CHIPS)


def test_its_figures_come_from_its_row(chip: Chip) -> None:
    assert chip.formula == SquaredVref(0.1, 0.02) and chip.needs_sense
    assert chip.formula_text == "peak = 0.1 VREF^2 / (Rs + 0.02 ohm)"


@given(st.floats(0.05, 1.0), st.floats(0.2, 3.0))
def test_it_is_set_and_read_back(sense: float, vref: float) -> None:
    (chip,) = CHIPS
    peak = chip.formula.peak_of(Means(vref_volt=vref), sense)
    setting = set_peak(chip, peak, sense)
    assert setting.vref_volt == pytest.approx(vref)
    assert read_vref(chip, vref, sense).peak_ampere == pytest.approx(peak)
    low, high = current_range(setting)
    assert low < peak < high
    with pytest.raises(InputProblem, match="no resistor on a pin"):
        read_resistor(chip, 1e3)


def test_its_setting_is_judged_told_and_saved(chip: Chip) -> None:
    situation = Situation(set_peak(chip, 1.0, 0.1), supply_volt=24.0, coil_ohm=4.0, inductance_henry=5e-3)
    judgement = judgement_of(situation)
    assert not judgement.stops and judgement.reach_ampere == pytest.approx(24 / 4.6)
    assert headline(situation, judgement) == "VREF 1.1 V for 1 A peak"  # root of 0.12 / 0.1
    heading, lines = to_do(situation, judgement)
    assert heading == "to do" and any("until the meter shows 1.1 V" in line for line in lines)
    rows = dict(set_rows(situation, judgement))
    assert rows["formula"] == chip.formula_text and rows["VREF"] == "1.1 V"
    told = result_object(situation, judgement)
    assert told["vref_volt"] == pytest.approx(1.09545) and told["formula"] == chip.formula_text and told["steps"]
    hotter = equal_heat(situation.setting, 1.0, None)
    assert hotter is not None and hotter.vref_volt == pytest.approx(1.2**0.5 * 2**0.25)


def test_its_setting_out_of_range_says_stop(chip: Chip) -> None:
    judgement = judgement_of(Situation(set_peak(chip, 10.0, 0.1)))
    assert {each.subject for each in judgement.stops} == {"reference", "current"}


def test_a_reference_with_an_offset() -> None:
    # By hand: (1.3 V - 0.3 V) / (5 x 0.2 ohm) = 1 A.
    (chip,) = OFFSET_CHIPS
    assert chip.formula_text == "peak = (VREF - 0.3 V) / (5 Rs)" and chip.status == "own"
    assert set_peak(chip, 1.0, 0.2).vref_volt == pytest.approx(1.3)
    assert read_vref(chip, 1.3, 0.2).peak_ampere == pytest.approx(1.0)
    # The meter's error of 0.0085 V counts against the volt over the offset, not against all of the reference.
    low, high = current_range(read_vref(chip, 1.3, 0.2))
    assert (low, high) == pytest.approx((0.9915 * 0.95 / 1.01, 1.0085 * 1.05 / 0.99))
    with pytest.raises(InputProblem, match="gives no current"):
        read_vref(chip, 0.3, 0.2)


def test_an_offset_formula_holds_within_its_range_alone() -> None:
    (chip,) = OFFSET_CHIPS
    under = judgement_of(Situation(set_peak(chip, 0.1, 0.2)))  # at 0.4 V
    said = next(each for each in under.findings if each.subject == "reference")
    assert said.weight is Weight.WARN and "does not hold there" in said.consequence
    assert judgement_of(Situation(set_peak(chip, 3.1, 0.2))).stops  # at 3.4 V


@given(st.floats(0.02, 1.0), st.floats(0.5, 3.3), st.sampled_from([1.0, 0.5]))
def test_an_offset_goes_both_ways_over_its_range(sense: float, vref: float, torque: float) -> None:
    (chip,) = OFFSET_CHIPS
    peak = chip.formula.peak_of(Means(vref_volt=vref), sense, torque)
    setting = set_peak(chip, peak, sense, torque)
    assert setting.vref_volt == pytest.approx(vref)
    assert chip.formula.peak_of(setting.means, sense, torque) == pytest.approx(peak)
