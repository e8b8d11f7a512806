"""The bench in a scratch home: its own bin and settings, nothing that moves by itself."""

from __future__ import annotations

import faulthandler
import importlib.util
import json
import signal
import sys
from collections.abc import Awaitable, Callable, Iterator
from itertools import count
from pathlib import Path
from types import FrameType, ModuleType
from typing import NoReturn

import pytest
from textual.pilot import Pilot

from coilbench.board.link.ports import PortChoice
from coilbench.records.config import Config
from coilbench.records.exchange import export_object, import_text
from coilbench.records.store import Bin
from coilbench.ui.app import BenchApp
from coilbench.ui.panes.base import StagePane

FREEZE_CPU_SECONDS = 20  # of the processor, however busy the machine is
FREEZE_SECONDS = 300  # by the clock: far beyond what the slowest machine needs

Settle = Callable[[Pilot[int]], Awaitable[None]]


@pytest.fixture(autouse=True)
def scratch_home(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    """Whatever a test has the bench save, its export can be imported; and no handler has failed unforeseen."""
    monkeypatch.setenv("COILBENCH_BIN", str(tmp_path / "own.bin"))
    monkeypatch.setenv("COILBENCH_CONFIG", str(tmp_path / "config.toml"))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("TEXTUAL_ANIMATIONS", "none")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.delenv("TEXTUAL_THEME", raising=False)
    yield
    if "faults_expected" not in request.fixturenames:
        assert not (log := tmp_path / "state" / "coilbench" / "faults.log").exists(), log.read_text()
    for path in (tmp_path / "demo.bin", tmp_path / "own.bin"):
        if path.is_file():
            with Bin.open(path) as left, Bin.open(tmp_path / f"copy of {path.name}") as copy:
                import_text(copy, json.dumps(export_object(left)))
                assert export_object(copy) == export_object(left)


def unhurried() -> Callable[[], float]:
    """A clock of a person who takes a minute for each thing."""
    return count(0.0, 60.0).__next__


@pytest.fixture
def demo_bench(tmp_path: Path) -> Callable[..., BenchApp]:
    """A bench on the demo's crate; the bin stays, so it can be opened again. No real ports, and a virtual board that
    takes no longer than reckoning does, unless ``virtual_options`` says otherwise."""

    def build(
        virtual_options: str = "clock=free", clock: Callable[[], float] | None = None, **settings: object
    ) -> BenchApp:
        config = Config(**settings)  # type: ignore[arg-type]
        return BenchApp(
            tmp_path / "demo.bin",
            demo=True,
            config=config,
            find_ports=list,
            virtual_options=virtual_options,
            clock=clock or unhurried(),
        )

    return build


@pytest.fixture
def own_bench(tmp_path: Path) -> Callable[..., BenchApp]:
    """A bench on an empty bin of one's own, with no ports but those that ``find_ports`` finds."""

    def build(find_ports: Callable[[], list[PortChoice]] = list, **settings: object) -> BenchApp:
        config = Config(**settings)  # type: ignore[arg-type]
        return BenchApp(tmp_path / "own.bin", config=config, find_ports=find_ports, clock=unhurried())

    return build


@pytest.fixture
def no_freeze() -> Iterator[Callable[[], None]]:
    """A loop that gives nothing else a turn, the end of the test included, fails the test in words; one that goes on
    even then ends the run and shows where it was. Gives what a long test calls on its way: it isn't frozen yet."""

    def frozen(signal_number: int, frame: FrameType | None) -> NoReturn:
        # The one kind of error that comes out of an event loop at once, whichever task is at work, and ends no run.
        raise SystemExit(f"nothing else had a turn for {FREEZE_CPU_SECONDS} s of the processor")

    def begin() -> None:
        faulthandler.dump_traceback_later(FREEZE_SECONDS, exit=True, file=sys.__stderr__)
        signal.setitimer(signal.ITIMER_VIRTUAL, FREEZE_CPU_SECONDS)

    before = signal.signal(signal.SIGVTALRM, frozen)
    begin()
    yield begin
    signal.setitimer(signal.ITIMER_VIRTUAL, 0)
    signal.signal(signal.SIGVTALRM, before)
    faulthandler.cancel_dump_traceback_later()


@pytest.fixture
def faults_expected(tmp_path: Path) -> Path:
    """The log of what nobody foresaw, of a test that makes it."""
    return tmp_path / "state" / "coilbench" / "faults.log"


@pytest.fixture
def settle() -> Settle:
    """Wait until workers and redraws are through, and what they worked out is shown."""

    async def wait(pilot: Pilot[int]) -> None:
        for _ in range(2):
            await pilot.app.workers.wait_for_complete()
            await pilot.pause()
        while any(pane.waiting for pane in pilot.app.screen.query(StagePane)):
            await pilot.app.workers.wait_for_complete()
            await pilot.pause()

    return wait


@pytest.fixture(scope="session")
def jog_pilot() -> ModuleType:
    """What the tests of the jog and order stages share: ``jog_pilot.py`` beside this file."""
    if "jog_pilot" not in sys.modules:
        spec = importlib.util.spec_from_file_location("jog_pilot", Path(__file__).with_name("jog_pilot.py"))
        assert spec is not None and spec.loader is not None
        sys.modules["jog_pilot"] = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(sys.modules["jog_pilot"])
    return sys.modules["jog_pilot"]
