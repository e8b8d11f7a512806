"""One suite for every board: virtual, the compiled sketch in the simulator, and a real one (marked hardware).

Held to sketches/PROTOCOL.md; section numbers are that page's.
"""

from __future__ import annotations

from typing import Any

import pytest

from coilbench.board.link.link import Link
from tests.board.talk import Talk


@pytest.fixture
def board(any_link: Link) -> Any:
    """A greeted board."""
    made = Talk(any_link)
    made.yes("hello", protocol=1)
    return made


@pytest.fixture
def ready(board: Any) -> Any:
    """A greeted board with its outputs on."""
    board.yes("outputs", on=1)
    return board
