"""Shared by the tests of the board's room."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def corpus() -> ModuleType:
    """The module that makes corpus.csv."""
    spec = importlib.util.spec_from_file_location("board_corpus", Path(__file__).with_name("corpus.py"))
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
