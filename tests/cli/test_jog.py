"""The jog command as a person types it, on virtual boards."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from coilbench.board.session.jog import JogSession
from coilbench.board.virtual.ports.protocol_virtual import Serial
from coilbench.cli import main
from coilbench.records.saved.jog import Jog
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import WindingFault, Windings
from coilbench.records.store import Bin
from coilbench.stages.desk import Desk

PORT = "virtual://bench?clock=free"


def told(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert main(["jog", *words, "--json"]) == 0
    value = json.loads(capsys.readouterr().out)
    assert isinstance(value, dict)
    return value


def refused(capsys: pytest.CaptureFixture[str], *words: str, status: int = 2) -> str:
    assert main(["jog", *words]) == status
    out, err = capsys.readouterr()
    assert out == "" and "Traceback" not in err
    return err.splitlines()[-1]


def test_start_and_run_of_a_virtual_motor(capsys: pytest.CaptureFixture[str]) -> None:
    found = told(capsys, "--port", PORT)
    assert found["board"]["chip"] == "virtual"
    assert 300 < found["start_rate_sps"] < found["run_rate_sps"]
    low, high = found["interval"]
    assert found["working_rate_sps"] < low < high < 1.2 * low
    for search in found["searches"].values():
        assert search["moves"] <= 25 and search["status"] in ("width", "moves")
        assert len(search["curve"]["figures"]) == len(search["curve"]["mean"])


def test_a_run_asked_for_alone_has_its_start_found_first(capsys: pytest.CaptureFixture[str]) -> None:
    # From near standstill a ramp passes through resonance near 150 steps/s, and skips there.
    found = told(capsys, "--port", PORT, "--find", "run", "--highest", "5000", "--moves", "5")
    assert list(found["searches"]) == ["start", "run"]
    assert found["run_rate_sps"] > found["start_rate_sps"] > 300


def test_the_sensor_says_what_the_shaft_does(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--port", PORT, "--find", "start", "--lowest", "700", "--highest", "2000", "--moves", "5")
    by_shaft = told(capsys, *words)
    by_sensor = told(capsys, *words, "--sensor")
    assert by_sensor["start_rate_sps"] == pytest.approx(by_shaft["start_rate_sps"], rel=0.15)


def test_plain_lines_with_a_proving_run(capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        main(["jog", "--port", PORT, "--find", "start", "--lowest", "700", "--highest", "2000", "--prove", "3"]) == 0
    )
    out, err = capsys.readouterr()
    assert "work with" in out and "3 clean proving trials" in out
    assert "never plug or unplug" in err and "one slow turn" in err
    assert "its shaft answers by itself" in err and "no current is set for this motor" in err
    moves = [line for line in err.splitlines() if line.startswith("move ")]
    assert all("to go: the way back alone, at 200 steps/s" in line for line in moves[:2])
    assert len(moves) > 5 and all("to go: start at " in line for line in moves[2:-3])


def test_resonance_is_looked_for_and_kept_with_the_motor(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("COILBENCH_BIN", str(tmp_path / "motors.db"))
    with Bin.open(tmp_path / "motors.db") as bin_:
        bin_.add_motor("feeder", ["RD", "BU", "GN", "BK"])
        Desk(bin_, "feeder").keep("ratings", Ratings(step_angle_degree=1.8))
    words = ("--find", "start", "--moves", "3", "--resonance", "--motor", "feeder", "--save")
    found = told(capsys, "--port", f"{PORT}&seed=2", *words)
    # The motor's own small-swing frequency is near 173 Hz (sqrt(50 x 0.26 / 110e-7) / 2 pi); skips lie below it.
    assert found["resonance_sps"] and all(80 < rate < 200 for rate in found["resonance_sps"])
    with Bin.open(tmp_path / "motors.db") as bin_:
        jog = bin_.known("feeder").get(Jog)
    assert jog is not None and jog.drives[0].start_rate_sps == found["start_rate_sps"]
    assert list(jog.drives[0].resonance_sps) == found["resonance_sps"]


def test_a_heavy_load_and_a_tin_can(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--find", "start", "--lowest", "200", "--highest", "2000", "--moves", "6")
    light = told(capsys, "--port", PORT, *words)
    heavy = told(capsys, "--port", f"{PORT}&load=0.1", *words)
    assert heavy["start_rate_sps"] < light["start_rate_sps"]
    can = told(capsys, "--port", "virtual://tincan?clock=free", "--steps-per-turn", "48", *words)
    assert 100 < can["start_rate_sps"] < 1000


@pytest.fixture
def hidden_shaft(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A virtual board whose shaft can't be looked at: as with a real one, the person is asked."""
    monkeypatch.setattr(JogSession, "shaft_steps", lambda self: None)
    yield


@pytest.mark.usefixtures("hidden_shaft")
def test_a_person_answers(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    answers = "banana\n?\n\n2\n\nn\n\ny\n" + "y\nn\n\n" * 30
    monkeypatch.setattr("sys.stdin", io.StringIO(answers))
    found = told(capsys, "--port", PORT, "--find", "start", "--moves", "6")
    assert found["searches"]["start"]["moves"] == 6
    assert found["searches"]["start"]["unclear"] == 1


@pytest.mark.usefixtures("hidden_shaft")
def test_answers_that_end_early(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("y\n"))
    assert "answers ended" in refused(capsys, "--port", PORT, status=3)


@pytest.mark.parametrize(("typed", "status"), [("\n", 0), ("", 4)])
def test_a_board_unplugged_in_a_move_moves_again_when_asked(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, typed: str, status: int
) -> None:
    trial, pulled = JogSession.trial, []
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))

    def pull_the_plug(self: JogSession, *arguments: Any) -> Any:
        if not pulled:
            pulled.append(True)
            assert self._helper is not None
            self._helper.link.port.close()
        return trial(self, *arguments)

    monkeypatch.setattr(JogSession, "trial", pull_the_plug)
    assert main(["jog", "--port", PORT, "--find", "start", "--moves", "3"]) == status
    err = capsys.readouterr().err
    assert "the board is back; nothing moves yet" in err and "Enter makes the move again" in err
    moved_again, refused_line = "held" in err or "lost" in err, err.splitlines()[-1]
    assert moved_again if status == 0 else "went away" in refused_line and not moved_again


def test_ctrl_c_stops_the_motor(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    boards = []
    write = Serial.write

    def interrupted(self: Serial, data: Any, /) -> int:
        boards.append(self.board)
        made = write(self, data)
        if b" trip " in bytes(data):
            raise KeyboardInterrupt
        return made

    monkeypatch.setattr(Serial, "write", interrupted)
    assert main(["jog", "--port", PORT]) == 130
    assert not boards[-1].motion.moving and not boards[-1].motion.outputs_on
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--port", PORT, "--find", "speed"], "turn, swing, start, run, acceleration"),
        (["--port", PORT, "--find", ","], "one or more"),
        (["--port", PORT, "--microsteps", "0"], "1 to 256"),
        (["--port", PORT, "--steps-per-turn", "1"], "4 to 10000"),
        (["--port", PORT, "--lowest", "500", "--highest", "400"], "can't be searched"),
        (["--port", PORT, "--lowest", "nan"], "can't be"),
        (["--port", PORT, "--acceleration", "-5"], "from 10 to"),
        (["--port", PORT, "--width", "0"], "positive"),
        (["--port", PORT, "--moves", "0"], "moves"),
        (["--port", PORT, "--prove", "-1"], "--prove"),
        (["--port", PORT, "--save"], "--motor"),
        (["--port", "/dev/ttyACM0", "--gear", "64"], "rotor"),
        (["--port", PORT, "--find", "turn"], "--sensor"),
        (["--port", PORT, "--drive", "array", "--microsteps", "8"], "--form"),
        ([], "--port"),
    ],
)
def test_bad_input_is_one_line(capsys: pytest.CaptureFixture[str], words: list[str], says: str) -> None:
    assert says in refused(capsys, *words)


def test_a_motor_that_leaks_to_its_frame_is_not_powered(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("COILBENCH_BIN", str(tmp_path / "motors.db"))
    with Bin.open(tmp_path / "motors.db") as bin_:
        bin_.add_motor("vent", ["RD", "BU"])
        leaking = Windings(arrangement="unknown", faults=(WindingFault(kind="frame", leads=("RD",)),))
        Desk(bin_, "vent").keep("windings", leaking)
    assert main(["jog", "--port", PORT, "--motor", "vent"]) == 4
    out, err = capsys.readouterr()
    assert not out and "do not power this motor: RD conducts to the case; set it aside" in err
    assert "board:" not in err  # nothing was opened


def test_no_such_port(capsys: pytest.CaptureFixture[str]) -> None:
    assert "no port" in refused(capsys, "--port", "/dev/no-such-port", "--yes", status=4)
    assert "no virtual motor" in refused(capsys, "--port", "virtual://warp", status=4)


@pytest.mark.parametrize(
    ("port", "status", "says"),
    [
        ("", 2, "no port is named"),
        ("/dev/null", 4, "/dev/null is no serial port"),
        ("/etc/passwd", 4, "/etc/passwd is no serial port"),
        ("/tmp", 4, "/tmp is no serial port"),
        ("/etc/passwd/x", 4, "there is no port /etc/passwd/x"),
        ("socket://localhost:1", 4, "can't be reached"),  # nothing listens there (RFC 1078's port, long out of use)
        ("socket://bench", 4, "expected such as socket://HOST:NUMBER"),
        ("wire://bench", 4, "is no address of a port"),
    ],
)
@pytest.mark.parametrize("command", ["jog", "board"])
def test_a_wrong_port_gets_a_line_for_people(
    capsys: pytest.CaptureFixture[str], command: str, port: str, status: int, says: str
) -> None:
    assert main([command, "--port", port]) == status
    out, err = capsys.readouterr()
    assert out == "" and says in err and len(err.splitlines()) == 1
    assert "Errno" not in err and "Inappropriate" not in err


def test_the_swing_is_asked_for_by_touch_and_told(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO())
    found = told(capsys, "--port", f"{PORT}&flywheel=3", "--find", "swing")
    assert found["swing"]["low_hz"] < 100 < found["swing"]["high_hz"] and found["searches"] == {}
    err = refused(capsys, "--port", PORT, "--find", "swing", "--microsteps", "8", status=3)
    assert "full steps" in err
