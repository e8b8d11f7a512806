"""The tables of data-sheet motors, each row with its source."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

HERE = Path(__file__).parent


def _rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="session")
def motors() -> list[dict[str, str]]:
    """Motors with coil resistance and rated current, from makers' sheets and tables, the weak ones marked."""
    return _rows("motors.csv")


@pytest.fixture(scope="session")
def printed_connections() -> list[dict[str, str]]:
    """Motors whose papers print more than one connection."""
    return _rows("connections.csv")
