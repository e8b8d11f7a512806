"""Heat in driver chips, against the powers, temperatures and ratings that their makers print."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import pytest

from coilbench.driver.carried import AROUND_CELSIUS, MARGIN_KELVIN, carried
from coilbench.driver.catalogue import built_in, find
from coilbench.driver.chip import SQRT2, Chip
from coilbench.driver.heat import SWITCHING_SECOND, Load, heat_at, load_of, settled_heat


class Printed(NamedTuple):
    """A power that a maker prints for both coils microstepping, with the temperature of the package's face."""

    chip: str
    rms_ampere: float
    watt: float
    case_celsius: float
    source: str


# Tables of typical power and of supply current (12 MHz clock, 35 kHz chopping); 24 V and 25 C around are from memory
# of the same tables.
PRINTED = [
    Printed("TMC2208", 0.70, 1.36, 68, "TRINAMIC TMC220X/222X Rev 1.02, 2017-05-16, thermal characteristics"),
    Printed("TMC2208", 1.00, 2.50, 110, "TRINAMIC TMC220X/222X Rev 1.02, 2017-05-16, thermal characteristics"),
    Printed("TMC2209", 1.00, 1.40, 70, "TRINAMIC TMC2209 preliminary Rev 0.90, 2019-02-12, thermal characteristics"),
    Printed("TMC2209", 1.40, 2.90, 105, "TRINAMIC TMC2209 preliminary Rev 0.90, 2019-02-12, thermal characteristics"),
    Printed("TMC2100", 0.92, 2.60, 84, "TRINAMIC TMC2100 Rev 1.07, 2017-05-15, thermal characteristics"),
    Printed("TMC2130", 0.92, 2.60, 84, "TRINAMIC TMC2130 Rev 1.09, 2017-05-15, thermal characteristics"),
]
INSIDE_OVER_CASE_KELVIN = 3.0  # of such packages' faces at 1 to 3 W: common practice


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: f"{row.chip} {row.rms_ampere} A")
def test_printed_powers_are_met_within_15_percent(row: Printed) -> None:
    chip = find(row.chip)
    found = heat_at(chip, load_of(chip, row.rms_ampere, 24.0), row.case_celsius + INSIDE_OVER_CASE_KELVIN)
    assert found is not None and found.watt == pytest.approx(row.watt, rel=0.15)
    # Copper alone, cold, is what was counted before: it falls short by more than a quarter.
    assert 2 * (chip.bridge_max_ohm or 0.0) * row.rms_ampere**2 < 0.75 * row.watt


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: f"{row.chip} {row.rms_ampere} A")
def test_the_heat_and_the_temperature_it_makes_agree(row: Printed) -> None:
    chip = find(row.chip)
    found = settled_heat(chip, load_of(chip, row.rms_ampere, 24.0), 25.0, chip.thermal_kelvin_per_watt)
    assert found is not None and found.junction_celsius is not None
    # Their boards are not the ones of their thermal resistance: watts and kelvins of the same row differ by a tenth.
    assert found.junction_celsius - 25 == pytest.approx(row.case_celsius - 25, rel=0.25)


def test_conduction_is_the_printed_formula() -> None:
    # TI SLVSA73F: P = 4 x R x Irms^2 of one transistor, 0.25 ohm typical at 85 C.
    chip = find("DRV8825")
    found = heat_at(chip, Load(1.0, 0.9, 24.0), 85.0)
    assert found is not None and found.conduction_watt == pytest.approx(4 * 0.25, rel=0.02)
    # ST L298, Jan 2000: 2.55 V typical at 1 A in each of two bridges.
    found = heat_at(find("L297+L298"), Load(1.0, 1.0, 24.0), 85.0)
    assert found is not None and found.conduction_watt == pytest.approx(2 * 2.55, rel=0.01)
    # TI SLRS027M: two outputs at 0.35 A and 1.2 V typical; nothing chops in it.
    found = heat_at(find("ULN2003A"), Load(0.35, 0.35, 24.0), 85.0)
    assert found is not None and found.watt == pytest.approx(2 * 0.35 * 1.2, rel=0.02)


# Resistance of the whole bridge, typical, at 25 C and hot, with the document's table of electrical characteristics.
HOT_BRIDGES = [
    ("DRV8825", 0.40, 85, 0.50, "TI SLVSA73F, Jul 2014"),
    ("DRV8824", 1.28, 85, 1.54, "TI SLVSA06C, Sep 2010"),
    ("DRV8834", 0.305, 85, 0.37, "TI SLVSB19D, Mar 2015"),
    ("MP6500", 0.365, 85, 0.50, "MPS MP6500 rev 1.0, 22 Jun 2017"),
    ("STSPIN820", 1.0, 125, 1.4, "ST DocID031065 Rev 2, Dec 2017"),
    ("L6474", 0.55, 125, 0.74, "ST DocID022529 Rev 4"),
]


@pytest.mark.parametrize(("name", "cold", "celsius", "hot", "source"), HOT_BRIDGES)
def test_a_warm_bridge_resists_more(name: str, cold: float, celsius: float, hot: float, source: str) -> None:
    chip = find(name)
    assert chip.bridge_ohm == cold
    found = heat_at(chip, Load(1.0, 0.9, 24.0), celsius)
    assert found is not None and found.conduction_watt == pytest.approx(2 * hot, rel=0.15), source


# The power a package is rated for at 25 C, printed beside its thermal resistance: what the limit inside leaves.
RATED = [
    ("DRV8825", 3.73, "TI SLVSA73A, Oct 2010, four-layer test board"),
    ("DRV8824", 3.73, "TI SLVSA06C, Sep 2010, four-layer test board"),
    ("MP6500", 3.5, "MPS MP6500 rev 1.0, 22 Jun 2017, QFN"),
    ("TB6560AHQ", 5.0, "Toshiba TB6560AHQ/AFG, 2014-10-01, no heat sink"),
    ("L6474", 5.0, "ST DocID022529 Rev 4, HTSSOP28 on the evaluation board"),
]


@pytest.mark.parametrize(("name", "watt", "source"), RATED)
def test_thermal_resistance_and_rated_power_agree(name: str, watt: float, source: str) -> None:
    chip = find(name)
    assert chip.thermal_kelvin_per_watt is not None and chip.junction_max_celsius is not None
    assert (chip.junction_max_celsius - 25) / chip.thermal_kelvin_per_watt == pytest.approx(watt, rel=0.15), source


def test_what_documents_print_against_their_own_figures_is_a_conflict() -> None:
    # Toshiba TB6560AHQ/AFG, 2014-10-01: 43 W on an ideal heat sink, and 1.5 K/W to the case.
    toshiba = find("TB6560AHQ")
    assert (150 - 25) / 1.5 > 1.15 * 43 and "43 W" in toshiba.conflict and "1.5 K/W" in toshiba.conflict
    # TI SLVSB19D, Mar 2015: the worked example's bridge of 1 ohm at 65 C is over twice its own table's.
    texas = find("DRV8834")
    found = heat_at(texas, Load(1.0, 0.9, 5.0), 65.0)
    assert found is not None and found.conduction_watt < 0.5 * 2 * 1.0 and "1 ohm" in texas.conflict


def test_two_outputs_of_a_transistor_array_carry_what_its_figure_shows() -> None:
    # TI SLRS027O, Jan 2016, figure 5 (read by eye): DIP package, 85 C, two outputs on for good: 295 mA; 125 C inside.
    chip = find("ULN2003A")
    found = settled_heat(chip, load_of(chip, 0.295, 12.0, sine=False), 85.0, chip.thermal_kelvin_per_watt)
    assert found is not None and found.junction_celsius is not None
    assert found.junction_celsius - 85 == pytest.approx(125 - 85, rel=0.15)


def test_a_chip_that_warms_itself_without_end_is_hot_and_finite() -> None:
    chip = find("DRV8824")
    found = settled_heat(chip, load_of(chip, 3.0, 24.0), 40.0, 67.5)
    assert found is not None and found.junction_celsius is not None and 150 < found.junction_celsius < 3000


def cool_free(chip: Chip) -> float:
    assert chip.cool_free_ampere is not None
    return chip.cool_free_ampere * (SQRT2 if chip.cool_free_kind == "rms" else 1.0)


# Currents that carriers' pages print (weak) for boards without cooling, peak; the ones marked * are from memory.
BARE_BOARDS = {
    "A4988": 1.0,
    "DRV8825": 1.5,
    "DRV8824": 0.75,
    "DRV8834": 1.5,
    "MP6500": 1.5,
}  # *A4988 *DRV8824 *DRV8834


@pytest.mark.parametrize("name", BARE_BOARDS)
def test_what_a_bare_board_carries_is_printed_or_reckoned_alike(name: str) -> None:
    chip = find(name)
    assert (found := carried(chip)) is not None and (found.peak_ampere, found.basis) == (BARE_BOARDS[name], "printed")
    reckoned = carried(replace(chip, cool_free_ampere=None))
    assert reckoned is not None and 0.7 <= reckoned.peak_ampere / BARE_BOARDS[name] <= 1.0


def test_no_chip_is_said_to_carry_its_absolute_maximum() -> None:
    for chip in built_in():
        found = carried(chip)
        if found is not None:
            assert chip.most_peak_ampere is not None and found.peak_ampere <= 0.9 * chip.most_peak_ampere, chip.chip
    assert carried(find("A4985")) is None  # nothing tells it


def test_what_is_said_to_be_carried_stays_cool_on_the_documents_board() -> None:
    for chip in built_in():
        found = carried(chip)
        if found is None or chip.thermal_kelvin_per_watt is None or chip.junction_max_celsius is None:
            continue
        rms = found.peak_ampere / SQRT2 if chip.formula.regulates else found.peak_ampere
        load = load_of(chip, rms, None, sine=chip.formula.regulates)
        heat = settled_heat(chip, load, AROUND_CELSIUS, chip.thermal_kelvin_per_watt)
        assert heat is not None and heat.junction_celsius is not None
        assert heat.junction_celsius <= chip.junction_max_celsius - MARGIN_KELVIN + 0.1, chip.chip


def test_the_one_fitted_time_is_not_fitted_to_any_row() -> None:
    """Each printed power is met within 15 % by the switching time that the other chips' rows leave."""

    def parts(row: Printed) -> tuple[float, float]:
        chip = find(row.chip)
        found = heat_at(chip, load_of(chip, row.rms_ampere, 24.0), row.case_celsius + INSIDE_OVER_CASE_KELVIN)
        assert found is not None
        return found.conduction_watt + found.idle_watt, found.switching_watt / SWITCHING_SECOND

    rows = [row for row in PRINTED if row.chip != "TMC2130"]  # the TMC2100's figures again
    seconds = {row: (row.watt - parts(row)[0]) / parts(row)[1] for row in rows}
    for row in rows:
        rest = [second for other, second in seconds.items() if other is not row]
        rest_watt, watt_per_second = parts(row)
        assert rest_watt + watt_per_second * sum(rest) / len(rest) == pytest.approx(row.watt, rel=0.15), row
    assert sum(seconds.values()) / len(seconds) == pytest.approx(SWITCHING_SECOND, rel=0.1)
