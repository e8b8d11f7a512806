"""``coilbench fit`` as a person types it: the example machine with the demo's motors, and bad files."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from coilbench.cli import main
from coilbench.stages.machine.example import example_text
from tests.support.proved_demo import proved_demo


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return proved_demo(tmp_path_factory.mktemp("demo") / "demo.bin")


@pytest.fixture
def machine(tmp_path: Path) -> Path:
    path = tmp_path / "greenhouse.toml"
    path.write_text(example_text())
    return path


def test_the_example_prints_itself(capsys):
    assert main(["fit", "--example"]) == 0
    assert capsys.readouterr().out == example_text()


def test_the_demos_motors_build_the_greenhouse(demo, machine, answer):
    found = answer("fit", "--bin", str(demo), str(machine))
    assert found["fits"] and found["worst_margin"] >= 2 and found["changes"] == []
    motors = {each["axis"]: each["motors"] for each in found["axes"]}
    assert motors["slide"] == ["M-01", "M-13"], "the scanner's two are the one matched pair"
    used = [name for each in motors.values() for name in each]
    assert len(used) == len(set(used)) == 5
    assert {"M-06", "M-07", "M-12"} <= {each["motor"] for each in found["left_out"]}
    vent = found["axes"][0]
    assert vent["figures"]["holds_itself"] is True and vent["figures"]["steps_per_mm"] == pytest.approx(1280)
    assert vent["hold_margin"] is None and vent["basis"] == "model"
    # DRV8825 (TI SLVSA73F): VREF = 5 x sense x peak.
    assert vent["vref_volt"] == pytest.approx(5 * 0.1 * vent["peak_amp"])


def test_plain_lines_say_the_same(demo, machine, capsys):
    assert main(["fit", "--bin", str(demo), str(machine)]) == 0
    out, err = capsys.readouterr()
    assert "every axis has its motor" in out and "M-01 + M-13" in out
    assert err.count("caution:") == 1
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    shown = readme[readme.index("greenhouse bench\n") :]
    assert [_placed(line) for line in out.split("\n\n")[0].splitlines()] == [
        _placed(line) for line in shown.split("\n```")[0].splitlines()
    ], "the README shows who goes where"


def _placed(line: str) -> list[str]:
    """Axis, motors and connection of a row: the figures go with what the virtual meter was asked."""
    return re.split(r"  +|, ", line)[:3]


def test_looking_keeps_nothing(demo, machine):
    before = demo.read_bytes()
    assert main(["fit", "--bin", str(demo), str(machine)]) == 0
    assert demo.read_bytes() == before


def test_what_does_not_fit_is_no_failure(demo, machine, answer):
    machine.write_text(example_text().replace('mass = "4 kg"', 'mass = "200 kg"'))
    found = answer("fit", "--bin", str(demo), str(machine))
    assert not found["fits"] and found["changes"]
    assert found["changes"][-1]["cost"] == "a purchase" and "a motor that pulls" in found["changes"][-1]["change"]


@pytest.mark.parametrize(
    ("before", "after", "wanted"),
    [
        ('mass = "4 kg"', 'mess = "4 kg"', "'vent': key 'mess' is not known, expected"),
        ('mass = "4 kg"', 'mass = "4"', "'vent', mass: '4' has no unit, expected"),
        ('mass = "4 kg"', 'mass = "-4 kg"', "'vent', mass: '-4 kg'"),
        (
            'thread = "M8"',
            'thread = "square"\npitch-diameter = "7 mm"\nlead = "0 mm"',
            "lead: '0 mm' is not above zero",
        ),
        ('name = "turntable"', 'name = "vent"', "'vent' is taken, expected"),
        ('name = "turntable"', r'name = "\u001b[31m"', "axis 2, name: '\\x1b[31m', expected a text"),
        ('motor-mass = "0.3 kg"', 'carries = "slide"', "a loop"),
    ],
)
def test_a_bad_file_is_one_line_with_its_name(demo, machine, refusal, before, after, wanted):
    machine.write_text(example_text().replace(before, after, 1))
    said = refusal("fit", "--bin", str(demo), str(machine))
    assert machine.name in said and wanted in said and "expected" in said


def test_no_file_no_bin_no_machine(tmp_path, machine, refusal, demo):
    assert "expected a file" in refusal("fit")
    assert "no such file" in refusal("fit", "--bin", str(demo), str(tmp_path / "gone.toml"))
    assert "no bin" in refusal("fit", "--bin", str(tmp_path / "none.bin"), str(machine))
    machine.write_bytes(b"\xff\xfe\x00")
    assert "UTF-8" in refusal("fit", "--bin", str(demo), str(machine))
