"""A command as a person types it: what it tells as JSON, and the one line it refuses with."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from coilbench.cli import main

Captured = pytest.CaptureFixture[str]


def telling(command: str) -> Callable[..., dict[str, Any]]:
    """``told(capsys, *words)``: the object that the command prints for these words, with nothing beside it."""

    def told(capsys: Captured, *words: str) -> dict[str, Any]:
        assert main([command, *words, "--json"]) == 0
        out, err = capsys.readouterr()
        assert err == ""
        value = json.loads(out)
        assert isinstance(value, dict)
        return value

    return told


def refusing(command: str) -> Callable[..., str]:
    """``refused(capsys, *words, status=2)``: the one line that the command ends with, and nothing else."""

    def refused(capsys: Captured, *words: str, status: int = 2) -> str:
        assert main([command, *words]) == status
        out, err = capsys.readouterr()
        assert out == "" and err.count("\n") == 1 and "Traceback" not in err
        return err

    return refused
