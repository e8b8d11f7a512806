"""The vref command as a person types it."""

from __future__ import annotations

from pathlib import Path

import pytest

from coilbench.cli import main
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.store import Bin
from coilbench.stages.desk import desk_of
from tests.support.commands import refusing, telling


@pytest.fixture(autouse=True)
def _own_folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("COILBENCH_BIN", str(tmp_path / "motors.db"))
    monkeypatch.setenv("COILBENCH_CONFIG", str(tmp_path / "config.toml"))


told = telling("vref")
refused = refusing("vref")


def test_reference_for_a_current(capsys: pytest.CaptureFixture[str]) -> None:
    answer = told(capsys, "--chip", "DRV8825", "--sense", "R100", "--current", "0.8 A")
    assert (answer["chip"], answer["sense_ohm"], answer["vref_volt"], answer["peak_amp"]) == (
        "DRV8825",
        0.1,
        0.4,
        0.8,
    )
    assert answer["full_step_amp"] == pytest.approx(0.568)
    assert {"limits", "warnings", "source"} <= set(answer)
    assert any("recommended minimum of 1 V" in line for line in answer["warnings"])


def test_current_for_a_reference(capsys: pytest.CaptureFixture[str]) -> None:
    answer = told(capsys, "--chip", "drv8825", "--sense", "0R1", "--vref", "400mV")
    assert answer["peak_amp"] == pytest.approx(0.8) and answer["vref_volt"] == pytest.approx(0.4)


def test_rms_full_step_torque_and_own_gain(capsys: pytest.CaptureFixture[str]) -> None:
    base = ("--sense", "R100", "--current", "1 A")
    assert told(capsys, "--chip", "A4988", *base, "--rms")["peak_amp"] == pytest.approx(1.41421)
    full = told(capsys, "--chip", "A4988", *base, "--full-step")
    assert full["vref_volt"] == pytest.approx(1.131, abs=5e-4)
    assert told(capsys, "--chip", "A4988", *base, "--full-step", "--rms") == full  # steady: RMS is what it is
    assert told(capsys, "--chip", "DRV8880", *base, "--torque", "50%")["vref_volt"] == pytest.approx(1.32)
    own = told(capsys, "--chip", "XY1", "--gain", "5", *base)
    assert own["vref_volt"] == pytest.approx(0.5) and not own["verified"]


def test_supply_and_coil_bring_findings(capsys: pytest.CaptureFixture[str]) -> None:
    answer = told(
        capsys, "--chip", "A4988", "--sense", "R100", "--current", "0.8A", "--supply", "12V", "--coil", "34 ohm",
        "--inductance", "20mH", "--microsteps", "1/16",
    )  # fmt: skip
    assert answer["limits"]["reachable_amp"] == pytest.approx(0.345, abs=0.001)
    assert "never chops" in answer["warnings"][0]
    slow = ("--chip", "DRV8825", "--sense", "R100", "--current", "1.5A", "--supply", "24V", "--coil", "2ohm")
    assert told(capsys, *slow)["limits"]["floor_amp"] == pytest.approx(1.1, abs=0.05)
    assert told(capsys, *slow, "--decay", "mixed")["limits"]["floor_amp"] < 0.05


def test_plain_output_is_a_table_findings_and_what_to_do(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["vref", "--chip", "DRV8825", "--sense", "R100", "--current", "0.8 A", "--supply", "12V"]) == 0
    out = capsys.readouterr().out
    assert "VREF       0.4 V" in out
    assert (
        out.index("\nfindings\n")
        < out.index("warning: 0.4 V is below")
        < out.index("\nto do\n")
        < out.index("1. power off")
    )
    assert "caution: never plug or unplug a motor" in out


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--chip", "A4988", "--sense", "100", "--current", "1A"), "10 ohm"),
        (("--chip", "A4988", "--sense", "100", "--current", "1A"), "100 ohm"),
        (("--chip", "A4899", "--sense", "R100", "--current", "1A"), "A4988"),
        (("--chip", "A4988", "--sense", "R100", "--current", "1A", "--vref", "1V"), "not allowed with"),
        (("--chip", "A4988", "--sense", "R100"), "--current or --vref"),
        (("--sense", "R100", "--current", "1A"), "--chip"),
        (("--chip", "A4988", "--sense", "R100", "--current", "1A", "--inductance", "20 V"), "--inductance: '20 V'"),
        (
            ("--chip", "A4988", "--sense", "R100", "--current", "1A", "--coil", "-5"),
            "--coil: '-5 ohm' is not above zero",
        ),
        (("--chip", "A4988", "--sense", "R100", "--current", "1 V"), "another kind"),
        (("--chip", "A4988", "--sense", "R100", "--current", "0 A"), "not above zero"),
        (("--chip", "A4988", "--sense", "R100", "--current=-1A"), "not above zero"),
        (("--chip", "A4988", "--sense", "R100", "--current", "50 A"), "1 mA to 20 A"),
        (("--chip", "A4988", "--sense", "4k7", "--current", "1A"), "not a sense resistor, expected 1 mΩ to 20 Ω"),
        (("--chip", "A4988", "--sense", "R100", "--vref", "30V"), "1 mV to 12 V"),
        (("--chip", "A4988", "--sense", "R100", "--current", "1nA"), "1 mA to 20 A"),
        (("--chip", "DRV8825", "--gain", "8", "--sense", "R100", "--current", "1A"), "leave out --gain"),
        (("--chip", "MP6500", "--vref", "0.9V"), "no reference voltage"),
        (("--chip", "A4988", "--resistor", "78k"), "no resistor on a pin"),
        (("--chip", "A4988", "--sense", "R100", "--current", "1A", "--microsteps", "x"), "--microsteps: 'x'"),
        (("--chip", "A4988", "--sense", "R100", "--current", "1A", "--torque", "150%"), "over 100 %"),
        (("--gain", "0.125", "--sense", "R100", "--vref", "0.4V"), "a gain of 0.125"),
        (("--gain", "1", "--sense", "R010", "--vref", "0.4V"), "would be 40 A, expected 20 A at most"),
        (("--gain", "five", "--sense", "R100", "--current", "1A"), "not a number"),
        (("--chip", "A4988", "--sense", "R100", "--current", "1A", "--save"), "--motor"),
        (("--motor", "M-99", "--chip", "A4988", "--sense", "R100"), "no bin"),
    ],
)
def test_bad_input_is_one_line(capsys: pytest.CaptureFixture[str], words: tuple[str, ...], named: str) -> None:
    assert named in refused(capsys, *words)


def test_a_number_alone_is_in_the_unit_that_the_option_says(capsys: pytest.CaptureFixture[str]) -> None:
    board = ("--chip", "A4988", "--sense", "R100")
    with_units = told(
        capsys, *board, "--current", "1 A", "--supply", "12 V", "--coil", "8 ohm", "--inductance", "9 mH"
    )
    bare = ("--current", "1", "--supply", "12", "--coil", "8", "--inductance", "9")
    assert told(capsys, *board, *bare) == with_units


def test_the_resistor_and_the_heat_sink_fitted(capsys: pytest.CaptureFixture[str]) -> None:
    feeder = ("--chip", "ULN2003A", "--current", "0.2", "--coil", "30", "--supply", "13", "--leads", "5")
    assert any("15 Ω in the one common lead" in line for line in told(capsys, *feeder)["warnings"])
    assert told(capsys, *feeder, "--series", "15 ohm")["findings"][0]["weight"] != "stop"
    ends = told(capsys, *feeder, "--series", "30 ends")
    assert ends["limits"]["reachable_amp"] == pytest.approx(0.2, rel=0.01)
    board = ("--chip", "DRV8825", "--sense", "R100", "--current", "1.8A", "--supply", "24V")
    hot, cool = (told(capsys, *board, *more)["limits"] for more in ((), ("--heat-sink",)))
    assert cool["junction_celsius"] < hot["junction_celsius"] and cool["continuous_peak_amp"] > 1.8
    assert main(["vref", *board, "--series", "15"]) == 0
    assert "--series is not used" in capsys.readouterr().err


def test_more_current_needs_a_rating(capsys: pytest.CaptureFixture[str]) -> None:
    board = ("--chip", "TMC2209", "--sense", "R110")
    for words in (("--current", "2A"), ("--current", "1A", "--rms"), ("--vref", "1V")):
        assert told(capsys, *board, *words)["equal_heat"] is None


def test_what_is_not_known_yet(capsys: pytest.CaptureFixture[str]) -> None:
    assert "0.1, 0.068, 0.05" in refused(capsys, "--chip", "A4988", "--current", "1A", status=3)
    assert "MTD2001" in refused(capsys, "--chip", "MTD2001", "--current", "1A", status=3)


def test_a_motor_of_the_bin_and_what_is_kept(capsys: pytest.CaptureFixture[str]) -> None:
    with Bin.open() as motors:
        motors.add_motor("vent opener", ("RD", "BU", "BK", "WH"))
    words = ("--motor", "vent opener", "--chip", "A4988", "--sense", "R100")
    assert "vent opener" in refused(capsys, *words, status=3)
    with Bin.open() as motors:
        fact = Connection(connection="series", current_ampere=0.5, resistance_ohm=12.0, inductance_henry=9e-3)
        desk_of(motors, "vent opener").keep("connection", fact)
    answer = told(capsys, *words, "--supply", "12V", "--save")
    assert answer["vref_volt"] == pytest.approx(0.4) and answer["limits"]["reachable_amp"] == pytest.approx(
        0.942, abs=0.001
    )
    with Bin.open() as motors:
        kept = motors.known("vent opener").get(Driver)
    assert kept is not None and (kept.vref_volt, kept.supply_volt, kept.chip) == (0.4, 12.0, "A4988")


def test_the_list_and_own_rows(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    own = tmp_path / "drivers.csv"
    own.write_text("chip,formula,gain,note\nXY1,VREF_RS,10,=1+1\n")
    chips = told(capsys, "--list", "chips")["chips"]
    names = [each["chip"] for each in chips]
    by_volts = {each["chip"]: each["trimmer_volt"] for each in chips}
    assert by_volts["A4988"] and not by_volts["TMC5160"] and not by_volts["MP6500"]
    assert names[0] == "XY1" and "A4988" in names
    assert told(capsys, "--chip", "XY1", "--sense", "R100", "--vref", "0.5 V")["peak_amp"] == pytest.approx(0.5)
    assert main(["vref", "--list"]) == 0
    assert "NOT verified" in capsys.readouterr().out
    own.write_text("chip,formula,gain\nXY1,VREF_RS,much\n")
    assert "drivers.csv line 2" in refused(capsys, "--list")
    own.write_bytes(b"\xff\xfe\x00")
    assert "drivers.csv" in refused(capsys, "--list")


def test_a_setting_that_says_stop_is_neither_explained_nor_kept(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--chip", "A4988", "--sense", "R068", "--current", "5A")
    assert main(["vref", *words]) == 0  # the question is answered: it can't be done
    out = capsys.readouterr().out
    assert "stop: 5 A peak is over" in out and "do not set it like this; instead" in out
    assert "to do" not in out and "plug in the motor" not in out
    assert told(capsys, *words)["steps"] == []
    with Bin.open() as motors:
        motors.add_motor("vent opener", ("RD", "BU", "BK", "WH"))
    assert main(["vref", *words, "--motor", "vent opener", "--save"]) == 2
    assert "not kept with 'vent opener'" in capsys.readouterr().err
    with Bin.open() as motors:
        assert "driver" not in motors.known("vent opener")
