"""For every room's tests: what is left to the long run, and a line that says so."""

from __future__ import annotations

import gc
from collections import Counter
from itertools import count
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from tests import long_runs

_NUMBERS = count()
LEFT = pytest.StashKey[dict[str, int]]()


@pytest.fixture(autouse=True)
def no_bin_of_the_persons_own(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Commands take what is at the bench of the person's bin: no test sees that of whoever runs it."""
    monkeypatch.setenv("COILBENCH_BIN", str(tmp_path_factory.getbasetemp() / f"own-{next(_NUMBERS)}.bin"))


def pytest_configure(config: pytest.Config) -> None:
    # Looking for unreachable circles every 700 objects is a fourth of the time of the screens' tests.
    gc.set_threshold(50_000, 10, 10)
    # A busy machine is no fault of what is tested: nothing is timed.
    settings.register_profile("untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow])
    settings.load_profile("untimed")
    config.addinivalue_line("markers", "long(subject): left to the long run while the subject has not changed")
    config.stash[LEFT] = {}


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    due = long_runs.due()
    marks = {item: item.get_closest_marker("long") for item in items}
    left = [item for item, mark in marks.items() if mark and mark.args[0] not in due]
    if left:
        config.hook.pytest_deselected(items=left)
        items[:] = [item for item in items if item not in left]
    config.stash[LEFT] = dict(Counter(item.name.partition("[")[0] for item in left))


def pytest_collection_finish() -> None:
    """What stands before the first test stands to the end: no collection need look through it."""
    gc.freeze()


def pytest_sessionfinish(session: pytest.Session) -> None:
    """A worker hands over what it left: the process that writes the summary collects nothing itself. Nor is what the
    tests leave looked through five times more, as pytest does at its end."""
    gc.freeze()
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["left"] = session.config.stash[LEFT]


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    node.config.stash[LEFT] = getattr(node, "workeroutput", {}).get("left", {})


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    if left := config.stash[LEFT]:
        cases = ", ".join(f"{name} ({count})" for name, count in left.items())
        terminalreporter.write_line(f"left to the long run, COILBENCH_LONG=1: {cases}")
    if changed := long_runs.changed():
        subjects = " and ".join(sorted(changed))
        terminalreporter.write_line(f"{subjects} changed since the last long run: run python tests/long_runs.py")
