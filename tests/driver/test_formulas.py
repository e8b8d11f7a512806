"""Every chip's formula goes both ways; an affine one, too, and one of a kind that nobody has seen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilbench.driver.catalogue import built_in, parse_rows
from coilbench.driver.chip import Chip, Formula, SenseUse
from coilbench.driver.finding import Situation
from coilbench.driver.findings import judgement_of
from coilbench.driver.formulas import FORMULAS
from coilbench.driver.means import SetByReference
from coilbench.driver.reference_voltage import read_resistor, read_vref, set_peak
from coilbench.driver.report import finding_lines, headline, result_object, to_do

BY_VOLTAGE = [chip for chip in built_in() if chip.formula.has_vref]
BY_RESISTOR = [chip for chip in built_in() if chip.formula.has_set_resistor]


def sense_for(chip: Chip) -> float | None:
    return 0.1 if chip.needs_sense else None


@settings(max_examples=80, deadline=None)
@given(chip=st.sampled_from(BY_VOLTAGE), share=st.floats(0.1, 1.0))
def test_the_reference_that_is_set_reads_back_as_the_current(chip: Chip, share: float) -> None:
    top = chip.formula.full_scale_ampere(sense_for(chip)) or chip.most_peak_ampere or 1.0
    setting = set_peak(chip, share * top, sense_for(chip))
    assert setting.vref_volt is not None
    assert read_vref(chip, setting.vref_volt, sense_for(chip)).peak_ampere == pytest.approx(share * top, rel=1e-9)


@pytest.mark.parametrize("chip", BY_RESISTOR, ids=lambda chip: chip.chip)
def test_the_resistor_that_is_set_reads_back_as_the_current(chip: Chip) -> None:
    setting = set_peak(chip, 0.7)
    assert setting.means.set_resistor_ohm is not None
    assert read_resistor(chip, setting.means.set_resistor_ohm).peak_ampere == pytest.approx(0.7)


# Invented figures: 0.5 V of offset, gain 5, good from 0.6 to 2.5 V.
OFFSET = "chip,formula,gain,offset_volt,vref_min_volt,vref_max_volt\nXY1,VREF_OFFSET_RS,5,0.5,0.6,2.5\n"


def test_an_affine_formula_goes_both_ways_and_holds_in_its_range_alone() -> None:
    (chip,) = parse_rows(OFFSET, "own")
    setting = set_peak(chip, 1.0, 0.1)
    assert setting.vref_volt == pytest.approx(0.5 + 1.0 * 5 * 0.1)
    assert read_vref(chip, 1.0, 0.1).peak_ampere == pytest.approx(1.0)
    assert chip.formula_text == "peak = (VREF - 0.5 V) / (5 Rs)"
    low = judgement_of(Situation(set_peak(chip, 0.1, 0.1)))
    assert any("does not hold there" in line for line in finding_lines(low))
    with pytest.raises(Exception, match="gives no current"):
        read_vref(chip, 0.4, 0.1)


@dataclass(frozen=True, slots=True)
class Doubled(SetByReference):
    """A formula of no real chip: twice its factor an ampere a volt."""

    sense_use: ClassVar[SenseUse] = SenseUse.UNUSED

    factor: float

    @property
    def symbols(self) -> str:
        return f"peak = {self.factor:g} A/V x VREF, doubled"

    def ampere_per_volt(self, sense_ohm: float | None, torque: float = 1.0) -> float:
        return 2 * self.factor * torque


def test_a_new_formula_is_a_class_and_the_chips_row() -> None:
    formulas: Mapping[str, type[Formula]] = {**FORMULAS, "DOUBLED": Doubled}
    (chip,) = parse_rows("chip,formula,factor,max_ampere\nXY2,DOUBLED,0.5,2\n", "own", formulas=formulas)
    setting = set_peak(chip, 0.8)
    assert setting.vref_volt == pytest.approx(0.8) and read_vref(chip, 0.8).peak_ampere == pytest.approx(0.8)
    situation = Situation(setting, supply_volt=12.0)
    judgement = judgement_of(situation)
    assert headline(situation, judgement) == "VREF 0.8 V for 0.8 A peak"
    assert to_do(situation, judgement)[1] and result_object(situation, judgement)["vref_volt"] == 0.8
    assert finding_lines(judgement)
