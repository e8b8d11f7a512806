"""The bin's list as a table: found as one types, sorted by a column, figures by their size."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from coilbench.stages.overview import Overview

TITLES = ("motor", "windings", "ohms", "current", "VREF", "rates", "verdict", "from")

Texts = dict[str, str]  # by their column's title
_SCALE = {"m": 1e-3, "k": 1e3, "M": 1e6}
_FIGURE = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?([mkM]?)(?![0-9])")


@dataclass(frozen=True, slots=True)
class MotorRow:
    """A motor's texts, and all words that it can be found by."""

    texts: Texts
    words: str = ""
    archived: bool = False

    @property
    def name(self) -> str:
        return self.texts["motor"]


def row_of(line: Overview) -> MotorRow:
    """The row of a line."""
    texts = (line.motor, line.found, line.ohms, line.current, line.vref, line.rates, line.verdict, line.note)
    return MotorRow(
        dict(zip(TITLES, texts, strict=True)), " ".join((*texts, line.more)).casefold(), archived=line.archived
    )


def found(rows: Sequence[MotorRow], wanted: str) -> list[MotorRow]:
    """The rows that have every word that is looked for."""
    words = wanted.casefold().split()
    return [row for row in rows if all(word in row.words for word in words)]


def ordered(rows: Sequence[MotorRow], title: str) -> list[MotorRow]:
    """By one column, figures by their size, what isn't known last; as they came for no column."""
    return sorted(rows, key=lambda row: _rank(row.texts[title])) if title else list(rows)


def _rank(text: str) -> tuple[bool, float, str]:
    match = _FIGURE.match(text)
    figure = float("inf") if match is None else float(match[1]) * _SCALE.get(match[2], 1.0)
    return (not text, figure, text.casefold())
