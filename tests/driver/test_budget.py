"""What motors and drivers take from a supply, and what a computer's supply gives."""

from __future__ import annotations

import pytest

from coilbench.driver.budget import Driven, draw_of, fuse_for, wire_for, wires
from coilbench.driver.catalogue import find
from coilbench.driver.computer_supply import MOST_VOLT_AMPERE, rail_of, rails
from coilbench.errors import InputProblem

MOTOR = Driven(peak_ampere=1.0, ohm=3.0, supply_volt=24.0, shaft_watt=2.0)


def test_a_chopper_takes_power_not_current() -> None:
    found = draw_of(MOTOR)
    coils = 2 * 0.5 * 3.0  # 2 I^2 R, I the RMS of a sine of 1 A
    assert found.standing_watt == pytest.approx(1.15 * coils)
    assert found.worst_watt == pytest.approx(1.3 * coils + 2.0 + 0.15 * coils)
    assert found.flash_ampere == pytest.approx(2.0)
    full_steps = draw_of(Driven(1.0, 3.0, 24.0, 2.0, sine=False))
    assert full_steps.standing_watt == pytest.approx(2 * found.standing_watt)


def test_the_chips_own_heat_comes_on_top() -> None:
    chip = find("DRV8825", ())
    with_chip = draw_of(Driven(1.0, 3.0, 24.0, 2.0, chip=chip)).standing_watt - 3.0
    assert 0.3 < with_chip < 1.5
    assert draw_of(Driven(1.5, 3.0, 24.0, 2.0, chip=chip)).standing_watt - 2 * 1.5**2 / 2 * 3.0 > with_chip


@pytest.mark.parametrize(
    ("volt", "ohm", "watt"),
    [(6, 6.0, 12.0), (12, 12.0, 24.0), (24, 24.0, 48.0), (30, 30.0, 60.0)],
)
def test_without_a_chopper_all_current_comes_from_the_supply(volt: float, ohm: float, watt: float) -> None:
    """L/R to L/5R of a 6 ohm, 1 A winding, two phases on: supply power, reckoned from Ohm's law."""
    assert draw_of(Driven(1.0, ohm, volt, 0.0, chops=False)).standing_watt == pytest.approx(watt)


def test_the_fuse_protects_the_wire() -> None:
    for worst in (0.1, 0.9, 1.7, 3.0, 6.0):
        fuse = fuse_for(worst)
        assert fuse is not None and fuse >= 1.25 * worst and fuse >= 1
        wire = wire_for(fuse)
        assert wire is not None and wire.bundled_ampere >= fuse
    assert fuse_for(50.0) is None and wire_for(50.0) is None
    assert [each.gauge for each in wires()] == sorted((each.gauge for each in wires()), reverse=True)


# ATX12V Power Supply Design Guide 2.0: tables 3, 4 and 6, most of 12V1, 12V2, 5 V and 3.3 V.
PRINTED = {"250 W": (8, 14, 18, 17), "300 W": (8, 14, 20, 20), "400 W": (14, 15, 28, 30)}


@pytest.mark.parametrize("size", PRINTED)
def test_a_computers_supply_by_the_design_guide(size: str) -> None:
    found = tuple(rail_of(size, each).most_ampere for each in ("12V1", "12V2", "5V", "3.3V"))
    assert found == PRINTED[size]
    for each in rails():
        assert each.lowest_volt < each.volt < each.highest_volt
        assert each.volt != 12 or each.most_ampere * each.volt <= MOST_VOLT_AMPERE


def test_other_spellings_and_other_supplies() -> None:
    assert rail_of("300w", "12v2") is rail_of("300 W", "12V2")
    with pytest.raises(InputProblem, match=r"computer: '9 kW'.*expected 250 W"):
        rail_of("9 kW", "5V")
    with pytest.raises(InputProblem, match="rail: '-12V', expected one of 12V1"):
        rail_of("300 W", "-12V")
