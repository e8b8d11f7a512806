"""``coilbench bench``, and the commands that take the usual thing where nothing is given."""

from __future__ import annotations

import json
from typing import Any

import pytest

from coilbench.cli import main

Capture = pytest.CaptureFixture[str]


def run(capsys: Capture, *words: str, status: int = 0) -> tuple[str, str]:
    assert main(list(words)) == status
    printed = capsys.readouterr()
    return printed.out, printed.err


def asked(capsys: Capture, *words: str) -> tuple[dict[str, Any], str]:
    out, err = run(capsys, *words, "--json")
    return json.loads(out), err


def tell(capsys: Capture) -> None:
    run(capsys, "bench", "add", "driver", "--chip", "drv8825", "--sense", "R100", "--name", "left one")
    run(capsys, "bench", "add", "supply", "--supply", "24")
    run(capsys, "bench", "add", "meter", "--meter", "2% + 0.3 ohm")
    run(capsys, "bench", "add", "board", "--port", "virtual://bench?clock=free")


def test_things_are_told_listed_changed_and_removed(capsys: Capture) -> None:
    out, err = run(capsys, "bench")
    assert out == "" and "nothing is told of your bench yet" in err
    tell(capsys)
    out, _ = run(capsys, "bench", "add", "driver", "--chip", "A4988", "--sense", "R068", "--heat-sink")
    assert [line.split("  ")[0] for line in out.splitlines()[1:]] == ["driver", "driver", "supply", "meter", "board"]
    assert "A4988, sense R068, heat sink" in out and "left one" in out
    run(capsys, "bench", "usual", "driver", "A4988 R068")
    run(capsys, "bench", "change", "driver", "left one", "--sense", "R050")
    found, _ = asked(capsys, "bench")
    assert found["bench"][:2] == [
        {"kind": "driver", "usual": False, "name": "left one", "chip": "DRV8825", "sense": "R050", "sink": ""},
        {"kind": "driver", "usual": True, "name": "A4988 R068", "chip": "A4988", "sense": "R068", "sink": "yes"},
    ]
    out, _ = run(capsys, "bench", "remove", "driver", "A4988 R068")
    assert "A4988" not in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("add magnet", "'magnet' is no kind of thing"),
        ("add driver --chip A4989", "no chip 'A4989'"),
        ("add driver --supply 12V", "--supply tells nothing of a driver, expected --name, --chip, --sense"),
        ("add supply", "--supply: expected supply, such as"),
        ("usual driver nobody", "no driver is told at your bench yet"),
        ("add meter --meter good", "good"),
    ],
)
def test_what_cannot_be_is_said_in_one_line(capsys: Capture, words: str, said: str) -> None:
    out, err = run(capsys, "bench", *words.split(), status=2)
    assert out == "" and said in err and err.count("\n") == 1


def test_vref_takes_the_usual_driver_and_supply_and_says_so(capsys: Capture) -> None:
    tell(capsys)
    found, err = asked(capsys, "vref", "--current", "0.8 A")
    assert (found["chip"], found["sense_ohm"], found["vref_volt"]) == ("DRV8825", 0.1, 0.4)
    assert "your usual driver, left one: --chip DRV8825 --sense R100\n" in err
    assert "your usual supply, 24 V: --supply '24 V'" in err
    given = ("--sense", "R050", "--supply", "12V")
    found, err = asked(capsys, "vref", "--current", "0.8 A", *given)
    assert found["sense_ohm"] == 0.05 and "left one: --chip DRV8825\n" in err and "supply" not in err


def test_another_chip_is_never_given_the_usual_ones_resistor(capsys: Capture) -> None:
    tell(capsys)
    _, err = run(capsys, "vref", "--chip", "A4988", "--current", "0.8 A", "--json", status=3)
    assert "--sense" in err or "sense resistor" in err
    found, err = asked(capsys, "vref", "--chip", "drv8825", "--current", "0.8 A")
    assert found["sense_ohm"] == 0.1 and "--sense R100" in err
    found, err = asked(capsys, "vref", "--gain", "8", "--sense", "R100", "--current", "0.8 A")
    assert found["vref_volt"] == pytest.approx(0.64) and "driver" not in err


def test_connect_takes_them_too(capsys: Capture) -> None:
    tell(capsys)
    motor = ("connect", "--leads", "4", "--coil", "2.4 ohm", "--current", "1 A")
    found, err = asked(capsys, *motor)
    assert found["judged_at_rev_per_second"] is not None
    assert "your usual driver, left one: --chip DRV8825" in err and "your usual supply, 24 V" in err
    _, err = asked(capsys, *motor, "--driver-max", "3 A", "--supply", "12")
    assert err == ""


def test_windings_is_judged_with_the_usual_meter(capsys: Capture, tmp_path: Any) -> None:
    tell(capsys)
    file = tmp_path / "four.csv"
    file.write_text("RD,BU,12.1\nWH,BK,12.2\nRD,WH,OL\n")
    _, err = run(capsys, "windings", str(file))
    assert "your usual meter, 2% + 0.3 ohm: --meter '2% + 0.3 ohm'" in err
    _, err = run(capsys, "windings", str(file), "--meter", "1% + 0.2 ohm")
    assert "usual" not in err


def test_jog_takes_the_usual_port_and_says_how_to_tell_one(capsys: Capture) -> None:
    _, err = run(capsys, "jog", "--find", "start", status=2)
    assert "bench add board --port PORT" in err
    tell(capsys)
    _, err = run(capsys, "jog", "--find", "start", "--moves", "3", "--json")
    assert "your usual board, " in err and "--port 'virtual://bench?clock=free'" in err


def test_a_damaged_bin_keeps_nobody_from_reckoning(capsys: Capture, tmp_path: Any) -> None:
    tell(capsys)
    path = tmp_path / "bad.bin"
    path.write_bytes(b"SQLite format 3\x00" + b"x" * 5000)
    found, err = asked(
        capsys, "vref", "--bin", str(path), "--chip", "DRV8825", "--sense", "R100", "--current", "0.8 A"
    )
    assert found["vref_volt"] == 0.4 and "nothing of your bench is taken" in err
