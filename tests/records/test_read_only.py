"""A bin that may only be read: it can be looked at, and says what it is when something is to be written."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from coilbench.errors import CoilbenchError
from coilbench.records import writing
from coilbench.records.problems import BinReadOnly
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import Reading


@pytest.fixture(params=["file", "folder"])
def shut(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A bin whose file, or whose folder, may not be written; for root, who may write all, as the system would say."""
    folder = tmp_path / "shut"
    folder.mkdir()
    path = folder / "motors.db"
    with Bin.open(path) as bin_:
        bin_.add_motor("M-07", ["RD", "BU"])
    place = path if request.param == "file" else folder
    place.chmod(0o444 if request.param == "file" else 0o555)
    if os.geteuid() == 0:
        real = os.access
        monkeypatch.setattr(os, "access", lambda where, mode: real(where, mode) and Path(where) != place)
    yield path
    place.chmod(0o755)


def test_it_can_be_looked_at_and_refuses_to_be_written(shut: Path) -> None:
    with Bin.open(shut) as bin_:
        assert bin_.read_only and [motor.name for motor in bin_.motors()] == ["M-07"]
        assert not bin_.can_undo("M-07") and bin_.seen() >= 0
        with pytest.raises(BinReadOnly) as caught:
            writing.add_reading(bin_, "M-07", Reading("RD", "BU", 24.3))
        assert "may only be read" in str(caught.value) and "--bin" in caught.value.remedy
        assert bin_.readings("M-07") == []


def test_one_of_an_older_schema_is_refused_in_words(shut: Path) -> None:
    modes = [(place, place.stat().st_mode) for place in (shut, shut.parent)]
    for place, mode in modes:
        place.chmod(mode | 0o700)
    with contextlib.closing(sqlite3.connect(shut)) as connection:
        connection.execute("PRAGMA user_version = 2")
    for place, mode in modes:
        place.chmod(mode)
    with pytest.raises(CoilbenchError, match="older coilbench"):
        Bin.open(shut)


def test_an_ordinary_bin_is_not_read_only(tmp_path: Path) -> None:
    with Bin.open(tmp_path / "motors.db") as bin_:
        assert not bin_.read_only
