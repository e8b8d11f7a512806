"""Fixtures of the firmware room: the compiled sketch on both chips, in virtual time."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from typing import Any

import pytest

from tests.firmware import rig


@pytest.fixture(scope="session", autouse=True)
def has_toolchain() -> None:
    """Every test here needs it: skipped (failed in CI) where it is missing."""
    rig.need_toolchain()


@pytest.fixture(params=["atmega328p", pytest.param("atmega2560", marks=pytest.mark.long("sketch"))])
def chip_name(request: pytest.FixtureRequest) -> str:
    """The smaller chip; whenever the sketch has changed, the larger one too."""
    return str(request.param)


@pytest.fixture
def simulated_board() -> Iterator[Callable[[str], Any]]:
    """``simulated_board(chip)`` opens a pyserial-like port with the sketch behind it."""
    with ExitStack() as stack:
        yield lambda chip: stack.enter_context(rig.open_simulated_board(chip))


@pytest.fixture
def host(chip_name: str, simulated_board: Callable[[str], Any]) -> Any:
    """A greeted host on a fresh board."""
    return rig.Host(simulated_board(chip_name))
