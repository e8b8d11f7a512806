"""Cautions stand where the act is: each worded once, said by every command and stage that tells to power a thing."""

from __future__ import annotations

import io
import re
import sys
from pathlib import Path

import pytest

import coilbench
from coilbench.cautions import CHARGED, FROM_THE_MAINS, LIVE_DRIVER, MAINS
from coilbench.cli import COMMANDS, main
from coilbench.records.store import Bin
from coilbench.stages.driver.stage import DriverStage
from coilbench.stages.intake import IntakeStage
from coilbench.stages.machine.example import example_text
from tests.support import cards

PACKAGE = Path(coilbench.__file__).parent
FIVE = "red,blue,24.2\nred,pink,24.1\nred,yellow,24.2\nred,orange,24.2\nblue,pink,48.2\n"

# What tells a person to power, turn or open something, as it is called, with the caution that belongs to the act.
ACTS = {
    "connect": (["connect", "--leads", "8", "--coil", "1.4 ohm", "--current", "3 A"], LIVE_DRIVER),
    "connect 4": (["connect", "--leads", "4", "--coil", "2.4 ohm", "--current", "1 A"], LIVE_DRIVER),
    "vref": (["vref", "--chip", "DRV8825", "--sense", "R100", "--current", "0.8 A"], LIVE_DRIVER),
    "jog": (["jog", "--port", "virtual://bench?clock=free", "--find", "start", "--yes"], LIVE_DRIVER),
    "board pace": (["board", "pace", "--port", "virtual://bench?clock=free", "--coils"], LIVE_DRIVER),
    "rate soak": (["rate", "--cold", "2.8 ohm", "--hot", "3.6 ohm"], "supply off"),
    "rate spin": (
        ["rate", "--spin-volts", "3 V", "--spin-frequency", "50 Hz", "--step-angle", "1.8"],
        "motor in a vice",
    ),
    "axis": (["axis", "screw", "--lead", "8 mm", "--efficiency", "40 %", "--mass", "2 kg"], "fingers"),
    "coil decay": (["coil", "decay", "--inductance", "2 mH", "--current", "1 A"], "kicks to hundreds of volts"),
    "coil drive": (["coil", "drive", "--coil", "6 ohm", "--supply", "12 V"], "nothing limits a stuck current"),
    "coil resonance": (
        ["coil", "resonance", "--capacitor", "1 uF", "--frequency", "1 kHz"],
        "motor off every driver and supply",
    ),
    "fit": (["--bin", "BIN", "fit", "MACHINE"], LIVE_DRIVER),
    "card": (["--bin", "BIN", "card", "M-02"], LIVE_DRIVER),
    "windings --ask": (["windings", "--ask", "--leads", "RD BU GN BK"], CHARGED),
    "windings --order": (["windings", "--order", "FILE"], "motor off every driver"),
    "windings --way": (["windings", "--order", "--way", "volts", "FILE"], "never mains"),
}
# These look, list and copy: nobody is told to do anything to a motor.
NO_ACTS = {"torque", "board", "bench", "bin", "diagnosis"}


def test_every_command_is_looked_at() -> None:
    told = {name.split()[0] for name in ACTS} | NO_ACTS
    assert told == set(COMMANDS), "a new command says its caution, or stands among those that tell to do nothing"


@pytest.mark.parametrize("name", ACTS)
def test_what_tells_to_act_says_its_caution_once(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    words, caution = ACTS[name]
    file = tmp_path / "five.csv"
    file.write_text(FIVE)
    with Bin.open(tmp_path / "motors.db") as bin_:
        cards.whole(bin_)
    machine = tmp_path / "greenhouse.toml"
    machine.write_text(example_text())
    places = {"FILE": str(file), "MACHINE": str(machine), "BIN": str(tmp_path / "motors.db")}
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    main([places.get(word, word) for word in words])
    printed = "".join(capsys.readouterr())
    said = [line for line in printed.splitlines() if "caution:" in line and caution in line]
    assert len(said) == 1, printed
    cautions = [line[line.index("caution:") :] for line in printed.splitlines() if "caution:" in line]
    assert len(set(cautions)) == len(cautions), "one that is said twice is read the less"
    assert [each for each in cautions if len(each) > 2 * 80] == [], "two lines at most"


@pytest.mark.parametrize("name", ["", *COMMANDS])
def test_help_says_who_decides_on_mains(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*name.split(), "--help"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert MAINS in said and FROM_THE_MAINS in said
    assert "local code" in MAINS and "qualified person" in MAINS


def test_stages_say_theirs() -> None:
    assert MAINS in IntakeStage.CAUTION and FROM_THE_MAINS in IntakeStage.CAUTION
    assert LIVE_DRIVER in DriverStage.CAUTION


def test_each_shared_caution_is_worded_in_one_place() -> None:
    """Nobody writes anew what the table has: not in other words for the same act either."""
    patterns = (r"plug or unplug|unplug or plug", r"qualified person", r"stay charged")
    for pattern in patterns:
        places = [
            str(path.relative_to(PACKAGE))
            for path in PACKAGE.rglob("*.py")
            if re.search(pattern, path.read_text(encoding="utf-8"), re.IGNORECASE)
        ]
        assert places == ["cautions.py"], (pattern, places)
