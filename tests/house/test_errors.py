"""What is advised can be typed as it stands."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from coilbench.errors import STARTED_AS, InputProblem, as_started

ADVICE = "`coilbench bin list` shows the names"


def test_advice_names_the_command_as_it_was_started(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(STARTED_AS, "python3 coilbench")
    assert as_started(ADVICE) == "`python3 coilbench bin list` shows the names"
    assert str(InputProblem("no motor", remedy=ADVICE)) == f"no motor; {as_started(ADVICE)}"
    assert as_started("coilbench windings --ask") == "python3 coilbench windings --ask"
    for left in ("this coilbench knows schema 3", "/home/me/coilbench bin", "your coilbench"):
        assert as_started(left) == left


@pytest.mark.parametrize(
    ("program", "on_path", "said"),
    [
        ("/tools/coilbench/__main__.py", False, "python3 -m coilbench"),
        (".venv/bin/coilbench", False, ".venv/bin/coilbench"),
        (".venv/bin/coilbench", True, "coilbench"),
        ("pytest", False, "coilbench"),
    ],
)
def test_without_word_from_the_checkout_the_program_tells(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, program: str, on_path: bool, said: str
) -> None:
    monkeypatch.delenv(STARTED_AS, raising=False)
    monkeypatch.setattr(sys, "argv", [program])
    monkeypatch.setenv("PATH", str(tmp_path))
    if on_path:
        (tmp_path / "coilbench").touch(mode=0o755)
    assert as_started(ADVICE) == f"`{said} bin list` shows the names"
