"""What is kept of a motor, as lines: figures with units, no raw objects."""

from __future__ import annotations

from coilbench.cli.motor_text import lines_of, text_of


def test_figures_are_rounded_and_have_units() -> None:
    ratings = {"current_ampere": 0.23000388949325423, "inductance_henry": 0.0032, "holding_torque_newton_metre": None}
    ratings |= {"basis": ["size"], "inertia_kilogram_metre2": 2.04e-6, "step_angle_degree": 1.8}
    assert lines_of(ratings) == [
        "current: 0.23 A",
        "inductance: 3.2 mH",
        "basis: size",
        "inertia: 2.04e-06 kg m²",
        "step angle: 1.8°",
        "none or not known: holding torque",
    ]
    assert lines_of({"typed": {}, "chip": "A4988"}) == ["chip: A4988"]
    assert text_of("interval_sps", [307.123456, 611.0]) == "307.1 steps/s to 611 steps/s"
    assert text_of("confidence", 0.998) == "99.8 %"


def test_coils_are_a_table() -> None:
    coils = [{"name": "A", "ends": ["red", "blue"], "tap": None, "ohms": 48.2, "ohms_sd": 0.3}]
    assert lines_of({"coils": coils, "faults": []}) == [
        "coils:",
        "  name  ends      ohms    ohms sd",
        "  A     red blue  48.2 Ω  0.3 Ω",
        "none or not known: faults",
    ]


def test_an_event_is_one_line() -> None:
    assert text_of("", {"kind": "trial", "rate_sps": 400.0, "held": True, "note": None}) == (
        "kind trial, rate 400 steps/s, held yes"
    )
