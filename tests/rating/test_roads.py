"""The roads to a unipolar motor's windings, against printed examples and Ohm's law."""

from __future__ import annotations

import pytest

from coilbench.errors import InputProblem
from coilbench.rating.roads import Road, roads


def road(name: str, *found: Road) -> Road:
    (one,) = [each for each in found if each.name.startswith(name)]
    return one


def test_a_printed_resistor() -> None:
    # Iovine: Robots, Androids and Animatrons, p. 231: a 12 V supply, 6 ohm, a chip for 1.25 A: 4 ohm in each common
    # leave 12/10 = 1.20 A. (Its 5 W resistor is too small: 1.2^2 x 4 = 5.76 W.)
    found = road("four switches, L/1.7R, your supply", *roads(6, 6.0, 1.2, 10e-3, supply_volt=12.0))
    assert found.series_ohm == pytest.approx(4.0) and found.supply_volt == pytest.approx(12.0)
    assert found.series_watt == pytest.approx(5.76) and found.coil_watt / 2 == pytest.approx(8.64)
    assert found.time_constant_second == pytest.approx(0.6 * 10e-3 / 6.0)
    assert "two resistors of 4 ohm, 12 W, one in each common" in found.parts


# A 6 ohm, 1 A winding, two phases on, by Ohm's law: supply, resistor a phase, both resistors' and the supply's power,
# and the time constant's share.
@pytest.mark.parametrize(
    ("name", "volt", "ohm", "resistors", "supply", "share"),
    [
        ("four switches, L/R", 6.0, 0.0, 0.0, 12.0, 1.0),
        ("four switches, L/2R", 12.0, 6.0, 12.0, 24.0, 0.5),
        ("four switches, L/4R", 24.0, 18.0, 36.0, 48.0, 0.25),
    ],
)
def test_resistor_drives(name: str, volt: float, ohm: float, resistors: float, supply: float, share: float) -> None:
    found = road(name, *roads(6, 6.0, 1.0, 12e-3))
    assert (found.supply_volt, found.series_ohm) == (pytest.approx(volt), pytest.approx(ohm))
    assert 2 * found.series_watt == pytest.approx(resistors) and found.supply_watt == pytest.approx(supply)
    assert found.time_constant_second == pytest.approx(share * 2e-3)


def test_a_supply_at_hand_is_one_of_them_or_stands_beside() -> None:
    names = [each.name for each in roads(6, 6.0, 1.0, 12e-3, supply_volt=12.1)]
    assert "four switches, L/2R, your supply" in names and len([each for each in names if "switches" in each]) == 3
    names = [each.name for each in roads(6, 6.0, 1.0, 12e-3, supply_volt=30.0)]
    assert "four switches, L/5R, your supply" in names
    weak = roads(6, 6.0, 1.0, 12e-3, supply_volt=3.0)
    assert not any("your supply" in each.name for each in weak), "no resistor makes 1 A of 3 V"


def test_the_taps_ignored_and_half_coil_are_the_connections() -> None:
    series, half = (road(name, *roads(6, 6.0, 1.0, 12e-3)) for name in ("series", "half-coil"))
    assert (series.ohm, series.henry, series.ampere) == (12.0, 48e-3, pytest.approx(0.7071, abs=1e-4))
    assert series.torque_relative == pytest.approx(1.4142, abs=1e-4) and half.torque_relative == 1.0
    weak = road("series", *roads(6, 6.0, 1.0, 12e-3, limit_peak_ampere=0.5))
    assert weak.ampere == 0.5 and weak.torque_relative == pytest.approx(1.0)
    assert [each.name for each in roads(8, 6.0, 1.0, 12e-3)][:3] == ["half-coil", "series", "parallel"]


def test_five_leads_have_no_bipolar_chopper_but_by_opening_the_motor() -> None:
    found = roads(5, 50.0, 0.1, 40e-3, supply_volt=12.0)
    choppers = [each for each in found if each.drive == "bipolar" and each.chops]
    assert [each.name for each in choppers] == ["common cut apart"]
    assert any("seldom" in each for each in choppers[0].cautions)
    open_ = road("common left open", *found)
    assert open_.ampere == pytest.approx(0.12) and not open_.chops and open_.microsteps == "full steps alone"
    assert any("7.07 V is the most" in each for each in open_.cautions)
    one_common = road("four switches, L/2R", *found)
    assert any("25 ohm, 2 W in the one common" in each for each in one_common.parts)


def test_only_motors_with_taps_have_roads() -> None:
    with pytest.raises(InputProblem, match="expected 5, 6 or 8"):
        roads(4, 6.0, 1.0, 12e-3)
