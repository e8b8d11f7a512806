"""The environment is made once: what the tests made is enough for the bench."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from coilbench import setup_env


@pytest.fixture
def environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A checkout whose environment has an interpreter, and a pip that only says that it was called."""
    made = tmp_path / ".venv"
    python = made / "bin" / "python"
    python.parent.mkdir(parents=True)
    python.write_text('#!/bin/sh\necho "$@" >> "$(dirname "$0")/installed"\n')
    python.chmod(0o755)
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    monkeypatch.setattr(setup_env, "ROOT", tmp_path)
    monkeypatch.setattr(setup_env, "ENVIRONMENT", made)
    monkeypatch.setattr(setup_env, "environment_python", lambda: python)
    return made


def installed(environment: Path) -> list[str]:
    log = environment / "bin" / "installed"
    return log.read_text().splitlines() if log.exists() else []


def test_the_bench_takes_the_tests_environment(environment: Path) -> None:
    setup_env.prepare("test")
    setup_env.prepare("test")
    setup_env.prepare()
    assert len(installed(environment)) == 1
    assert installed(environment)[0].endswith("[test]")


def test_the_tests_need_more_than_the_bench_has(environment: Path) -> None:
    setup_env.prepare()
    setup_env.prepare()
    setup_env.prepare("test")
    assert [line.endswith("[test]") for line in installed(environment)] == [False, True]


def test_other_requirements_or_another_python_install_anew(
    environment: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    setup_env.prepare("test")
    (environment.parent / "pyproject.toml").write_text("[project]\nname = 'x'\n")
    setup_env.prepare()
    assert len(installed(environment)) == 2
    monkeypatch.setattr(sys, "version", "another")
    setup_env.prepare()
    assert len(installed(environment)) == 3
