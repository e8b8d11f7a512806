"""The heat balance against textbook figures, and the current estimate against rated motors."""

from __future__ import annotations

import math
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.errors import InputProblem
from coilbench.rating.copper import resistance_at
from coilbench.rating.current import current_for_rise, estimate_current
from coilbench.rating.frames import body_of, frame_table
from coilbench.rating.heat import (
    air_properties,
    convection_coefficient,
    heat_for_rise,
    nusselt_vertical_plate,
    radiation_coefficient,
)
from coilbench.rating.makers import Hints

FRAMES = [row.name for row in frame_table() if not row.round_can]


def test_nusselt_of_the_printed_example():
    # Incropera and DeWitt: Fundamentals of Heat and Mass Transfer, example 9.2 (weak: as quoted in a course's worked
    # file): Pr 0.69, Gr 2.63e9, Nu 147.16.
    assert nusselt_vertical_plate(2.63e9 * 0.69, 0.69) == pytest.approx(147.16, abs=0.01)


@pytest.mark.parametrize(
    ("height", "low", "high"), [(0.04, 8.0, 8.1), (0.05, 7.6, 7.7), (0.06, 7.3, 7.4), (0.10, 6.6, 6.7)]
)
def test_convection_of_small_faces(height, low, high):
    # Computed beforehand for a face of 85 C in air of 25 C, air properties good to 2 %.
    assert 0.98 * low <= convection_coefficient(height, 60, 25) <= 1.02 * high


@pytest.mark.parametrize(("emissivity", "expected"), [(0.3, 2.42), (0.5, 4.04), (0.9, 7.27)])
def test_radiation(emissivity, expected):
    # Computed beforehand by the grey-body law, 85 C against 25 C.
    assert radiation_coefficient(60, 25, emissivity) == pytest.approx(expected, abs=0.01)


def test_air_at_room_temperature():
    # Incropera and DeWitt: Fundamentals of Heat and Mass Transfer, table A.4, dry air at 300 K: 0.0263 W/mK,
    # 15.89e-6 m2/s, Pr 0.707 (from memory).
    conductivity, viscosity, prandtl = air_properties(26.85)
    assert conductivity == pytest.approx(0.0263, rel=0.02)
    assert viscosity == pytest.approx(15.89e-6, rel=0.02)
    assert prandtl == pytest.approx(0.707, rel=0.02)


def _estimates(motors, hinted=False, only=lambda row: True):
    """(rated, estimate) of each motor with a body; ``hinted``: with step angle, half-winding and holding torque."""
    for row in motors:
        if row["frame"] and row["body_mm"] and only(row):
            body = body_of(row["frame"], None, float(row["body_mm"]) / 1000)
            hints = Hints(
                step_angle_degree=float(row["step_angle_degree"]),
                half_winding=row["drive"] == "unipolar",
                holding_newton_metre=float(row["holding_newton_metre"] or "nan")
                if row["holding_newton_metre"]
                else None,
            )
            estimate = estimate_current(body, float(row["coil_ohm"]), hints=hints if hinted else Hints())
            yield float(row["current_ampere"]), estimate


def _off(found):
    return sorted(abs(estimate.estimate_ampere / rated - 1) for rated, estimate in found)


def _covered(found):
    return sum(estimate.low_ampere <= rated <= estimate.high_ampere for rated, estimate in found) / len(found)


@pytest.mark.parametrize(("hinted", "median"), [(False, 0.065), (True, 0.055)])
def test_estimates_meet_data_sheet_ratings(motors, hinted, median):
    found = list(_estimates(motors, hinted))
    errors = _off(found)
    assert len(errors) >= 60
    assert statistics.median(errors) <= median
    assert errors[math.ceil(0.9 * len(errors)) - 1] <= 0.28
    assert 0.84 <= _covered(found) <= 0.96


def test_the_value_to_begin_with_is_never_above_the_sheets(motors):
    for hinted in (False, True):
        assert all(estimate.start_ampere <= rated for rated, estimate in _estimates(motors, hinted))


def test_a_short_body_of_which_few_rows_are_known_gets_a_range_that_holds_them(motors):
    # Rated for a third to 1.8 times the heat that the balance gives such bodies: no middle can be right for all.
    short = list(_estimates(motors, only=lambda row: float(row["body_mm"]) < 0.6 * 42 and row["frame"] != "NEMA 14"))
    assert len(short) >= 8 and _covered(short) == 1
    assert all(estimate.start_ampere <= rated for rated, estimate in short)


def test_one_makers_motors_by_what_the_others_tell(motors):
    """What the scatter rests on is no single maker: each one's rows by themselves, and all but them."""
    makers = {row["maker"] or row["part"] for row in motors}
    for maker in makers:
        others = list(_estimates(motors, only=lambda row, maker=maker: (row["maker"] or row["part"]) != maker))
        assert _covered(others) >= 0.84, maker
    large = [maker for maker in makers if sum((row["maker"] or row["part"]) == maker for row in motors) >= 5]
    for maker in large:
        own = list(_estimates(motors, only=lambda row, maker=maker: row["maker"] == maker))
        if own:
            assert _covered(own) >= 0.8 and statistics.median(_off(own)) < 0.2, maker


def test_a_high_ohm_motor_is_made_for_twelve_volts_rather_than_for_its_heat():
    # 42BYG016R, 33 mm: 75 ohm, 0.16 A, 12 V (weak: Jameco: catalogue C111, page 113).
    body = body_of("NEMA 17", None, 0.033)
    found = estimate_current(body, 75.0)
    assert found.start_ampere <= 0.16 < found.estimate_ampere < current_for_rise(body, 75.0, 80.0)
    # Wantai: 42BYGHW series, maker's table: 42BYGHW602, 40 mm, 30 ohm, 0.4 A, 12 V: heat and the round voltage agree,
    # and narrow.
    agreed = estimate_current(body_of("NEMA 17", None, 0.040), 30.0)
    other = estimate_current(body_of("NEMA 17", None, 0.040), 2.0)
    assert agreed.estimate_ampere == pytest.approx(0.4, rel=0.02)
    assert agreed.high_ampere / agreed.low_ampere < other.high_ampere / other.low_ampere


def test_a_printed_holding_torque_tells_a_motor_that_is_rated_low():
    # 39BYG101-01, 20.1 mm, 6.8 ohm: 0.40 A, 650 g.cm (weak: Jameco: catalogue C111, page 113); heat alone gives
    # 0.65 A.
    body = body_of("NEMA 16", None, 0.0201)
    heat = estimate_current(body, 6.8)
    held = estimate_current(body, 6.8, hints=Hints(holding_newton_metre=0.06374, half_winding=False))
    assert abs(held.estimate_ampere - 0.40) < 0.65 * abs(heat.estimate_ampere - 0.40)
    # With the spun coil's constant the current is all but told: 0.49 N.m at 1 A (TRINAMIC: QMOT
    # QSH4218 motor manual, QSH4218-51-10-049).
    spun = Hints(holding_newton_metre=0.49, torque_constant=0.49 / math.sqrt(2) / 0.9, constant_doubt=0.02)
    both = estimate_current(body_of("NEMA 17", None, 0.047), 5.0, hints=spun)
    assert both.estimate_ampere == pytest.approx(1.0, rel=0.03)
    assert both.high_ampere / both.low_ampere < 1.5


def test_the_range_widens_where_few_rows_stand_behind():
    def width(frame, length, **hints):
        found = estimate_current(body_of(frame, None, length), 5.0, hints=Hints(**hints))
        return found.high_ampere / found.low_ampere

    well_known = width("NEMA 17", 0.040)
    for rare in (width("NEMA 11", 0.038), width("NEMA 24", 0.065), width("NEMA 17", 0.020)):
        assert rare > 1.2 * well_known
    assert width("NEMA 17", 0.040, step_angle_degree=0.9) > 1.2 * well_known


def test_the_table_counts_the_makers_that_the_rows_have(motors):
    of_frame: dict[str, set[str]] = {}
    for row in motors:
        if row["frame"] and row["body_mm"] and row["kind"] == "hybrid":
            of_frame.setdefault(body_of(row["frame"]).name, set()).add(row["maker"])
    told = {row.name: row.rated_makers for row in frame_table() if not row.round_can}
    assert told == {name: len(of_frame.get(name, ())) for name in told}


def test_no_frame_is_off_as_a_whole(motors):
    """A model of the heat, not a fit to one frame: each frame with several motors is met in the median."""
    by_frame: dict[str, list[float]] = {}
    for row in motors:
        if row["frame"] and row["body_mm"] and row["kind"] == "hybrid":
            body = body_of(row["frame"], None, float(row["body_mm"]) / 1000)
            estimate = estimate_current(body, float(row["coil_ohm"])).estimate_ampere
            by_frame.setdefault(body.name, []).append(estimate / float(row["current_ampere"]))
    checked = {name: statistics.median(ratios) for name, ratios in by_frame.items() if len(ratios) >= 2}
    assert len(checked) >= 4
    assert all(0.8 < ratio < 1.25 for ratio in checked.values()), checked


# Makers' catalogue figures (frame, length mm, ohm, ampere), from memory; frames the table has few of.
OTHER_MOTORS = [
    ("NEMA 8", 30, 6.5, 0.6),
    ("NEMA 42", 99, 0.9, 5.5),
]


@pytest.mark.parametrize(("frame", "length_mm", "ohm", "rated"), OTHER_MOTORS)
def test_other_frames_from_memory(frame, length_mm, ohm, rated):
    estimate = estimate_current(body_of(frame, None, length_mm / 1000), ohm)
    assert estimate.estimate_ampere == pytest.approx(rated, rel=0.20)
    assert estimate.start_ampere <= rated


# All round cans with a printed current that were found (diameter and length mm, ohm, ampere). Where no length is
# printed the table's range for that diameter stands in.
CANS = [
    (42, 22.1, 85.0, 0.28),  # Jameco: catalogue C111, page 113 (weak): 42BY48H07, 24 V, 85 ohm, 280 mA
    (28, None, 50.0, 0.10),  # weak: a small geared motor's sheet without its maker's name: 5 V, 50 ohm, under 40 K
    (42, None, 100.0, 0.12),  # KP4M4-029 (weak: a plotter project's page): about 120 mA at 12 V
]


@pytest.mark.parametrize(("across_mm", "length_mm", "ohm", "printed"), CANS)
def test_round_cans_lie_in_the_wide_range_that_is_stated(across_mm, length_mm, ohm, printed):
    length = None if length_mm is None else length_mm / 1000
    estimate = estimate_current(body_of(None, across_mm / 1000, length), ohm)
    assert estimate.low_ampere <= printed <= estimate.high_ampere
    assert estimate.start_ampere <= printed
    assert estimate.high_ampere > 4 * estimate.low_ampere  # three motors make no fit


def test_usual_rises():
    assert estimate_current(body_of("NEMA 17"), 3.0).rise_kelvin == 80
    assert estimate_current(body_of(None, 0.035), 50.0).rise_kelvin == 60


def test_start_never_asks_more_than_class_a():
    body = body_of("NEMA 17", None, 0.04)
    hot = estimate_current(body, 3.0, 125.0)
    class_a = estimate_current(body, 3.0, 60.0)
    assert hot.start_ampere <= class_a.estimate_ampere
    assert hot.start_ampere <= 0.75 * hot.estimate_ampere


@given(
    frame=st.sampled_from(FRAMES),
    ohm=st.floats(0.1, 500),
    rise=st.floats(10, 120),
)
def test_properties_of_the_estimate(frame, ohm, rise):
    body = body_of(frame)
    estimate = estimate_current(body, ohm, rise)
    assert 0 < estimate.low_ampere < estimate.estimate_ampere < estimate.high_ampere
    assert estimate.start_ampere <= 0.7501 * estimate.estimate_ampere
    heat = 2 * estimate.estimate_ampere**2 * resistance_at(ohm, 25, 25 + rise)
    assert heat == pytest.approx(estimate.heat_watt, rel=1e-9)
    # The heat balance closes: two phases, hot copper.
    by_heat = current_for_rise(body, ohm, rise)
    assert 2 * by_heat**2 * resistance_at(ohm, 25, 25 + rise) == pytest.approx(heat_for_rise(body, rise, 25))
    # Heat and not current belongs to the body: the same body wound with four times the ohms takes half the current.
    assert current_for_rise(body, 4 * ohm, rise) == pytest.approx(by_heat / 2)
    # Known length narrows the range.
    known = estimate_current(body.with_length(body.length_metre), ohm, rise)
    assert known.high_ampere - known.low_ampere < estimate.high_ampere - estimate.low_ampere


@given(rise=st.floats(6, 120), longer=st.floats(1.01, 3))
def test_more_rise_and_more_body_take_more_current(rise, longer):
    body = body_of("NEMA 17", None, 0.03)
    base = estimate_current(body, 5.0, rise).estimate_ampere
    assert estimate_current(body.with_length(0.03 * longer), 5.0, rise).estimate_ampere > base
    assert estimate_current(body, 5.0, rise + 1).estimate_ampere > base


@pytest.mark.parametrize(
    ("ohm", "rise"), [(0.0, 80), (-1, 80), (1e6, 80), (math.inf, 80), (5, 0), (5, 300), (5, math.nan)]
)
def test_absurd_figures_are_refused(ohm, rise):
    with pytest.raises(InputProblem):
        estimate_current(body_of("NEMA 17"), ohm, rise)
