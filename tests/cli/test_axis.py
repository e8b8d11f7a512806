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
        (("belt", "--pulley-teeth", "20", "--pitch", "2mm", "--mass", "-1kg"), "mass"),
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
