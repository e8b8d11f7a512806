"""Shared by the tests of the board's room."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any

import pytest

from coilbench.board.link.link import Link, open_link
from tests.firmware import rig

_BOARDS: list[Any] = ["virtual", "atmega328p", pytest.param("atmega2560", marks=pytest.mark.long("sketch"))]
if os.environ.get("COILBENCH_PORT"):  # a real helper board's port
    _BOARDS.append(pytest.param("hardware", marks=pytest.mark.hardware))


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
        rig.need_toolchain()
        with rig.open_simulated_board(request.param) as simulated:
            yield Link(simulated, request.param)
