"""``coilbench torque`` as scripts and people use it."""

from __future__ import annotations

from pathlib import Path

import pytest

from coilbench.cli import main
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Coil, Windings
from coilbench.records.store import Bin
from coilbench.stages.desk import desk_of

# MOONS': Hybrid Stepper Motors 17HA Series 0.9 deg, data sheet, page 1: 17HA4605N, unipolar, 3.1 ohm, 2.3 mH, 0.87 A,
# 0.17 N m, 400 steps.
UNIPOLAR = ["--coil", "3.1 ohm", "--inductance", "2.3mH", "--current", "0.87 A", "--steps", "400"]
HOLD = ["--hold", "0.17 N m"]
SIX = (("A", ("RD", "BU"), "WH"), ("B", ("GN", "BK"), "YE"))


def test_a_printed_curve(answer):
    found = answer("torque", *UNIPOLAR, *HOLD, "--drive", "unipolar", "--supply", "24V", "--at", "1000,2000")
    one, two = found["points"]
    assert set(one) == {"rate_sps", "rpm", "torque_newton_metre", "low", "high"}
    assert (one["rate_sps"], one["rpm"]) == (1000, pytest.approx(150))
    # The sheet's curve: 129.6 and 105.3 mN m.
    assert one["torque_newton_metre"] == pytest.approx(0.1296, rel=0.15)
    assert two["torque_newton_metre"] == pytest.approx(0.1053, rel=0.15)
    assert one["low"] < one["torque_newton_metre"] < one["high"]
    assert 0 < found["full_current_until_rpm"] < 2000 and 300 < found["half_torque_rpm"] < 1500


def test_speeds_may_be_told_in_turns(answer):
    by_rate = answer("torque", *UNIPOLAR, *HOLD, "--supply", "24", "--at", "1000")
    by_turns = answer("torque", *UNIPOLAR, *HOLD, "--supply", "24 V", "--at", "150 rpm")
    assert by_turns["points"][0] == pytest.approx(by_rate["points"][0])


def test_microsteps_pull_less_at_a_creep(answer):
    plain = [*UNIPOLAR, *HOLD, "--supply", "24 V", "--at", "50"]
    full, fine = (answer("torque", *plain, "--microsteps", each)["points"][0] for each in ("1", "16"))
    assert fine["torque_newton_metre"] == pytest.approx(0.785 * full["torque_newton_metre"], rel=0.02)


@pytest.mark.parametrize(
    "words",
    [
        ["--at", "0"],
        ["--at", "1000,x"],
        ["--at", "nan"],
        ["--at", "1e999"],
        ["--at", ",".join(["5"] * 2000)],
        ["--steps", "two"],
        ["--steps", "0"],
        ["--microsteps", "0"],
        ["--drive", "belt"],
        ["--coil", "3 V"],
        ["--inductance", "3 V"],
        ["--hold", "0.2"],
        ["--supply", "-12 V"],
    ],
)
def test_bad_input_is_one_line_and_exit_2(words, refusal):
    refusal("torque", *UNIPOLAR, *HOLD, "--supply", "24V", *words)


@pytest.mark.parametrize("left_out", ["--coil", "--inductance", "--current", "--hold", "--supply"])
def test_what_is_not_known_is_asked_for(left_out, refusal):
    words = [*UNIPOLAR, *HOLD, "--supply", "24V"]
    place = words.index(left_out)
    said = refusal("torque", *words[:place], *words[place + 2 :], status=3)
    assert left_out in said and "--motor" in said


@pytest.fixture
def crate(tmp_path):
    path = tmp_path / "crate.db"
    coils = tuple(Coil(name=name, ends=ends, ohms=8.0) for name, ends in (("A", ("RD", "BU")), ("B", ("GN", "BK"))))
    with Bin.open(path) as bin_:
        desk = desk_of(bin_, "M-07", ["RD", "BU", "GN", "BK"])
        desk.keep("windings", Windings(arrangement="bipolar-4", confidence=0.99, coils=coils))
        desk.keep("intake", Intake(frame="NEMA 17", step_angle_degree=0.9))
        desk.keep(
            "ratings",
            Ratings(
                current_ampere=0.56,
                estimate_ampere=0.56,
                resistance_ohm=8.0,
                inductance_henry=0.011,
                holding_torque_newton_metre=0.11,
            ),
        )
    return path


def test_a_motor_of_the_bin(crate, answer):
    # MOONS': Hybrid Stepper Motors 17HA Series 0.9 deg, data sheet, page 2: 17HA0403-44N on 24 V, 74.4 mN m at
    # 2000 steps/s.
    found = answer("torque", "--bin", str(crate), "--motor", "M-07", "--supply", "24 V", "--at", "2000")
    assert found["points"][0]["rpm"] == pytest.approx(300)
    assert found["points"][0]["torque_newton_metre"] == pytest.approx(0.0744, rel=0.15)
    with Bin.open(crate) as bin_:
        desk_of(bin_, "M-07").keep("driver", Driver(chip="A4988", peak_ampere=0.28, supply_volt=24.0))
    weaker = answer("torque", "--bin", str(crate), "--motor", "M-07", "--at", "200")
    assert weaker["points"][0]["torque_newton_metre"] == pytest.approx(0.5 * 0.0822, rel=0.03)


def test_what_is_only_usual_is_said(crate, capsys):
    with Bin.open(crate) as bin_:
        desk = desk_of(bin_, "M-07")
        desk.keep("ratings", Ratings(current_ampere=0.56, estimate_ampere=0.56, resistance_ohm=8.0))
    assert main(["torque", "--bin", str(crate), "--motor", "M-07", "--supply", "24 V"]) == 0
    out = capsys.readouterr().out
    assert "inductance not known" in out and "holding torque not known" in out and "plan with half" in out


def test_a_driver_that_does_not_chop_has_its_resistor_counted(crate, capsys):
    with Bin.open(crate) as bin_:
        desk_of(bin_, "M-07").keep("driver", Driver(chip="ULN2003A", peak_ampere=0.28, supply_volt=24.0))
    assert main(["torque", "--bin", str(crate), "--motor", "M-07"]) == 0
    assert "ULN2003A limits no current: reckoned with 77.7 ohm in series" in capsys.readouterr().out


def test_a_connected_motor_is_driven_as_it_is_connected(tmp_path, answer, refusal):
    path = str(tmp_path / "taps.db")
    words = ("--bin", path, "--motor", "M-09", "--supply", "24 V", "--at", "1000")
    six = [Coil(name=name, ends=ends, tap=tap, ohms=6.2) for name, ends, tap in SIX]
    with Bin.open(Path(path)) as bin_:
        desk = desk_of(bin_, "M-09", ["RD", "BU", "WH", "GN", "BK", "YE"])
        desk.keep("windings", Windings(arrangement="unipolar-6", confidence=0.99, coils=tuple(six)))
        half = Ratings(current_ampere=0.87, estimate_ampere=0.87, resistance_ohm=3.1, inductance_henry=2.3e-3)
        desk.keep("ratings", half)
    either = [answer("torque", *words, "--drive", kind) for kind in ("bipolar", "unipolar")]
    assert either[0]["points"] == either[1]["points"]
    assert all("of one half-winding: no connection is chosen yet" in each["notes"] for each in either)
    joined = Connection(connection="series", current_ampere=0.615, resistance_ohm=6.2, inductance_henry=9.2e-3)
    with Bin.open(Path(path)) as bin_:
        desk_of(bin_, "M-09").keep("connection", joined)
    assert answer("torque", *words, "--drive", "bipolar")["points"] != either[0]["points"]
    assert "connected series, for a bipolar driver" in refusal("torque", *words, "--drive", "unipolar")
