"""The coil command as a person types it, and inductance by resonance wherever it is taken."""

from __future__ import annotations

import pytest

from coilbench.cli import main
from tests.support.commands import Captured, refusing, telling

told = telling("coil")
refused = refusing("coil")
COIL = ("--inductance", "2.3mH", "--coil", "3.1ohm", "--current", "0.87A")


def test_what_the_switch_sees(capsys: Captured) -> None:
    zener = told(capsys, "decay", *COIL, "--clamp", "zener 24 V", "--supply", "12V")
    assert zener["across_volt"] == pytest.approx(24.8) and zener["switch_volt"] == pytest.approx(36.8)
    assert any("a diode alone takes 1.09 ms" in each for each in zener["findings"])
    resistor = told(capsys, "decay", *COIL, "--resistor", "10ohm")
    assert resistor["across_volt"] == pytest.approx(0.8 + 8.7) and "linear_decay_second" not in resistor
    diode = told(capsys, "decay", *COIL, "--clamp", "diode")
    assert diode == told(capsys, "decay", *COIL) and diode["findings"] == []
    assert diode["decay_second"] > resistor["decay_second"] > zener["decay_second"]


def test_two_of_three_tell_the_third(capsys: Captured) -> None:
    by_energy = told(capsys, "decay", "--inductance", "0.5H", "--energy", "10mJ")
    assert by_energy["current_ampere"] == pytest.approx(0.2)
    slow = told(capsys, "decay", "--inductance", "0.5H", "--time-constant", "8.3ms")
    assert slow["coil_ohm"] == pytest.approx(60.24, abs=0.01) and any(
        "--current" in each for each in slow["findings"]
    )
    weak = told(capsys, "drive", "--coil", "50ohm", "--supply", "5V", "--drop", "0.9V", "--inductance", "40mH")
    assert weak["current_ampere"] == pytest.approx(0.082) and weak["time_constant_second"] == pytest.approx(0.8e-3)


def test_a_number_alone_is_in_the_unit_that_its_option_names(capsys: Captured) -> None:
    bare = told(capsys, "decay", "--inductance", "2.3", "--coil", "3,1", "--current", "0.87", "--supply", "12")
    assert bare == told(capsys, "decay", *COIL, "--supply", "12V")
    assert told(capsys, "resonance", "--capacitor", "1uF", "--frequency", "2800")["inductance_henry"] < 4e-3
    assert "has no unit" in refused(capsys, "resonance", "--capacitor", "1", "--frequency", "2800")


def test_how_far_off_a_resonance_may_be(capsys: Captured) -> None:
    found = told(capsys, "resonance", "--capacitor", "100nF", "--frequency", "5.1kHz", "--tolerance", "10%")
    assert found["least_henry"] == pytest.approx(found["inductance_henry"] / 1.1)
    assert found["most_henry"] == pytest.approx(found["inductance_henry"] / 0.9)
    assert any("iron" in each and "2.6 µF" in each for each in found["findings"])
    blunt = told(capsys, "resonance", "--capacitor", "1uF", "--frequency", "1kHz", "--coil", "100ohm")
    assert blunt["quality"] == pytest.approx(1.59, abs=0.01) and "blunt" in blunt["warnings"][0]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("decay --current 0A --inductance 1mH", "not above zero"),
        ("decay --current nanA --inductance 1mH", "not a number"),
        ("decay --current 1e9A --inductance 1mH", "beyond anything"),
        ("decay --current 1V --inductance 1mH", "another kind"),
        ("decay --energy 1 --inductance 1mH", "no unit"),
        ("decay --current 1A --inductance 1mH --energy 1mJ", "expected two of them"),
        ("decay --current 1A --energy 1mJ --coil 1ohm --time-constant 1ms", "in two ways"),
        ("decay --current 1A --inductance 1mH --across 5V --clamp diode", "no clamp and no resistor"),
        ("decay --current 1A --inductance 1mH --clamp rope", "expected diode, or a zener"),
        ("decay --current 1pA --inductance 100H", "beyond anything"),
        ("drive --coil 6ohm --supply 12V --current 3A", "12 V brings 2 A"),
        ("drive --coil 6ohm --supply 12V --drop 12V", "no more than the 12 V"),
        ("drive --coil 6ohm --supply 12V --series 4ohm --current 1A", "expected two of them"),
        ("drive --coil 6ohm --supply 12V --series=-4ohm", "series"),
        ("resonance --capacitor 1uF --inductance 1mH --frequency 1kHz", "expected two of them"),
        ("resonance --capacitor 1pF --frequency 1mHz", "beyond anything"),
        ("spin", "decay"),
    ],
)
def test_what_can_not_be_is_refused_in_one_line(capsys: Captured, words: str, said: str) -> None:
    assert said in refused(capsys, *words.split())


@pytest.mark.parametrize("words", ["decay --current 1A", "drive --supply 12V", "drive --coil 6ohm", "resonance"])
def test_what_is_missing_is_asked_for(capsys: Captured, words: str) -> None:
    assert "give --" in refused(capsys, *words.split(), status=3)


@pytest.mark.parametrize(
    "words",
    [
        "rate --coil 30ohm",
        "connect --leads 6 --coil 3.1ohm --current 0.87A --supply 24V",
        "connect --roads --leads 6 --coil 3.1ohm --current 0.87A --supply 24V",
        "torque --coil 3.1ohm --current 0.87A --hold 0.17Nm --supply 24V --at 1000",
        "vref --chip A4988 --sense R100 --current 0.8A --supply 24V --coil 3.1ohm",
    ],
)
def test_an_inductance_is_told_by_the_capacitor_it_rings_with(capsys: Captured, words: str) -> None:
    told_by = (*words.split(), "--inductance")
    assert main([*told_by, "1uF at 3.31861 kHz"]) == 0
    rung = capsys.readouterr()
    assert "".join(rung).count("1uF at 3.31861 kHz is 2.3 mH") == 1
    assert main([*told_by, "2.3mH"]) == 0
    plain = capsys.readouterr()
    assert set(plain.out.splitlines()) <= set(rung.out.splitlines())


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("100 nF at 5 V", "another kind, expected a frequency"),
        ("100 at 5 kHz", "no unit, expected a capacitance"),
        ("100 nF at", "no unit that fits"),
        ("1 F at 1 GHz at 2", "no unit that fits"),
        ("1 F at 1 GHz", "beyond anything"),
        ("-1 uF at 1 kHz", "not above zero"),
    ],
)
def test_a_resonance_that_is_none_is_refused(capsys: Captured, text: str, said: str) -> None:
    assert said in refusing("rate")(capsys, "--coil", "30ohm", f"--inductance={text}")


def test_off_times_are_those_of_choppers(capsys: Captured) -> None:
    vref = refusing("vref")
    words = ("--chip", "L6219", "--sense", "1ohm", "--current", "0.5A", "--off-resistor", "56k", "--off-capacitor")
    assert "none of a chopper" in vref(capsys, *words, "1F")
    assert "give --off-capacitor" in vref(capsys, *words[:-1])
    assert "is not known to take its off time" in vref(
        capsys, "--chip", "TMC2209", "--sense", "R11", *words[4:], "1n"
    )
    assert "doesn't chop" in vref(capsys, "--chip", "ULN2003A", *words[4:], "1n")
    assert "a period of" in vref(capsys, "--chip", "L297+L298", *words[2:], "1p")
    assert main(["vref", *words, "820p"]) == 0
    assert "50.5 µs by 56 kΩ and 820 pF\n" in capsys.readouterr().out


@pytest.mark.parametrize("words", ["--bits 0", "--bits 12.5", "--samples 0", "--samples 1e99", "--reference 5"])
def test_a_reading_has_whole_bits_and_samples(capsys: Captured, words: str) -> None:
    assert words.split()[0][2:] in refusing("board")(capsys, "reading", *words.split())
