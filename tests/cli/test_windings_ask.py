"""``coilbench windings --ask``: hidden motors through JSON lines, and the plain-line dialogue."""

from __future__ import annotations

import io
import json
import os
import random
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from coilbench.cli import main
from coilbench.records.store import Bin

# Arrangement -> (ends of each winding piece, lead numbers first), coils as (end, end, tap), common. Written out by
# hand, apart from the program's own catalogue.
NETWORKS: dict[str, tuple[int, list[tuple[int, int]], list[tuple[int, int, int | None]], int | None]] = {
    "single-coil-2": (2, [(0, 1)], [(0, 1, None)], None),
    "tapped-coil-3": (3, [(0, 2), (2, 1)], [(0, 1, 2)], None),
    "three-phase-3": (3, [(0, 3), (1, 3), (2, 3)], [], None),
    "bipolar-4": (4, [(0, 1), (2, 3)], [(0, 1, None), (2, 3, None)], None),
    "three-phase-star-4": (4, [(0, 3), (1, 3), (2, 3)], [(0, 3, None), (1, 3, None), (2, 3, None)], 3),
    "unipolar-5": (5, [(0, 4), (1, 4), (2, 4), (3, 4)], [(k, 4, None) for k in range(4)], 4),
    "five-phase-ring-5": (5, [(k, (k + 1) % 5) for k in range(5)], [(k, (k + 1) % 5, None) for k in range(5)], None),
    "five-phase-star-5": (5, [(k, 5) for k in range(5)], [], None),
    "unipolar-6": (6, [(0, 2), (2, 1), (3, 5), (5, 4)], [(0, 1, 2), (3, 4, 5)], None),
    "three-phase-6": (6, [(0, 1), (2, 3), (4, 5)], [(0, 1, None), (2, 3, None), (4, 5, None)], None),
    "split-8": (8, [(k, k + 1) for k in (0, 2, 4, 6)], [(k, k + 1, None) for k in (0, 2, 4, 6)], None),
    "five-phase-10": (10, [(k, k + 1) for k in range(0, 10, 2)], [(k, k + 1, None) for k in range(0, 10, 2)], None),
}
NAMES = ("RD", "BU", "WH", "BK", "GN", "YE", "OG", "VT", "GY", "PK", "BN", "TQ", "[/x]", "=1+1", "red", "1", "RD/WH")


@dataclass
class HiddenMotor:
    """A healthy motor whose leads are named at random, behind a meter with its own errors."""

    arrangement: str
    ohm: float
    chance: random.Random
    leads: tuple[str, ...] = ()
    probes_ohm: float = 0.0
    gain: float = 0.0
    _ohm: np.ndarray[Any, Any] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        count, pieces, _, _ = NETWORKS[self.arrangement]
        if not self.leads:
            self.leads = tuple(self.chance.sample(NAMES, count))
        nodes = 1 + max(max(piece) for piece in pieces)
        laplacian = np.zeros((nodes, nodes))
        for a, b in pieces:
            siemens = 1 / self.ohm
            laplacian[[a, b], [a, b]] += siemens
            laplacian[[a, b], [b, a]] -= siemens
        inverse = np.linalg.pinv(laplacian)
        self._ohm = np.add.outer(np.diag(inverse), np.diag(inverse)) - 2 * inverse
        reach = np.linalg.matrix_power((laplacian != 0).astype(int) + np.eye(nodes, dtype=int), nodes) > 0
        self._ohm[~reach] = np.inf

    @property
    def coil_ohm(self) -> float:
        """A coil end to end, as the result gives it: its own ohms, without what lies beside it in a ring."""
        _, pieces, coils, _ = NETWORKS[self.arrangement]
        end, other, _ = coils[0]
        if (end, other) in pieces:
            return self.ohm
        return float(self._ohm[end, other])

    def read(self, a: str, b: str) -> str:
        """What the display says, the probes on two leads, one lead and the frame, or together."""
        if "frame" in (a, b):
            return "OL"
        true = 0.0 if a == b else float(self._ohm[self.leads.index(a), self.leads.index(b)])
        if true == np.inf:
            return "OL"
        shown = true * (1 + self.gain) + self.probes_ohm + self.chance.gauss(0, 0.02)
        return f"{max(shown, 0.0):.1f}"

    def is_named_by(self, result: dict[str, Any]) -> bool:
        """Whether the arrangement and every lead's place are right."""
        _, _, coils, common = NETWORKS[self.arrangement]
        name = self.leads.__getitem__
        true = {(frozenset((name(a), name(b))), name(tap) if tap is not None else None) for a, b, tap in coils}
        between = result.get("lead_ohms")
        if (between is None) != bool(coils) or (between and abs(between - self._ohm[0, 1]) > 0.03 * between + 0.2):
            return False
        said = {(frozenset(coil["ends"]), coil["tap"]) for coil in result["coils"]}
        return (
            result["arrangement"] == self.arrangement
            and said == true
            and result["common"] == (name(common) if common is not None else None)
            and result["spare"] == []
        )


class Bench(io.StringIO):
    """Standard output that remembers, and standard input that answers what was asked last."""

    encoding = "utf-8"

    def __init__(self, motor: HiddenMotor) -> None:
        super().__init__()
        self.motor = motor
        self.asked = 0

    def readline(self, limit: int | None = -1) -> str:  # type: ignore[override]
        ask = json.loads(self.getvalue().splitlines()[-1])["ask"]
        if ask == "probes-together":
            return self.motor.read("probes", "probes") + "\n"
        self.asked += "frame" not in ask
        return self.motor.read(*ask) + "\n"


def name_over_json_lines(motor: HiddenMotor, monkeypatch: pytest.MonkeyPatch) -> tuple[int, dict[str, Any], int]:
    """Run ``windings --ask --json`` in this process: exit status, result, lead-to-lead readings asked for."""
    bench = Bench(motor)
    with monkeypatch.context() as patch:
        patch.setattr(sys, "stdin", bench)
        patch.setattr(sys, "stdout", bench)
        status = main(["windings", "--ask", "--json", "--leads", ",".join(motor.leads)])
    last = json.loads(bench.getvalue().splitlines()[-1])
    return status, last["result"], bench.asked


def random_motor(chance: random.Random, arrangement: str | None = None) -> HiddenMotor:
    """A motor and a meter within what the bench must cope with."""
    ohm = 10 ** chance.uniform(np.log10(0.6), np.log10(200))
    motor = HiddenMotor(arrangement or chance.choice(list(NETWORKS)), ohm, chance)
    motor.probes_ohm = chance.uniform(0.05, 0.3)
    motor.gain = chance.uniform(-0.01, 0.01)
    return motor


def say(
    lines: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *options: str
) -> tuple[int, str]:
    """Run ``windings`` with these lines typed: exit status and what was printed."""
    monkeypatch.setattr(sys, "stdin", io.StringIO(lines))
    status = main(["windings", *options])
    out, err = capsys.readouterr()
    assert not err, err
    return status, out


HIDDEN = 200 if os.environ.get("COILBENCH_LONG") else 40


def test_hidden_motors_are_named_right(monkeypatch: pytest.MonkeyPatch) -> None:
    """A random motor (0.6 to 200 ohm), meter gain within 1 %, probes of 0.05 to 0.3 ohm, a 0.1 ohm display."""
    right = confident_wrong = 0
    for seed in range(HIDDEN):
        motor = random_motor(random.Random(seed))
        status, result, _ = name_over_json_lines(motor, monkeypatch)
        if motor.is_named_by(result):
            right += 1
            assert status == 0 and result["confidence"] >= 0.95
            off = [
                coil for coil in result["coils"] if coil["ohms"] != pytest.approx(motor.coil_ohm, rel=0.03, abs=0.25)
            ]
            assert not off, (seed, motor.coil_ohm, motor.probes_ohm)
        elif result["confidence"] > 0.99:
            confident_wrong += 1
    print(f"{right} of {HIDDEN} named right, {confident_wrong} wrong with confidence above 0.99")
    assert right >= 0.99 * HIDDEN
    assert confident_wrong <= HIDDEN / 200


@pytest.mark.parametrize("arrangement", ["unipolar-6", "bipolar-4"])
def test_the_same_through_a_real_process(arrangement: str) -> None:
    motor = random_motor(random.Random(5), arrangement)
    command = [sys.executable, "-m", "coilbench", "windings", "--ask", "--json", "--leads", ",".join(motor.leads)]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8"
    ) as process:
        assert process.stdin is not None and process.stdout is not None
        result = None
        for line in process.stdout:
            said = json.loads(line)
            if "result" in said:
                result = said["result"]
                break
            pair = ("probes", "probes") if said["ask"] == "probes-together" else said["ask"]
            process.stdin.write(motor.read(*pair) + "\n")
            process.stdin.flush()
    assert process.returncode == 0
    assert result is not None and motor.is_named_by(result)


RESULT_KEYS = ["arrangement", "confidence", "coils", "common", "spare", "cannot_tell", "faults", "repeat", "next"]
RESULT_KEYS += ["order", "readings"]


def test_json_lines_ask_again_what_they_cannot_read_and_end_at_the_end(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out = say("12.3\nbla\n-4\nnan\n", monkeypatch, capsys, "--ask", "--json", "--leads", "[/x],=1+1,red,blue")
    lines = [json.loads(line) for line in out.splitlines()]
    asks = [line["ask"] for line in lines[:-1]]
    assert asks[1] == asks[2] == asks[3] == asks[4] != asks[0]
    assert list(lines[-1]["result"]) == RESULT_KEYS
    assert lines[-1]["result"]["next"] == asks[-1] and lines[-1]["result"]["readings"] == 1
    assert status == 3


def test_json_lines_skip(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    status, out = say("skip\n" * 40, monkeypatch, capsys, "--ask", "--json", "--leads", "4")
    asks = [json.loads(line).get("ask") for line in out.splitlines()][:-1]
    assert len(asks) == len({frozenset(ask) for ask in asks}), "nothing skipped is asked again"
    assert status == 3
    assert json.loads(out.splitlines()[-1])["result"]["readings"] == 0


def test_a_range_set_by_hand(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """On a 200 ohm range a 400 ohm coil reads open: it is asked for again on a higher range, not called dead."""
    motor = HiddenMotor("bipolar-4", 400.0, random.Random(3))

    class OnLowRange(Bench):
        def readline(self, limit: int | None = -1) -> str:  # type: ignore[override]
            said = super().readline()
            first = self.getvalue().splitlines()[:-1]
            again = any(line == self.getvalue().splitlines()[-1] for line in first)
            return said if again or said.startswith("O") or float(said) < 200 else "OL\n"

    bench = OnLowRange(motor)
    monkeypatch.setattr(sys, "stdin", bench)
    monkeypatch.setattr(sys, "stdout", bench)
    main(["windings", "--ask", "--json", "--range", "200 ohm", "--leads", ",".join(motor.leads)])
    assert motor.is_named_by(json.loads(bench.getvalue().splitlines()[-1])["result"])


class PlainBench(Bench):
    """Answers the plain prompts: reads the lead names out of them."""

    def readline(self, limit: int | None = -1) -> str:  # type: ignore[override]
        prompt = next(
            line for line in reversed(self.getvalue().splitlines()) if line[:1] in "PHO" and "probe" in line
        )
        if "together" in prompt:
            return self.motor.read("probes", "probes") + "\n"
        if "of the case" in prompt:
            return "OL\n"
        words = prompt.replace("(", " ").replace(")", " ").split()
        a, b = [word for word in words if word in self.motor.leads]
        return self.motor.read(a, b) + "\n"


@pytest.mark.parametrize("ascii_only", [False, True])
def test_plain_lines_name_a_motor(monkeypatch: pytest.MonkeyPatch, ascii_only: bool) -> None:
    motor = HiddenMotor("unipolar-6", 24.0, random.Random(1), ("RD", "BU", "WH", "GN", "BK", "YE"))
    bench = PlainBench(motor)
    monkeypatch.setattr(sys, "stdin", bench)
    monkeypatch.setattr(sys, "stdout", bench)
    options = ["--ascii"] if ascii_only else []
    status = main(["windings", "--ask", "--leads", "RD BU WH GN BK YE", *options])
    text = bench.getvalue()
    assert status == 0
    assert "motor off every driver and supply" in text
    assert "a unipolar motor: two coils with centre taps" in text
    if ascii_only:
        assert text.count("o---+") >= 6 and ") A" in text
    else:
        assert " WH ●───┤" in text and any(f" {end} ●───╮" in text for end in ("RD", "BU"))
    assert "Resistance can't tell which way the shaft turns." in text


def test_plain_commands(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    typed = ["help", "pick red [/x]", "12R3", "list", "change 1 12,9", "change 2 3", "change 1 x", "list", "undo"]
    typed += ["undo", "remove 1", "pick red red", "pick nonsense", "skip", "", "1k2k", "quit", ""]
    status, out = say("\n".join(typed), monkeypatch, capsys, "--ask", "--leads", "red,blue,[/x],=1+1")
    assert status == 3
    assert "take back what was done last" in out
    assert "you picked this pair" in out
    assert "red to [/x]  12.3 Ω" in out
    assert (
        "red to [/x]  12.9 Ω" in out
        and out.count("taken back: reading red [/x]") == 2  # first the change, then the reading
        and "no reading '1'" in out
    )
    assert "can't be measured against each other" in out and "pick takes two of" in out
    assert "'1k2k'" in out and "no reading '2'" in out and "no reading '1'" in out and "'x'" in out


def test_nothing_but_open_asks_for_the_range_once(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    _, out = say("OL\nOL\nOL\n200\nOL\nOL\n", monkeypatch, capsys, "--ask", "--leads", "RD BU WH BK GN YE")
    assert out.count("hand-set range") == 1
    assert "turn the meter up a range" in out.lower()


def test_the_end_of_the_input_ends_with_what_is_known(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out = say("12.3\n", monkeypatch, capsys, "--ask", "--leads", "RD BU WH BK")
    assert status == 3
    assert out.rstrip().splitlines()[-1].startswith("Next: probes on")


def test_asking_goes_on_where_it_ended(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    kept = ("--ask", "--json", "--save", "vent", "--bin", str(tmp_path / "own.bin"))
    _, out = say("2.5\n", monkeypatch, capsys, *kept, "--leads", "RD BU WH BK")
    asked = json.loads(out.splitlines()[1])["ask"]
    status, out = say("OL\n2.5\n2.5\n2.5\n" + "OL\n" * 9, monkeypatch, capsys, *kept, "--go-on")
    assert json.loads(out.splitlines()[0])["ask"] == asked  # the leads, and what was read, are in the bin
    assert json.loads(out.splitlines()[-1])["result"]["readings"] > 2
    assert status in (0, 3)
    with Bin.open(tmp_path / "own.bin") as bin_:
        assert len(bin_.readings("vent")) == json.loads(out.splitlines()[-1])["result"]["readings"]


def test_the_range_that_was_said_is_kept_with_the_readings(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    where = tmp_path / "own.bin"
    said = "OL\nOL\nOL\n200\n"
    say(said, monkeypatch, capsys, "--ask", "--leads", "RD BU WH BK GN YE", "--save", "vent", "--bin", str(where))
    with Bin.open(where) as bin_:
        assert [one.range_ohm for one in bin_.readings("vent")] == [200.0, 200.0, 200.0]
