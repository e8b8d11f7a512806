"""A bin on a scratch file, with one motor."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from coilbench.records.store import Bin


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "crate" / "motors.db"


@pytest.fixture
def bin_(path: Path) -> Iterator[Bin]:
    with Bin.open(path) as opened:
        opened.add_motor("M-07", ["RD", "BU", "WH"])
        yield opened
