"""Frame names as people write them, and the frame table."""

from __future__ import annotations

import math

import pytest

from coilbench.errors import InputProblem
from coilbench.rating.frames import body_of, frame_table, parse_frame


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("NEMA 17", "NEMA 17"), ("NEMA17", "NEMA 17"), ("nema-17", "NEMA 17"), ("17", "NEMA 17"), (" 17 ", "NEMA 17"),
        ("42mm", "NEMA 17"), ("42 mm", "NEMA 17"), ("42,3 mm", "NEMA 17"), ("39mm", "NEMA 16"), ("57mm", "NEMA 23"),
        ("56.4 mm square", "NEMA 23"), ("60mm", "NEMA 24"), ("86mm", "NEMA 34"), ("NEMA 42", "NEMA 42"),
        ("110mm", "NEMA 42"), ("106 mm", "NEMA 42"), ("8", "NEMA 8"), ("size 11", "NEMA 11"), ("35mm", "NEMA 14"),
        ("42 mm round", "42 mm can"), ("35 mm can", "35 mm can"),
    ],
)  # fmt: skip
def test_frames_as_written(text, name):
    assert parse_frame(text).name == name


@pytest.mark.parametrize("text", ["NEMA 18", "", "seventeen", "75mm", "-17", "NEMA 17.5", "[bold]17"])
def test_frames_refused_in_one_line(text):
    with pytest.raises(InputProblem) as problem:
        parse_frame(text)
    assert "\n" not in str(problem.value)


def test_a_bare_42_names_both_meanings():
    with pytest.raises(InputProblem, match=r"NEMA 42.*42mm"):
        parse_frame("42")


def test_missing_length_widens_and_a_given_one_settles():
    assert not body_of("NEMA 17").length_known
    assert body_of("NEMA 17", None, 0.048).length_known
    assert body_of(None, 0.035).round_can
    assert body_of() is None


@pytest.mark.parametrize(
    ("frame", "diameter", "length"),
    [
        ("NEMA 17", 0.035, None),
        (None, 0.001, None),
        (None, 2.0, None),
        ("NEMA 17", None, 0.48),
        ("NEMA 17", None, 0.003),
    ],
)
def test_absurd_bodies_are_refused(frame, diameter, length):
    with pytest.raises(InputProblem):
        body_of(frame, diameter, length)


def test_every_row_of_the_table_has_a_source_and_sane_sizes():
    for row in frame_table():
        assert row.source
        assert 0 < row.short_metre < row.typical_metre < row.long_metre


# NEMA: ICS 16, bolt circles in inches: 17 as an open library restates its table 4 (weak), the others from memory.
@pytest.mark.parametrize(
    ("name", "circle_inch"), [("NEMA 17", 1.725), ("NEMA 23", 2.625), ("NEMA 34", 3.875), ("NEMA 42", 4.950)]
)
def test_hole_pitches_follow_the_bolt_circles(name, circle_inch):
    row = next(row for row in frame_table() if row.name == name)
    assert row.hole_pitch_metre == pytest.approx(circle_inch * 0.0254 / math.sqrt(2), abs=0.0001)


def test_a_face_in_millimetres_that_cans_have_too_is_marked():
    assert parse_frame("35mm").by_size
    assert not parse_frame("35 mm square").by_size
    assert not parse_frame("35 mm can").by_size
    assert not parse_frame("86mm").by_size
    assert not parse_frame("17").by_size
