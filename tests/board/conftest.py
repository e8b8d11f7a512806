"""Shared by the tests of the board's room."""

from __future__ import annotations

import importlib.util
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from coilbench.board.link.link import Link, open_link

HERE = Path(__file__).parent

_BOARDS: list[Any] = ["virtual", "atmega328p", "atmega2560"]
if os.environ.get("COILBENCH_PORT"):  # a real helper board's port
    _BOARDS.append(pytest.param("hardware", marks=pytest.mark.hardware))


def _module(name: str, path: Path) -> ModuleType:
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, path)
        assert spec is not None and spec.loader is not None
        sys.modules[name] = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(sys.modules[name])
    return sys.modules[name]


@pytest.fixture(scope="session")
def corpus() -> ModuleType:
    """The module that makes corpus.csv."""
    return _module("coilbench_board_corpus", HERE / "corpus.py")


@pytest.fixture(scope="session")
def talk() -> Callable[[Link], Any]:
    """``talk(link)``: a conversation with a board just reset."""
    made: Callable[[Link], Any] = _module("coilbench_board_talk", HERE / "talk.py").Talk
    return made


@pytest.fixture(scope="session")
def calibrate() -> ModuleType:
    """The module that measures the ten motors of physics."""
    return _module("calibrate", HERE / "calibrate.py")


@pytest.fixture(params=_BOARDS)
def any_link(request: pytest.FixtureRequest) -> Iterator[Link]:
    """A line to each kind of board there is, fresh from its reset."""
    if request.param == "virtual":
        link = open_link("virtual://bench?clock=free")
        yield link
        link.close()
    elif request.param == "hardware":
        link = open_link(os.environ["COILBENCH_PORT"])
        yield link
        link.close()
    else:
        rig = _module("coilbench_firmware_rig", HERE.parent / "firmware" / "rig.py")
        rig.need_toolchain()
        with rig.open_simulated_board(request.param) as simulated:
            yield Link(simulated, request.param)
