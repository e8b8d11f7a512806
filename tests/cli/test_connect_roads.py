"""``coilbench connect --roads``: every road to a unipolar motor's windings."""

from __future__ import annotations

import pytest

from coilbench.cli import main

# MOONS': Hybrid Stepper Motors 17HA Series 0.9 deg, data sheet: 17HA4605N, 3.1 ohm, 2.3 mH, 0.87 A a half.
MOTOR = ["--leads", "6", "--coil", "3.1 ohm", "--inductance", "2.3mH", "--current", "0.87 A"]


def test_decay_by_what_clamps_it(answer):
    """t = L/R ln(1 + I R / V) at 12 V, reckoned again: plain diode, the other half, a zener of 24 V, 55 V."""
    found = answer("connect", "--roads", *MOTOR, "--supply", "12 V")
    times = [1e6 * each["decay_second"] for each in found["clamps"]]
    assert times == pytest.approx([1094, 140, 77, 45], abs=1)
    assert found["switch_off_joule"] == pytest.approx(0.870e-3, rel=1e-3)
    high = answer("connect", "--roads", *MOTOR, "--supply", "36 V")
    assert len(high["clamps"]) == 3, "55 V switches are none for 72 V"


def test_roads_side_by_side(answer):
    found = answer("connect", "--roads", *MOTOR, "--supply", "24 V", "--speed", "300 rpm")
    rows = {each["road"]: each for each in found["roads"]}
    assert found["judged_at_rev_per_second"] == pytest.approx(5)
    plain, quick = rows["four switches, L/R, its own voltage"], rows["four switches, L/4R"]
    chopped = rows["chopping unipolar stage"]
    assert plain["torque_at_speed_relative"] < quick["torque_at_speed_relative"]
    assert quick["torque_at_speed_relative"] <= 1.02 * chopped["torque_at_speed_relative"]
    assert chopped["supply_watt"] < quick["supply_watt"] / 3
    assert rows["series"]["torque_at_rest_relative"] == pytest.approx(1.414, abs=0.001)
    assert all(each["parts"] for each in rows.values())


def test_plain_lines_have_cautions(capsys):
    assert (
        main(["connect", "--roads", "--leads", "5", "--coil", "50 ohm", "--current", "0.1 A", "--supply", "12 V"])
        == 0
    )
    out, err = capsys.readouterr()
    assert "None of them drives five leads as they are" in out and "twice the supply" in out
    assert err.count("caution:") == 1


def test_what_has_no_roads_is_refused(refusal):
    assert "expected 5, 6 or 8" in refusal("connect", "--roads", *["--leads", "4", *MOTOR[2:]])
    assert "--save" in refusal("connect", "--roads", "--save", *MOTOR)
