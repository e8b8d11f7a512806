"""The bench in a scratch home: its own bin and settings, nothing that moves by itself."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
from textual.pilot import Pilot

from coilbench.records.config import Config
from coilbench.ui.app import BenchApp

Settle = Callable[[Pilot[int]], Awaitable[None]]


@pytest.fixture(autouse=True)
def scratch_home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("COILBENCH_BIN", str(tmp_path / "own.bin"))
    monkeypatch.setenv("COILBENCH_CONFIG", str(tmp_path / "config.toml"))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("TEXTUAL_ANIMATIONS", "none")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.delenv("TEXTUAL_THEME", raising=False)


@pytest.fixture
def demo_bench(tmp_path: Path) -> Callable[..., BenchApp]:
    """A bench on the demo's crate; the bin stays, so it can be opened again."""

    def build(**settings: object) -> BenchApp:
        return BenchApp(tmp_path / "demo.bin", demo=True, config=Config(**settings))  # type: ignore[arg-type]

    return build


@pytest.fixture
def own_bench(tmp_path: Path) -> Callable[..., BenchApp]:
    """A bench on an empty bin of one's own."""

    def build(**settings: object) -> BenchApp:
        return BenchApp(tmp_path / "own.bin", config=Config(**settings))  # type: ignore[arg-type]

    return build


@pytest.fixture
def settle() -> Settle:
    """Wait until workers and redraws are through."""

    async def wait(pilot: Pilot[int]) -> None:
        for _ in range(2):
            await pilot.app.workers.wait_for_complete()
            await pilot.pause()

    return wait
