"""The axis command as a person types it; printed examples are in ``test_printed``."""

from __future__ import annotations

import pytest

from coilbench.cli import main
from tests.support.commands import refusing, telling

M8 = ("screw", "--thread", "M8", "--friction", "0.15")


told = telling("axis")
refused = refusing("axis")


def test_a_differential_screw_is_two(capsys: pytest.CaptureFixture[str]) -> None:
    # Khurmi and Gupta: A Textbook of Machine Design, example 17.17: 50x16 raises while 50x12 lowers, 8.87 %.
    coarse = ("screw", "--thread", "square", "--pitch-diameter", "42mm", "--lead", "16mm")
    fine = ("screw", "--thread", "square", "--pitch-diameter", "44mm", "--lead", "12mm")
    load = ("--friction", "0.15", "--force", "1000N")
    up = told(capsys, *coarse, *load)["raise_newton_metre"]
    down = told(capsys, *fine, *load)["lower_newton_metre"]
    assert up == pytest.approx(5.802, abs=0.001) and down == pytest.approx(1.372, abs=0.001)
    assert 1000 * 0.004 / (2 * 3.141592653589793) / (up + down) == pytest.approx(0.0887, abs=0.0001)


def test_whether_it_holds_is_the_thread_alone(capsys: pytest.CaptureFixture[str]) -> None:
    collar = ("--collar-friction", "0.2", "--collar-diameter", "30mm")
    steep = told(capsys, "screw", "--thread", "Tr8x8(P2)", "--friction", "0.15", "--force", "50N", *collar)
    assert steep["lower_newton_metre"] > 0 and steep["holds_itself"] is False
    assert any("collar" in line for line in steep["findings"])
    assert any("brake" in line for line in steep["warnings"])
    assert told(capsys, *M8, "--force", "50N")["holds_itself"] is True
    unknown = told(capsys, "screw", "--lead", "10mm", "--efficiency", "90%", "--force", "50N")
    assert unknown["holds_itself"] is None and unknown["lower_newton_metre"] is None


def test_materials_give_the_range_and_the_cautious_end(capsys: pytest.CaptureFixture[str]) -> None:
    found = told(capsys, "screw", "--thread", "M8", "--materials", "steel on brass, oiled", "--force", "50N")
    assert any("0.1 to 0.15" in line for line in found["findings"])
    assert found["raise_newton_metre"] == pytest.approx(told(capsys, *M8, "--force", "50N")["raise_newton_metre"])


def test_a_lift_on_a_slide(capsys: pytest.CaptureFixture[str]) -> None:
    level = told(capsys, "belt", "--pulley-teeth", "20", "--pitch", "2mm", "--mass", "1kg", "--friction", "0.1")
    lift = told(capsys, "belt", "--pulley-teeth", "20", "--pitch", "2mm", "--mass", "1kg", "--incline", "90deg")
    assert level["force_newton"] == pytest.approx(0.980665)
    assert level["back_newton_metre"] == pytest.approx(level["torque_newton_metre"])  # friction both ways
    assert lift["force_newton"] == pytest.approx(9.80665)
    assert lift["back_newton_metre"] == pytest.approx(-lift["torque_newton_metre"])  # the load drives


def test_a_gear_s_losses_brake_what_drives(capsys: pytest.CaptureFixture[str]) -> None:
    drum = ("drum", "--diameter", "20mm", "--force", "10N", "--gear", "5", "--efficiency", "0.8")
    found = told(capsys, *drum)
    assert found["torque_newton_metre"] == pytest.approx(0.1 / 5 / 0.8)
    assert found["back_newton_metre"] == pytest.approx(-0.1 / 5 * 0.8)


def test_two_motors_share_and_two_screws_add(capsys: pytest.CaptureFixture[str]) -> None:
    one = told(capsys, *M8, "--force", "50N", "--length", "300mm")
    motors = told(capsys, *M8, "--force", "50N", "--length", "300mm", "--motors", "2")
    screws = told(capsys, *M8, "--force", "50N", "--length", "300mm", "--screws", "2")
    assert motors["raise_newton_metre"] == pytest.approx(one["raise_newton_metre"] / 2)
    assert screws["raise_newton_metre"] == pytest.approx(one["raise_newton_metre"])
    assert screws["inertia_kilogram_metre2"] == pytest.approx(2 * one["inertia_kilogram_metre2"])


def test_what_a_motor_makes_of_it(capsys: pytest.CaptureFixture[str]) -> None:
    motor = ("--motor-torque", "60mNm", "--holding-torque", "0.3Nm", "--rotor-inertia", "54gcm2")
    found = told(capsys, *M8, "--force", "50N", "--speed", "1.5mm/s", "--acceleration", "10mm/s2", *motor)
    assert found["rate_sps"] == pytest.approx(240) and found["rpm"] == pytest.approx(72)
    assert found["margin"] == pytest.approx(0.06 / found["total_newton_metre"])
    assert any("margin" in line for line in found["warnings"])
    assert any("resonance" in line for line in found["warnings"])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("screw", "--lead", "0mm", "--friction", "0.1", "--pitch-diameter", "8mm"), "lead"),
        (("screw", "--lead", "8", "--friction", "0.1", "--pitch-diameter", "8mm"), "no unit"),
        (("screw", "--thread", "M8", "--friction", "-0.1"), "friction"),
        (("screw", "--thread", "W8", "--friction", "0.1"), "no thread"),
        (("screw", "--thread", "Tr8x3(P2)", "--friction", "0.1"), "whole number"),
        (("screw", "--thread", "M7", "--friction", "0.1"), "pitch"),
        (("screw", "--thread", "M8", "--materials", "tin on wax"), "steel on steel"),
        (("screw", "--pitch-diameter", "5mm", "--lead", "16mm", "--friction", "1"), "no torque raises"),
        (("belt", "--pulley-teeth", "20", "--pitch", "2mm", "--mass", "-1kg"), "'-1kg'"),
        (("belt", "--pulley-teeth", "20.5", "--pitch", "2mm"), "whole number"),
        (("belt", "--pulley-diameter", "20mm", "--pulley-teeth", "20"), "one of them"),
        (("drum", "--diameter", "20mm", "--line", "1mm", "--line-construction", "8x8"), "7x7"),
        (("drum", "--diameter", "20mm", "--force", "1N", "--torque", "1Nm"), "one of them"),
        (("table", "--mass", "1kg", "--diameter", "0.1m", "--bore", "0.2m"), "bore"),
        (("screw", *M8[1:], "--efficiency", "120%"), "efficiency"),
        (("screw", *M8[1:], "--speed", "1mm/s", "--rate", "100"), "one of them"),
        (("screw", *M8[1:], "--ends", "loose", "--length", "1m"), "fixed-fixed"),
        (("chain",), "chain"),
    ],
)
def test_what_can_not_be_is_refused_in_one_line(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str
) -> None:
    assert said in refused(capsys, *words)


@pytest.mark.parametrize(
    "words",
    [("screw", "--thread", "M8"), ("screw", "--friction", "0.1"), ("belt", "--mass", "1kg"), ("table",), ("drum",)],
)
def test_what_is_missing_is_asked_for(capsys: pytest.CaptureFixture[str], words: tuple[str, ...]) -> None:
    assert "give --" in refused(capsys, *words, status=3)


def test_to_read_with_its_caution(capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        main(["axis", *M8, "--force", "50N", "--length", "300mm", "--ends", "fixed-free", "--speed", "100mm/s"]) == 0
    )
    out, err = capsys.readouterr()
    assert "41.47 mN·m" in out and "holds itself, power off" in out
    assert "caution: fingers" in err and "whips" in err


def test_no_figure_is_in_powers_of_ten(capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        main(["axis", "belt", "--pulley-teeth", "20", "--pitch", "2mm", "--speed", "5m/s", "--microsteps", "16"]) == 0
    )
    out = capsys.readouterr().out
    assert "25000" in out and "400000" in out and "e+" not in out


def test_what_it_is_off_by_is_held_against_what_is_asked(capsys: pytest.CaptureFixture[str]) -> None:
    """40 mm a turn, eight microsteps, a fifth of the holding torque: half a microstep of 25 um, 5 % of a full step of
    200 um, and 2/pi asin 0.2 = 0.128 of it under load."""
    force = f"{0.2 * 0.4 / (0.04 / (2 * 3.141592653589793))}N"
    words = ("belt", "--pulley-teeth", "20", "--pitch", "2mm", "--microsteps", "8", "--holding-torque", "0.4 N m")
    found = told(capsys, *words, "--force", force, "--resolution", "0.05mm")
    assert found["error_metre"] == pytest.approx((12.5 + 10 + 25.6) * 1e-6, abs=1e-7)
    assert any(each.startswith("48.1 µm off at most, 50 µm are asked") for each in found["findings"])
    coarse = told(capsys, *words, "--force", force, "--resolution", "0.04mm")
    assert any("the load on the rotor 25.6 µm" in each for each in coarse["warnings"])
    rope = ("drum", "--diameter", "20mm", "--line", "1mm", "--line-construction", "7x7", "--free-length", "500mm")
    stretched = told(capsys, *rope, "--force", "10N", "--resolution", "0.1mm")
    assert any("the line's stretch 87" in each for each in stretched["warnings"])
    table = told(capsys, "table", "--inertia", "0.01 kg m2", "--gear", "4", "--resolution", "0.5deg")
    assert table["error_degree"] == pytest.approx((0.5 + 0.05) * 1.8 / 4)


def test_what_a_load_does_with_the_power_off(capsys: pytest.CaptureFixture[str]) -> None:
    rack = ("rack", "--module", "1mm", "--pinion-teeth", "20", "--mass", "5kg")
    assert any("runs down" in each for each in told(capsys, *rack, "--incline", "90deg")["warnings"])
    gentle = told(capsys, *rack, "--incline", "5deg", "--friction", "0.2")
    assert not any("power off" in each for each in gentle["warnings"]), "its friction keeps it"
    assert not any("power off" in each for each in told(capsys, *rack, "--force", "5N")["warnings"])
    steep = ("screw", "--thread", "Tr8x8(P2)", "--friction", "0.15", "--mass", "1kg")
    assert any("brake" in each for each in told(capsys, *steep, "--incline", "90deg")["warnings"])
    level = told(capsys, *steep, "--slide-friction", "0.1")
    assert level["holds_itself"] is False and not any("falls" in each for each in level["warnings"])


def test_a_resonance_is_softened_by_microsteps_that_are_there(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("belt", "--pulley-teeth", "20", "--pitch", "2mm", "--mass", "1kg", "--rotor-inertia", "54 g cm2")
    rate = ("--holding-torque", "0.4 N m", "--rate", "105")
    assert any("resonance" in each for each in told(capsys, *words, *rate)["warnings"])
    fine = told(capsys, *words, *rate, "--microsteps", "8")
    assert not any("resonance" in each for each in fine["warnings"])
    assert any("resonance" in each and "8 microsteps" in each for each in fine["findings"])
