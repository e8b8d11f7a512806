"""More of the same: cases that a short run leaves to the long one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest


def some(cases: Iterable[Any], *, of: Iterable[Any], rows: bool = False) -> list[Any]:
    """The cases, those that are not among ``of`` left to the long run; ``rows`` where a case is several arguments.

    Raises ValueError for one of ``of`` that is no case.
    """
    every, kept = list(cases), list(of)
    if unknown := [each for each in kept if each not in every]:
        raise ValueError(f"no cases: {unknown}")
    left = pytest.mark.long("more")
    return [each if each in kept else pytest.param(*(each if rows else (each,)), marks=left) for each in every]
