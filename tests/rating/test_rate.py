"""What rests on what: temperature-rise test over label over size, what is missing."""

from __future__ import annotations

import pytest

from coilbench.errors import NotEnoughKnown
from coilbench.rating.frames import body_of, parse_frame
from coilbench.rating.label import Label
from coilbench.rating.rate import Known, rate
from coilbench.rating.spin import judge_spin

BODY = body_of("NEMA 17", None, 0.04)


def test_a_hot_soak_counts_more_than_the_label_and_that_more_than_the_size():
    size = rate(Known(2.0, BODY))
    label = rate(Known(2.0, BODY, label=Label(ampere=1.1)))
    soak = rate(Known(2.0, BODY, label=Label(ampere=1.1), soaked_ampere=1.2))
    assert label.estimate_ampere == 1.1
    assert soak.estimate_ampere == 1.2
    assert size.estimate_ampere not in (1.1, 1.2)
    assert label.high_ampere - label.low_ampere < size.high_ampere - size.low_ampere


def test_a_wanted_rise_is_answered_by_the_size_and_not_by_the_label():
    cool = rate(Known(2.0, BODY, rise_kelvin=40, label=Label(ampere=1.1)))
    assert cool.rise_kelvin == 40
    assert cool.estimate_ampere < rate(Known(2.0, BODY)).estimate_ampere


def test_a_label_no_body_could_bear_is_left_aside():
    rating = rate(Known(10.0, BODY, label=Label(volt=24.0)))
    assert rating.contradicts
    assert rating.estimate_ampere == rate(Known(10.0, BODY)).estimate_ampere


def test_a_label_that_contradicts_the_meter_is_not_the_makers_rating():
    rating = rate(Known(3.0, BODY, label=Label(volt=2.0, ampere=1.2)))
    assert rating.contradicts and not any("own rating" in line for line in rating.basis)
    assert any("own rating" in line for line in rate(Known(2.0, BODY, label=Label(ampere=1.1))).basis)


def test_makers_ask_more_of_some_square_bodies_than_the_heat_balance_has():
    # Sanyo Denki: drawing of SS2422-5041: 18.6 mm on 42 mm, 5.4 ohm, 1.0 A; heat alone gives 0.74 A.
    rating = rate(Known(5.4, body_of("NEMA 17", None, 0.0186), label=Label(ampere=1.0)))
    assert rating.estimate_ampere == 1.0 and not rating.contradicts


def test_a_supply_like_voltage_alone_starts_low():
    rating = rate(Known(label=Label(volt=12.0, ohm=75.0)))
    assert rating.start_ampere <= 0.5 * rating.estimate_ampere


def test_what_is_missing_is_named_and_widens():
    full = rate(Known(2.0, BODY, step_angle_degree=1.8, inductance_henry=0.003, spin=judge_spin(5, 1.8, 200)))
    assert full.missing == ("temperature-rise test",)
    assert full.holding_torque_newton_metre is not None
    no_length = rate(Known(2.0, body_of("NEMA 17")))
    assert "body length" in no_length.missing
    nothing = rate(Known(2.0))
    assert {"frame size or diameter", "body length"} <= set(nothing.missing)
    widths = [each.high_ampere / each.low_ampere for each in (full, no_length, nothing)]
    assert widths == sorted(widths)
    assert all(each.start_ampere <= each.estimate_ampere for each in (full, no_length, nothing))


def test_nothing_at_all_is_not_enough():
    with pytest.raises(NotEnoughKnown):
        rate(Known(body=BODY))


def test_a_size_that_could_be_a_can_is_said():
    assert any("round can" in note for note in rate(Known(50.0, parse_frame("35mm"))).notes)
    assert not any("round can" in note for note in rate(Known(50.0, parse_frame("NEMA 14"))).notes)


def test_the_doubt_about_cans_is_said_unless_a_soak_settled_it():
    can = body_of(None, 0.042, 0.02)
    assert any("temperature-rise test" in note for note in rate(Known(75.0, can)).notes)
    assert not any("round can:" in note for note in rate(Known(75.0, can, soaked_ampere=0.1)).notes)
    # 24 V across 85 ohm is several times the heat that 40 K shed: a label that says so is not believed at rest.
    assert rate(Known(85.0, can, label=Label(volt=24.0, ohm=85.0))).contradicts
