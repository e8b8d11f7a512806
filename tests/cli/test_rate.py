"""``coilbench rate`` as scripts and people use it."""

from __future__ import annotations

import pytest

from coilbench.cli import main
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.ratings import Ratings, SoakEntry
from coilbench.records.store import Bin
from coilbench.stages.desk import Desk
from tests.support.motors import SIX


def test_from_size(answer):
    rated = answer("rate", "--frame", "NEMA 17", "--length", "48mm", "--coil", "1.5 ohm")
    assert rated["rise_kelvin"] == 80
    # XY42STH: data sheet of the series (weak: no maker named), 48 mm: 1.68 A at 1.65 ohm; the heat sets 1.76 A at 1.5
    # ohm.
    assert rated["estimate_amp"] == pytest.approx(1.76, rel=0.1)
    assert rated["start_amp"] < rated["low_amp"] < rated["estimate_amp"] < rated["high_amp"]
    assert rated["basis"] and "body length" not in rated["missing"]


def test_round_can_and_missing_length(answer):
    rated = answer("rate", "--diameter", "35mm", "--coil", "50 ohm")
    assert rated["rise_kelvin"] == 60
    assert "body length" in rated["missing"]


@pytest.mark.parametrize("frame", ["NEMA17", "17", "42mm", "nema 17"])
def test_frames_as_written(answer, frame):
    one = answer("rate", "--frame", frame, "--length", "40 mm", "--coil", "2R0")
    other = answer("rate", "--frame", "NEMA 17", "--length", "4 cm", "--coil", "2 ohm")
    assert one["estimate_amp"] == other["estimate_amp"]
    assert any("round can" in note for note in one["notes"]) == (frame == "42mm")


def test_lead_count_says_what_is_meant(answer):
    size = ["--frame", "17", "--length", "40mm", "--coil", "30 ohm"]
    assert "half-winding" in answer("rate", *size, "--leads", "6")["convention"]
    assert "half-winding" not in answer("rate", *size, "--leads", "4")["convention"]
    assert answer("rate", *size, "--leads", "6")["estimate_amp"] == answer("rate", *size)["estimate_amp"]


def test_it_says_why_it_starts_low_and_when_to_go_up(answer, capsys):
    words = ["--frame", "17", "--length", "40mm", "--coil", "2 ohm"]
    for more in ([], ["--label", "1.7 A"], ["--cold", "2.0", "--hot", "2.6", "--current", "1 A", "--measured"]):
        rated = answer("rate", *words, *more)
        share = rated["start_amp"] / rated["estimate_amp"]
        assert f"starts at {100 * share:.0f} % of the best" in rated["why_start"] and "go up" in rated["why_start"]
    assert main(["rate", *words]) == 0
    out = capsys.readouterr().out
    assert "go up" in out and "RMS" in out and "peak" in out
    assert main(["rate", "--cold", "28", "--hot", "36", "--current", "1 A"]) == 0
    out = capsys.readouterr().out
    assert "start with" in out and "say which before going up" in out


def test_a_printed_holding_torque_narrows_the_range(answer):
    words = ["--frame", "16", "--length", "20.1mm", "--coil", "6.8 ohm", "--leads", "4"]
    without, held = answer("rate", *words), answer("rate", *words, "--holding-torque", "650 gcm")
    # Jameco: catalogue C111, page 113 (weak): 39BYG101-01, 0.40 A.
    assert held["estimate_amp"] < without["estimate_amp"] and held["high_amp"] < without["high_amp"]
    assert held["holding_torque_newton_metre"] == pytest.approx(0.0637, rel=0.01)


def test_detent_feel(answer):
    assert any(
        "shorted" in note for note in answer("rate", "--frame", "17", "--coil", "2 ohm", "--detents", "firm")["notes"]
    )


def test_nothing_but_ohms_is_a_wide_range(answer):
    rated = answer("rate", "--coil", "30 ohm")
    assert "frame size or diameter" in rated["missing"]
    assert rated["high_amp"] / rated["low_amp"] > 4


def test_hot_soak(answer):
    soak = answer("rate", "--cold", "2.8 ohm", "--cold-temp", "25C", "--hot", "3.6 ohm", "--ambient", "25C")
    assert soak["winding_celsius"] == pytest.approx(99.29, abs=0.01)  # exact value of the IEC formula
    assert soak["rise_kelvin"] == pytest.approx(74.29, abs=0.01)
    assert soak["thermal_class"] == "E"
    assert 5 < soak["plus_minus_kelvin"] < 10


def test_hot_soak_by_the_other_constant_and_with_cooling(answer):
    soak = answer("rate", "--cold", "80 ohm", "--cold-temp", "20C", "--hot", "100 ohm", "--constant", "234.5")
    assert soak["winding_celsius"] == pytest.approx(83.63, abs=0.01)  # exact value of the formula with 234.5
    cooled = answer(
        "rate", "--cold", "2.8 ohm", "--hot", "3.6 ohm", "--cooling", "30s:3.55,60s:3.5", "--current", "1 A"
    )
    assert cooled["winding_celsius"] == pytest.approx(99.3, abs=0.3)
    assert cooled["current_for_rise_amp"] == pytest.approx(1.03, abs=0.01)


@pytest.mark.parametrize(
    ("words", "coil_amp", "told"),
    [
        (["--measured"], 1.0, True),
        (["--rms"], 1.0, True),
        (["--peak"], 0.7071, True),
        (["--peak", "--at-rest", "50 %"], 0.3536, True),
        (["--rms", "--at-rest", "50"], 0.5, True),
        ([], 1.0, False),
    ],
)
def test_a_set_point_is_not_what_the_coils_carry_at_rest(answer, words, coil_amp, told):
    run = ["--cold", "28 ohm", "--hot", "36 ohm", "--probes", "0", "--current", "1 A"]
    soak = answer("rate", *run, *words)
    assert soak["run_amp"] == pytest.approx(coil_amp, abs=1e-3) and soak["run_amp_told"] is told
    assert soak["current_for_rise_amp"] == pytest.approx(1.035 * coil_amp, rel=0.01)
    assert any("set-point" in note and "half" in note for note in soak["notes"]) is not told
    assert soak["current_for_rise_high_amp"] > 1.05 * soak["current_for_rise_amp"] or "--measured" in words
    # Where it isn't told, a peak set-point that is lowered at rest mustn't come out above what the coil carried.
    assert soak["start_amp"] <= (0.8 * coil_amp if told else 0.52)


@pytest.mark.parametrize("words", [["--at-rest", "0"], ["--at-rest", "150"], ["--at-rest", "x"], ["--peak", "--rms"]])
def test_shares_no_driver_leaves(refusal, words):
    refusal("rate", "--cold", "28 ohm", "--hot", "36 ohm", "--current", "1 A", *words)


def test_what_heats_or_turns_is_cautioned(capsys):
    def said(*words):
        assert main(["rate", *words]) == 0
        return [line for line in capsys.readouterr().err.splitlines() if line.startswith("caution: ")]

    assert any("hot" in line for line in said("--cold", "28", "--hot", "36"))
    assert any("vice" in line for line in said("--step-angle", "1.8", "--spin-volts", "7", "--drill", "400"))
    assert not said("--frame", "17", "--coil", "2 ohm")


def test_cooling_with_decimal_commas(answer):
    both = [
        answer("rate", "--cold", "2.8 ohm", "--cooling", text)
        for text in ("30s:3.55,1min:3.5", "30s:3,55; 60s:3,5", "30s:3,55,60s:3,5")
    ]
    assert both[0] == both[1] == both[2]


def test_label_and_meter_disagree(answer):
    rated = answer("rate", "--label", "24V", "--coil", "10 ohm", "--frame", "17", "--length", "40mm")
    assert rated["contradiction"]
    assert any("supply" in note for note in rated["notes"])
    assert rated["estimate_amp"] < 1


def test_label_alone(answer):
    rated = answer("rate", "--label", "4.2V/PHASE 1.2A 1.8 DEG")
    assert rated["estimate_amp"] == pytest.approx(1.2)
    assert rated["step_angle_degree"] == 1.8
    assert rated["drill_limit_rpm"] == pytest.approx(480)


def test_spun_shaft(answer):
    spun = answer(
        "rate", "--step-angle", "1.8 deg", "--spin-volts", "7.17V", "--drill", "522rpm", "--current", "1.68 A"
    )
    # 10.1 V peak at 8.7 turns a second, 0.44 N.m, 1.68 A (weak: a motion hardware maker's wiki).
    assert spun["holding_torque_newton_metre"] == pytest.approx(0.44, rel=0.02)
    assert answer("rate", "--steps", "48")["step_angle_degree"] == 7.5


def test_a_spun_shaft_says_its_doubt_and_a_meters_end(answer, capsys):
    words = ["--step-angle", "1.8", "--spin-volts", "7.2", "--spin-frequency"]
    assert not answer("rate", *words, "300 Hz")["notes"]
    assert any("beyond the 400 Hz" in note for note in answer("rate", *words, "2000 Hz")["notes"])
    assert not answer("rate", *words, "2000 Hz", "--meter-limit", "10 kHz")["notes"]
    assert main(["rate", *words, "300 Hz"]) == 0
    assert "±2 %" in capsys.readouterr().out


def test_time_constant(answer):
    rated = answer("rate", "--coil", "2 ohm", "--frame", "17", "--time-constant", "2ms")
    assert rated["henry"] == pytest.approx(0.004)


@pytest.mark.parametrize(
    "argv",
    [
        ["--frame", "NEMA 17", "--length", "48mm", "--coil", "1.5 V"],
        ["--frame", "NEMA 17", "--length", "48mm", "--coil", "0 ohm"],
        ["--frame", "NEMA 17", "--length", "-48mm", "--coil", "1.5 ohm"],
        ["--frame", "NEMA 17", "--length", "48m", "--coil", "1.5 ohm"],
        ["--frame", "NEMA 17", "--coil", "OL"],
        ["--frame", "NEMA 17", "--coil", "1 Mohm"],
        ["--frame", "NEMA 19", "--coil", "1.5 ohm"],
        ["--frame", "42", "--coil", "1.5 ohm"],
        ["--frame", "17", "--diameter", "35mm", "--coil", "1.5 ohm"],
        ["--frame", "17", "--coil", "1.5 ohm", "--leads", "7"],
        ["--frame", "17", "--coil", "1.5 ohm", "--rise", "800 K"],
        ["--frame", "17", "--coil", "1.5 ohm", "--inductance", "3 V"],
        ["--frame", "17", "--coil", "1.5 ohm", "--inductance", "3 mH", "--time-constant", "2 ms"],
        ["--frame", "17", "--coil", "1.5 ohm", "--detents", "rough"],
        ["--cold", "2.8 ohm", "--hot", "3.6 ohm", "--constant", "236"],
        ["--cold", "2.8 ohm", "--hot", "3.6 ohm", "--probes", "-1"],
        ["--step-angle", "1.8", "--steps", "200"],
        ["--cold", "2.8 ohm", "--hot", "2.0 ohm"],
        ["--cold", "2.8 ohm", "--hot", "36 ohm"],
        ["--cold", "2.8 ohm", "--cooling", "30s"],
        ["--cold", "2.8 ohm", "--cooling", "30s:OL"],
        ["--label", "MADE IN"],
        ["--steps", "nan"],
        ["--steps", "200", "--turns", "0"],
        ["--step-angle", "0 deg", "--coil", "2 ohm"],
        ["--frame", "17", "--coil", "1.5 ohm", "--save"],
        ["--unknown"],
    ],
)
def test_bad_input_is_one_line_and_exit_2(argv, refusal):
    refusal("rate", *argv)


@pytest.mark.parametrize(
    "argv",
    [
        [],
        ["--frame", "17"],
        ["--cold", "2.8 ohm"],
        ["--hot", "3.6 ohm"],
        ["--spin-volts", "5V", "--drill", "300rpm"],
        ["--spin-volts", "5V", "--step-angle", "1.8 deg"],
    ],
)
def test_not_enough_known_is_exit_3(argv, refusal):
    refusal("rate", *argv, status=3)


def test_plain_table(capsys):
    assert main(["rate", "--frame", "17", "--length", "40mm", "--coil", "2 ohm"]) == 0
    out = capsys.readouterr().out
    assert "start with" in out and "half-winding" in out


@pytest.mark.parametrize(
    ("bare", "written"),
    [
        (["--length", "48", "--coil", "2"], ["--length", "48mm", "--coil", "2 ohm"]),
        (["--coil", "2", "--rise", "70"], ["--coil", "2 ohm", "--rise", "70 K"]),
        (["--diameter", "35", "--coil", "50"], ["--diameter", "35 mm", "--coil", "50 ohm"]),
        (["--diameter", "35", "--coil", "50", "--inductance", "30"],
         ["--diameter", "35 mm", "--coil", "50 ohm", "--inductance", "30 mH"]),
        (["--diameter", "35", "--coil", "50", "--time-constant", "2"],
         ["--diameter", "35 mm", "--coil", "50 ohm", "--time-constant", "2 ms"]),
        (["--step-angle", "1.8", "--spin-volts", "7", "--drill", "500"],
         ["--step-angle", "1.8 deg", "--spin-volts", "7 V", "--drill", "500 rpm"]),
    ],
)  # fmt: skip
def test_a_number_alone_is_taken_where_only_one_unit_can_be_meant(answer, bare, written):
    frame = ["--frame", "17"] if "--length" in bare else []
    assert answer("rate", *frame, *bare) == answer("rate", *frame, *written)


def test_a_field_is_named_as_its_option(refusal):
    assert "--inductance: '3 V'" in refusal("rate", "--frame", "17", "--coil", "2", "--inductance", "3 V")
    assert "--time-constant: " in refusal("rate", "--frame", "17", "--coil", "2", "--time-constant", "2 V")
    assert "--steps: 'nan'" in refusal("rate", "--steps", "nan")
    assert "give --hot or --cooling" in refusal("rate", "--cold", "2.8 ohm", status=3)


def test_counts_over_turns_and_the_meters_limit(answer):
    counted = answer("rate", "--steps", "1999", "--turns", "10", "--meter-limit", "1 kHz")
    assert counted["step_angle_degree"] == 1.8 and counted["drill_limit_rpm"] == pytest.approx(1200)
    assert counted["notes"]


@pytest.fixture
def motor(tmp_path):
    """A motor in a bin: what its stages keep, and ``rate`` asked about it."""
    path = tmp_path / "crate.db"
    with Bin.open(path) as bin_:
        bin_.add_motor("M-07", ["RD", "WH", "BU", "GN", "YE", "BK"])

    class Motor:
        words = ("--bin", str(path), "--motor", "M-07")

        def keep(self, *facts):
            with Bin.open(path) as bin_:
                for fact in facts:
                    Desk(bin_, "M-07").keep(fact.stage, fact)

        def add(self, *entries):
            with Bin.open(path) as bin_:
                for entry in entries:
                    Desk(bin_, "M-07").add(entry)

        def known(self, kind):
            with Bin.open(path) as bin_:
                return bin_.known("M-07").get(kind)

    return Motor()


def test_from_the_bin_and_saved(motor, answer):
    motor.keep(SIX, Intake(frame="NEMA 17", length_metre=0.04, label="1.8 DEG"))
    rated = answer("rate", *motor.words, "--save")
    assert rated["coil_ohm"] == pytest.approx(24.1)  # per half-winding
    assert "half-winding" in rated["convention"] and "5, 6 and 8" not in rated["convention"]
    saved = motor.known(Ratings)
    assert saved.current_ampere == pytest.approx(rated["start_amp"])
    assert saved.step_angle_degree == 1.8


def test_what_the_bench_typed_stays_and_an_ended_soak_stays_ended(motor, answer):
    motor.keep(SIX, Intake(frame="NEMA 17"))
    motor.add(SoakEntry(soak="cold", text="25.0"), SoakEntry(soak="hot", text="31.0"))
    typed = {"rise": "60 K", "step": "48 steps", "cold": "25.0", "hot": "31.0", "limit": "1 kHz"}
    motor.keep(Ratings(current_ampere=0.4, typed=typed, soak_entries=2))
    answer("rate", *motor.words, "--save", "--length", "40mm")
    saved = motor.known(Ratings)
    assert typed.items() <= saved.typed.items() and saved.soak_entries == 2
    answered = answer("rate", *motor.words)
    assert answered["rise_kelvin"] == 60 and answered["drill_limit_rpm"] == pytest.approx(5000)
    assert motor.known(Intake) == Intake(frame="NEMA 17", length_metre=0.04, step_angle_degree=7.5)


def test_a_soak_at_work_counts(motor, answer):
    motor.keep(Intake(frame="NEMA 17", length_metre=0.04))
    motor.add(
        *(SoakEntry(soak=field, text=text) for field, text in (("cold", "2.8"), ("run", "1 A"), ("probes", "0")))
    )
    waiting = answer("rate", *motor.words, "--coil", "2.8")
    assert any("a cold reading alone" in note for note in waiting["notes"])
    motor.add(SoakEntry(soak="off"), SoakEntry(soak="cooling", second=1, text="3.6"))
    soaked = answer("rate", *motor.words)
    assert soaked["hot_soak"]["winding_celsius"] == pytest.approx(99.29, abs=0.5)  # a second later
    assert soaked["estimate_amp"] == pytest.approx(1.03, abs=0.01)


def test_one_way_to_say_it_stands_in_for_the_other(motor, answer):
    motor.keep(
        Intake(frame="NEMA 17"),
        Ratings(current_ampere=1.0, typed={"cold": "2.8", "after": "30s:3.5", "drill": "5 rpm"}),
    )
    soak = answer("rate", *motor.words, "--hot", "3.6", "--coil", "2.8")["hot_soak"]
    assert soak["switch_off_ohm"] == 3.6  # not drawn back from the reading of the run before
    can = answer("rate", *motor.words, "--diameter", "35mm", "--coil", "50")
    assert can["rise_kelvin"] == 60 and motor.known(Intake).frame == "NEMA 17"
    spun = answer("rate", *motor.words, "--steps", "200", "--spin-volts", "7.17", "--spin-frequency", "435 Hz")
    assert spun["torque_constant"] == pytest.approx(0.1855, abs=0.001)


def test_no_bin_is_begun_by_looking(tmp_path, capsys):
    path = tmp_path / "none.db"
    assert main(["rate", "--bin", str(path), "--motor", "M-07"]) == 2
    assert not path.exists()
    assert len(capsys.readouterr().err.splitlines()) == 1
