"""The README can't go stale: its keys, pictures and commands are held to the program."""

from __future__ import annotations

import json
import os
import re
import shlex
import subprocess
from pathlib import Path
from typing import Any

import pytest

from coilbench.cli import COMMANDS, main
from coilbench.quantity import parse_quantity
from coilbench.ui.actions import key_table

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_key_table_is_the_registrys() -> None:
    rows = [f"| {where} | `{key}` | {label} | {tooltip} |" for where, key, label, tooltip in key_table()]
    for row in rows:
        assert row in README, f"the README's key table lacks: {row}"
    told = [line for line in README.splitlines() if re.match(r"\| [^|]+ \| `[^`]+` \| [^|]+ \| [^|]+ \|$", line)]
    assert len(told) == len(rows), "the README tells keys that the bench doesn't have"


def test_pictures_are_the_snapshot_tests_own() -> None:
    pictures = re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README)
    assert pictures
    for picture in pictures:
        assert picture.startswith("tests/ui/__snapshots__/"), picture
        assert (ROOT / picture).is_file(), picture


def test_every_command_is_named() -> None:
    for name in COMMANDS:
        assert f"`coilbench {name}" in README, name


EXAMPLES = [shlex.split(line)[1:] for line in re.findall(r"(?m)^\$ (coilbench .*)$", README)]


@pytest.mark.parametrize("words", [each for each in EXAMPLES if each[0] != "jog"], ids=lambda words: words[0])
def test_examples_do_what_they_say(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = re.search(r"(?ms)^\$ cat (\S+)\n(.*?)^\$", README)
    assert file is not None
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COILBENCH_BIN", str(tmp_path / "motors.db"))
    monkeypatch.setenv("COILBENCH_CONFIG", str(tmp_path / "config.toml"))
    Path(file[1]).write_text(file[2], encoding="utf-8")
    assert main(words) == 0
    assert "stop:" not in capsys.readouterr().out


def test_every_computing_stage_has_an_example() -> None:
    assert {each[0] for each in EXAMPLES} == {"windings", "rate", "connect", "torque", "vref", "jog", "fit"}


def test_each_example_goes_on_with_what_the_one_before_says(capsys: pytest.CaptureFixture[str]) -> None:
    words = {each[0]: each for each in EXAMPLES}

    def said(command: str) -> dict[str, Any]:
        assert main([*words[command], "--json"]) == 0
        found = json.loads(capsys.readouterr().out)
        assert isinstance(found, dict)
        return found

    def current(command: str) -> float:
        return parse_quantity(words[command][words[command].index("--current") + 1], "ampere")

    assert current("connect") == pytest.approx(said("rate")["start_amp"], rel=0.02)
    compared = said("connect")
    chosen = next(row for row in compared["rows"] if row["connection"] == compared["choose"])
    assert current("vref") == current("torque") == pytest.approx(chosen["set_peak_amp"], rel=0.005)
    assert said("vref")["peak_amp"] == pytest.approx(current("vref"), rel=0.005)


def test_top_level_stays_small() -> None:
    if not (ROOT / ".git").exists():
        if os.environ.get("CI"):
            pytest.fail("CI runs on a git checkout")
        pytest.skip("not a git checkout: what belongs to the project can't be told from what was made here")
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    top = {line.split("/")[0] for line in tracked.splitlines() if not line.startswith(".")}
    assert top <= {"README.md", "DEVELOPERS.md", "pyproject.toml", "coilbench", "sketches", "tests"}
