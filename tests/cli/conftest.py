"""Commands run in this process: what they answer, and how they refuse."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from coilbench.cli import main


@pytest.fixture
def answer(capsys: pytest.CaptureFixture[str]) -> Callable[..., dict[str, Any]]:
    """Run a command that must succeed with ``--json``; give back its one object."""

    def run(command: str, *words: str) -> dict[str, Any]:
        assert main([command, *words, "--json"]) == 0
        (line,) = capsys.readouterr().out.splitlines()
        value = json.loads(line)
        assert isinstance(value, dict)
        return value

    return run


@pytest.fixture
def refusal(capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """Run a command that must refuse with this status; give back its one line on standard error."""

    def run(command: str, *words: str, status: int = 2) -> str:
        assert main([command, *words]) == status
        out, err = capsys.readouterr()
        assert out == "" and len(err.splitlines()) == 1 and err.startswith(f"coilbench {command}: ")
        return err

    return run
