"""The text a person passes on with a question."""

from pathlib import Path

import pytest

from coilbench import __version__
from coilbench.records.diagnosis import diagnosis


def test_it_says_how_things_stand(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    config = tmp_path / "config.toml"
    config.write_text('mouse = false\ncolour = "red"\n[keys]\n"windings.undo" = "z\x1b"\n'.replace("\x1b", "\\u001b"))
    monkeypatch.setenv("COILBENCH_CONFIG", str(config))
    monkeypatch.setenv("NO_COLOR", "")
    monkeypatch.setenv("HOME", str(tmp_path))
    lines = diagnosis(tmp_path / "motors.db").splitlines()
    facts = dict(line.split(maxsplit=1) for line in lines)
    assert facts["coilbench"] == __version__
    assert facts["bin"] == "~/motors.db (not there yet)"
    assert facts["mouse"] == "off" and facts["NO_COLOR"] == "set, empty"
    assert facts["key"] == "windings.undo = z\\x1b"
    assert {"python", "system", "textual", "terminal", "encoding", "port", "config"} <= set(facts)
    assert any("setting 'colour' is not known" in line for line in lines)
    assert all(line.isprintable() for line in lines)
