"""Which connection is taken: by torque at rest while nothing else is known, by torque at speed where it is."""

from __future__ import annotations

import pytest

from coilbench.errors import InputProblem
from coilbench.rating.choice import Bench, Choice, Pull, choose_connection
from coilbench.rating.connections import Connection, connection_rows


def choice_of(
    leads: int, ohm: float = 4.0, ampere: float = 1.0, bench: Bench | None = None, **pulls: tuple[float, float]
) -> Choice:
    """The choice for these figures; ``pulls`` are torque at speed and the turns a second of half of it."""
    bench = bench or Bench()
    rows = connection_rows(leads, ohm, ampere, 0.004, bench.limit_peak_ampere)
    names: dict[str, Connection] = {"half": "half-coil", "series": "series", "parallel": "parallel"}
    told = {names[name]: Pull(1.0, at_speed, half, 1.0) for name, (at_speed, half) in pulls.items()}
    return choose_connection(leads, rows, bench, told)


@pytest.mark.parametrize(
    ("leads", "ampere", "bench", "chosen"),
    [
        (8, 1.0, Bench(limit_peak_ampere=2.0), "parallel"),
        (8, 1.0, Bench(limit_peak_ampere=0.8), "series"),
        (8, 3.0, Bench(), "series"),  # 4.2 A is more than common boards carry
        (8, 1.0, Bench(), "parallel"),
        (6, 1.0, Bench(limit_peak_ampere=1.5), "series"),
        (8, 1.0, Bench(drive="unipolar"), "unipolar"),
        (4, 1.0, Bench(), "bipolar"),
        (5, 0.2, Bench(), "unipolar"),
    ],
)
def test_torque_at_rest_decides_while_nothing_is_known_of_speed(leads, ampere, bench, chosen) -> None:
    choice = choice_of(leads, 4.0, ampere, bench)
    assert choice.choose == chosen
    assert choice.why


def test_torque_at_speed_decides_where_it_is_known() -> None:
    bench = Bench(supply_volt=12, wanted_rev_per_second=4.5)
    choice = choice_of(6, bench=bench, half=(0.6, 8), series=(0.4, 4))
    assert choice.choose == "half-coil" and "270 rpm" in choice.why and "series 0.40" in choice.why
    assert choice_of(6, bench=bench, half=(0.4, 8), series=(0.6, 4)).choose == "series"


def test_too_fast_for_all_is_said() -> None:
    bench = Bench(supply_volt=12, wanted_rev_per_second=20)
    said = " ".join(choice_of(6, bench=bench, half=(0.1, 4), series=(0.05, 2)).notes)
    assert "at 1200 rpm only 10% of its torque at rest" in said and "gear" in said
    assert "gear" not in " ".join(choice_of(6, bench=bench, half=(0.6, 4), series=(0.05, 2)).notes)


def test_of_two_alike_the_quicker_is_taken() -> None:
    bench = Bench(supply_volt=24, limit_peak_ampere=4.0)
    assert choice_of(8, bench=bench, half=(0.7, 12), series=(0.90, 3), parallel=(0.89, 6)).choose == "parallel"


def test_what_common_boards_do_not_carry_is_left_out_and_said() -> None:
    pulls = {"half": (0.7, 12.0), "series": (0.8, 3.0), "parallel": (0.99, 6.0)}
    choice = choice_of(8, 1.4, 2.4, Bench(supply_volt=24), **pulls)
    assert choice.choose == "series" and "parallel (3.39 A)" in choice.why and "say your driver" in choice.why


def test_a_weak_driver_is_said() -> None:
    choice = choice_of(4, 1.0, 2.0, Bench(limit_peak_ampere=1.0, limit_words="a bare A4988 board carries"))
    assert choice.chosen.usable_torque == pytest.approx(0.5)
    assert any("50 %" in note and "A4988" in note for note in choice.notes)


@pytest.mark.parametrize(
    ("supply", "chops", "words"),
    [
        (3.0, True, "brings only 0.75 of 1 A through 4 ohm"),
        (6.0, True, "little to work with"),
        (12.0, False, "8 ohm in series"),
        (4.0, False, ""),  # the motor's own voltage: nothing is to be said
        (24.0, True, ""),
    ],
)
def test_supply_against_the_winding(supply, chops, words) -> None:
    notes = " ".join(choice_of(4, bench=Bench(supply_volt=supply, chops=chops)).notes)
    assert (words in notes) if words else notes == ""


def test_five_leads_are_told_what_can_be_done_with_numbers() -> None:
    # 50 ohm, 0.1 A a half: its own voltage is 5 V. Ends of a bridge at 5 V: 0.05 A through both halves, as strong.
    choice = choice_of(5, 50.0, 0.1)
    assert "unipolar" in choice.why
    said = " ".join(choice.notes)
    assert "step/direction board can't" in said and "hard-switched" in said and "half of the supply" in said
    assert "5 V makes 0.05 A through 100 ohm a phase; that holds 1.00 of the unipolar torque" in said
    assert "gains only from 7.07 V up" in said and "nothing gained" in said and "lose" in said


def test_five_leads_on_more_than_they_stand() -> None:
    said = " ".join(choice_of(5, 50.0, 0.1, Bench(supply_volt=12)).notes)
    assert "0.12 A through 100 ohm a phase, over the 0.0707 A it can take: 7.07 V is the most" in said


def test_five_leads_have_one_common_for_their_resistor() -> None:
    # 24 V on 75 ohm and 0.16 A a half: 75 ohm in each phase's way, 37.5 ohm where both pass.
    said = " ".join(choice_of(5, 75.0, 0.16, Bench("unipolar", supply_volt=24, chops=False)).notes)
    assert "37.5 ohm in the one common lead (3.8 W), or 75 in each end" in said


def test_whole_windings_have_no_taps_to_switch() -> None:
    with pytest.raises(InputProblem, match="centre taps"):
        choice_of(4, bench=Bench(drive="unipolar"))


def test_the_one_that_a_fault_leaves_needs_its_driver() -> None:
    rows = connection_rows(6, 4.0, 1.0, only="half-coil")
    assert choose_connection(6, rows, Bench(), only_left=True).choose == "half-coil"
    with pytest.raises(InputProblem, match="expected a bipolar driver"):
        choose_connection(6, rows, Bench(drive="unipolar"), only_left=True)
