"""The jog command on four coil lines, with gears, and with what was said kept in a file."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest

from coilbench.board.session.drive import Drive
from coilbench.board.virtual.ports.protocol_virtual import Serial
from coilbench.cli import main
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.jog import Figures, Jog, SavedDrive
from coilbench.records.saved.order import Order
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Coil, Windings
from coilbench.records.store import Bin
from coilbench.stages.desk import Desk
from coilbench.stages.jog.figures import figures_of

PORT = "virtual://bench?clock=free"
SHORT = ("--find", "start", "--lowest", "150", "--highest", "2000", "--moves", "4")


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[dict[str, Any], str]:
    assert main(["jog", *words, "--json"]) == 0
    out, err = capsys.readouterr()
    value = json.loads(out)
    assert isinstance(value, dict)
    return value, err


def jog_of(path: Path) -> Jog:
    with Bin.open(path) as bin_:
        found = bin_.known("vent").get(Jog)
    assert found is not None
    return found


@pytest.fixture
def bin_path(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    path = tmp_path / "motors.db"
    monkeypatch.setenv("COILBENCH_BIN", str(path))
    with Bin.open(path) as bin_:
        bin_.add_motor("vent", ["RD", "OG", "YE", "PK", "BU"])
        coils = tuple(Coil(name=n, ends=("BU", e), ohms=9.0) for n, e in zip("ABCD", "ROYP", strict=True))
        Desk(bin_, "vent").keep(
            "connection",
            Windings(arrangement="unipolar-5", common="BU", confidence=1.0, coils=coils),
            Order(sequence=("RD", "OG", "YE", "PK")),
            Connection(connection="unipolar", current_ampere=0.6, resistance_ohm=9.0),
        )
    return path


@pytest.mark.parametrize("form", ["wave", "full", "half"])
def test_coil_lines_in_every_form(capsys: pytest.CaptureFixture[str], form: str) -> None:
    found, err = told(capsys, "--port", PORT, "--drive", "array", "--form", form, *SHORT)
    assert found["drive"] == {"kind": "array", "form": form}
    assert 100 < found["start_rate_sps"] < 1000
    assert "nothing limits the current" in err and "0.5 A a line" in err
    assert "one slow turn" in err


def test_a_unipolar_connection_means_coil_lines_and_its_leads(
    capsys: pytest.CaptureFixture[str], bin_path: Path
) -> None:
    found, err = told(capsys, "--port", PORT, "--motor", "vent", *SHORT, "--save")
    assert found["drive"]["kind"] == "array"
    lines = err.splitlines()
    pins = {"A": "RD", "B": "OG", "A'": "YE", "B'": "PK"}  # the ends in their switching order
    for name, lead in pins.items():
        assert any(f" {name} " in line and line.endswith(f"-- {lead}") for line in lines), err
    assert any("supply +" in line and "BU" in line for line in lines)
    assert "5.4 V" in err and "0.6 A is too much" in err  # 0.6 A through 9 ohm; an array's line takes 0.5 A


def test_figures_of_two_drives_stand_side_by_side(capsys: pytest.CaptureFixture[str], bin_path: Path) -> None:
    words = ("--port", PORT, "--motor", "vent", *SHORT, "--save")
    coils, _ = told(capsys, *words)
    driver, err = told(capsys, *words, "--drive", "driver")
    assert "found with: driver" in err
    jog = jog_of(bin_path)
    assert jog.drives[0].start_rate_sps == driver["start_rate_sps"] != coils["start_rate_sps"]
    assert figures_of(jog, Drive("array")).start_rate_sps == coils["start_rate_sps"]
    assert figures_of(jog, Drive("array", form="half")).start_rate_sps is None
    told(capsys, *words, "--drive", "array")
    assert [each.drive.kind for each in jog_of(bin_path).drives] == ["array", "driver"]


def test_what_was_not_looked_for_stays(capsys: pytest.CaptureFixture[str], bin_path: Path) -> None:
    known = Figures(drive=SavedDrive(kind="array"), run_rate_sps=321.0, resonance_sps=(111.0,))
    with Bin.open(bin_path) as bin_:
        Desk(bin_, "vent").keep("jog", Jog(drives=(known,)))
    told(capsys, "--port", PORT, "--motor", "vent", *SHORT, "--save")
    (figures,) = jog_of(bin_path).drives
    assert figures.run_rate_sps == 321.0 and figures.resonance_sps == (111.0,) and figures.start_rate_sps
    assert figures.acceleration_sps2 is None  # nobody looked for it


def test_ratings_tell_where_to_look_for_resonance(capsys: pytest.CaptureFixture[str], bin_path: Path) -> None:
    with Bin.open(bin_path) as bin_:
        Desk(bin_, "vent").keep("ratings", Ratings(holding_torque_newton_metre=0.03, inertia_kilogram_metre2=10e-7))
    port = ("--port", "virtual://tincan?clock=free", "--steps-per-turn", "48")
    _, err = told(capsys, *port, "--motor", "vent", "--resonance", "--find", "start", "--moves", "1")
    # sqrt(12 x 0.03 / 10e-7) / 2 pi = 95 Hz, and half of it
    assert "resonance at 95 steps/s" in err and "resonance at 48 steps/s" in err


def test_the_sensor_counts_the_steps_of_a_turn(capsys: pytest.CaptureFixture[str]) -> None:
    port = "virtual://tincan?clock=free"
    found, _ = told(capsys, "--port", port, "--find", "turn", "--sensor")
    assert found["counted_steps_per_turn"] == 48 and found["start_rate_sps"] is None
    geared, _ = told(capsys, "--port", f"{port}&gear=10.5", "--find", "turn", "--sensor", "--steps-per-turn", "48")
    assert geared["counted_steps_per_turn"] == pytest.approx(504)
    assert main(["jog", "--port", port, "--find", "turn", "--sensor"]) == 0
    assert "one turn of the flag: 48 full steps" in capsys.readouterr().out


def test_a_turn_entered_wrong_is_said_with_what_was_counted(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["jog", "--port", "virtual://tincan?clock=free", "--sensor"]) == 4
    last = capsys.readouterr().err.splitlines()[-1]
    assert "counted 48 steps a turn of the flag, not 200; give --steps-per-turn 48" in last
    words = ("--steps-per-turn", "48", "--gear", "10", "--sensor")
    assert main(["jog", "--port", "virtual://tincan?clock=free&gear=10.5", *words]) == 4
    assert "give --gear 10.5" in capsys.readouterr().err.splitlines()[-1]
    assert main(["jog", "--port", "virtual://tincan?clock=free"]) == 4  # nobody counts: a turn isn't a turn
    assert "turns, not one" in capsys.readouterr().err.splitlines()[-1]


def test_a_flag_behind_a_gear_is_seen_where_it_can_be(capsys: pytest.CaptureFixture[str]) -> None:
    geared = ("--port", "virtual://tincan?clock=free", "--steps-per-turn", "48", "--gear", "12", *SHORT)
    by_rotor, err = told(capsys, *geared, "--flag", "rotor")
    assert by_rotor["shaft"]["flag_on"] == "rotor" and "can crush a finger" in err
    by_sensor, _ = told(capsys, *geared, "--sensor", "--moves", "1")
    assert by_sensor["counted_steps_per_turn"] == pytest.approx(576, abs=1)
    assert main(["jog", "--port", "/dev/ttyACM0", "--gear", "20"]) == 2
    assert "rotor's side" in capsys.readouterr().err


def test_what_was_said_is_kept_and_told_again(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    log = tmp_path / "visit.jsonl"
    told(capsys, "--port", PORT, *SHORT, "--log", str(log))
    assert main(["board", "--replay", str(log)]) == 0
    out = capsys.readouterr().out
    assert "board: virtual" in out and "2 trip" in out and "motions ended: 5 end" in out
    assert main(["board", "--replay", str(log), "--json"]) == 0
    again = json.loads(capsys.readouterr().out)
    assert any(" trip " in line["said"] for line in again["lines"]) and not any(
        line["flaw"] for line in again["lines"]
    )
    assert main(["board", "--port", f"replay://{log}"]) in (0, 4)  # the line itself can be played again, too


def test_a_fault_names_the_file_and_a_board_that_returns_is_written_on(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log, writes = tmp_path / "visit.jsonl", []
    write = Serial.write

    def unplugged(self: Serial, data: Any, /) -> int:
        made = write(self, data)
        if b" trip " in bytes(data):
            writes.append(data)
            if len(writes) == 1:
                self.close()
        return made

    monkeypatch.setattr(Serial, "write", unplugged)
    monkeypatch.setattr("sys.stdin", io.StringIO("\n"))  # the word for it to move again
    told(capsys, "--port", PORT, *SHORT, "--log", str(log))
    board = "".join(
        entry["said"] for line in log.read_text().splitlines() if (entry := json.loads(line))["from"] == "board"
    )
    assert board.count(" hello protocol=1 sketch=10300 chip=virtual why=power") == 2

    def gone(self: Serial, data: Any, /) -> int:
        if b" move " in bytes(data):
            self.close()
        return write(self, data)

    monkeypatch.setattr(Serial, "write", gone)
    log = tmp_path / "another.jsonl"
    assert main(["jog", "--port", PORT, *SHORT, "--log", str(log)]) == 4
    assert f"board --replay {log}" in capsys.readouterr().err
