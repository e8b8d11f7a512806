"""Labels as motors print them, and labels that contradict the meter."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.errors import InputProblem
from coilbench.rating.frames import parse_frame
from coilbench.rating.label import Label, judge_label, read_label


@pytest.mark.parametrize(
    ("text", "label"),
    [
        ("5V 35 ohm", Label(volt=5, ohm=35)),
        ("4.2V/PHASE 1.2A", Label(volt=4.2, ampere=1.2)),
        ("7.5 DEG", Label(step_angle_degree=7.5)),
        ("STEP ANGLE 3.75", Label(step_angle_degree=3.75)),
        ("12V 75Ω", Label(volt=12, ohm=75)),
        ("1.8°/STEP 0.4A/PHASE", Label(step_angle_degree=1.8, ampere=0.4)),
        ("DC 24V 280mA 85 OHM", Label(volt=24, ampere=0.28, ohm=85)),
        ("200 STEPS/REV 3.3V", Label(step_angle_degree=1.8, volt=3.3)),
        ("3,3 mH 2.5A", Label(henry=0.0033, ampere=2.5)),
        ("TYPE 17PM-K212 1.8DEG 4.68V", Label(step_angle_degree=1.8, volt=4.68)),
    ],
)
def test_labels_as_printed(text, label):
    read = read_label(text)
    for field in ("volt", "ampere", "ohm", "step_angle_degree", "henry"):
        wanted = getattr(label, field)
        assert getattr(read, field) == (pytest.approx(wanted) if wanted is not None else None)


@pytest.mark.parametrize("text", ["", "MADE IN", "[/x]", "0V 0A", "0 ohm 5V", "360 deg", "=1+1"])
def test_labels_that_say_nothing(text):
    with pytest.raises(InputProblem) as problem:
        read_label(text)
    assert "\n" not in str(problem.value)


def test_a_supply_voltage_printed_beside_the_current():
    # KP35FM2-044: 24 V printed, while current times resistance is 4 V (weak: a dealer's catalogue, beside the sheet).
    finding = judge_label(Label(volt=24, ampere=0.4), measured_ohm=10.0)
    assert finding.contradicts
    assert finding.ampere == 0.4
    assert "supply" in finding.notes[0]


def test_a_supply_voltage_found_out_by_the_size():
    finding = judge_label(Label(volt=24), measured_ohm=10.0, most_ampere=0.8)
    assert finding.contradicts
    assert finding.ampere is None
    assert "supply" in finding.notes[0]


def test_a_supply_like_voltage_stays_unsure_without_the_size():
    finding = judge_label(Label(volt=12, ohm=75))
    assert finding.unsure
    assert finding.ampere == pytest.approx(0.16)
    assert not judge_label(Label(volt=12, ohm=75), most_ampere=0.3).unsure


# Makers' sheets and lists (weak) that contradict themselves: PX243M-01AA 8.4 ohm, 0.67 A, prints 4 V;
# QSH8618-156-62-1280 with 4.65 V from current and resistance, prints 3.5; 42BYG205 with 75 ohm where 9.6 V and 0.48 A
# give 20.
@pytest.mark.parametrize(("volt", "ampere", "ohm"), [(4.0, 0.67, 8.4), (3.5, 6.2, 0.75), (9.6, 0.48, 75.0)])
def test_sheets_that_contradict_themselves(volt, ampere, ohm):
    finding = judge_label(Label(volt=volt, ampere=ampere, ohm=ohm))
    assert finding.contradicts
    assert finding.ampere == pytest.approx(min(ampere, volt / ohm))


def test_sheets_that_agree_do_not_cry_wolf(motors):
    checked = 0
    for row in motors:
        if row["printed_volt"] and row["part"] != "PX243M-01AA":
            label = Label(
                volt=float(row["printed_volt"]), ampere=float(row["current_ampere"]), ohm=float(row["coil_ohm"])
            )
            finding = judge_label(label, measured_ohm=float(row["coil_ohm"]))
            assert not finding.contradicts, row["part"]
            assert finding.ampere == float(row["current_ampere"])
            checked += 1
    assert checked >= 25


def test_end_to_end_measured_for_a_half():
    finding = judge_label(Label(volt=5, ohm=35), measured_ohm=70.0)
    assert finding.contradicts
    assert "half" in finding.notes[0]
    assert finding.ampere == pytest.approx(5 / 70)


@given(st.text(max_size=60))
def test_any_text_reads_or_is_refused(text):
    try:
        label = read_label(text)
    except InputProblem:
        return
    assert not label.empty


@pytest.mark.parametrize("text", ["1" * 10_000, "1." * 5_000, "1 " * 5_000, "a" * 10_000, "12V 75" + "1" * 10_000])
def test_a_label_without_end_is_read_once(text):
    try:
        found = read_label(text)
    except InputProblem as problem:
        assert len(str(problem)) <= 300
    else:
        assert found.volt == 12
    with pytest.raises(InputProblem):
        parse_frame(text)
