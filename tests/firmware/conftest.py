"""Fixtures of the firmware room: the compiled sketch on both chips, in virtual time."""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest


def _load_rig() -> ModuleType:
    name = "coilbench_firmware_rig"
    if name in sys.modules:
        return sys.modules[name]
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name("rig.py"))
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def rig() -> ModuleType:
    """Toolchain, simulator and the plain host; skips (fails in CI) where the toolchain is missing."""
    module = _load_rig()
    module.need_toolchain()
    return module


@pytest.fixture(params=["atmega328p", "atmega2560"])
def chip_name(request: pytest.FixtureRequest) -> str:
    """Each test runs on both chips."""
    return str(request.param)


@pytest.fixture
def simulated_board(rig: ModuleType) -> Iterator[Callable[[str], Any]]:
    """``simulated_board(chip)`` opens a pyserial-like port with the sketch behind it."""
    with ExitStack() as stack:
        yield lambda chip: stack.enter_context(rig.open_simulated_board(chip))


@pytest.fixture
def host(rig: ModuleType, chip_name: str, simulated_board: Callable[[str], Any]) -> Any:
    """A greeted host on a fresh board."""
    return rig.Host(simulated_board(chip_name))
