"""Lines on drums: how far they stretch, and how tightly they may be bent."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

from coilbench.errors import InputProblem

_POUND_NEWTON = 4.4482216152605
_INCH_METRE = 0.0254


@dataclass(frozen=True)
class Line:
    """A wire rope's construction. ``stretch`` is the makers' factor G, see ``stretch_metre``; None where not printed.
    ``bend_usual`` and ``bend_least`` are drum over line diameter, as recommended and as the critical minimum."""

    construction: str
    stretch: float | None
    bend_usual: float | None
    bend_least: float | None
    source: str

    def stretch_metre(self, load_newton: float, line_metre: float, length_metre: float) -> float | None:
        """Elastic stretch under the load: per cent of the length = W G / D^2, in pounds and inches (the makers' own
        formula; a new line settles by up to 1 % more before it is stretched in)."""
        if self.stretch is None:
            return None
        percent = load_newton / _POUND_NEWTON * self.stretch / (line_metre / _INCH_METRE) ** 2
        return percent / 100 * length_metre


@cache
def lines() -> dict[str, Line]:
    """The table beside this module, by construction."""
    text = (resources.files("coilbench.motion.axis") / "lines.csv").read_text(encoding="utf-8")
    number = {"stretch", "bend_usual", "bend_least"}
    rows = [
        {key: (float(value) if value else None) if key in number else value for key, value in row.items()}
        for row in csv.DictReader(text.splitlines())
    ]
    return {str(row["construction"]): Line(**row) for row in rows}  # type: ignore[arg-type]


def line_of(construction: str) -> Line:
    """The line of that construction, such as 7x7. Raises InputProblem."""
    known = lines()
    tidy = construction.strip().lower().replace("×", "x").replace(" ", "")
    if tidy not in known:
        raise InputProblem(f"{construction!r} is no construction known here, expected one of {', '.join(known)}")
    return known[tidy]
