"""Rails of a computer's supply by the design guide: what each gives, and the load that it wants."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

from coilbench.errors import InputProblem

MOST_VOLT_AMPERE = 240.0  # each 12 V rail by itself (ATX12V Power Supply Design Guide 2.0: pages 13 to 16)
PEAK_SECOND = 17.0  # and not more than once a minute (same)


@dataclass(frozen=True, slots=True)
class Rail:
    """``most_ampere`` all the time, ``peak_ampere`` for ``PEAK_SECOND``; ``least_ampere`` is the load that an old one
    wants before it regulates: newer ones start with next to none (ATX 3.0 design guide, section 4.3.2)."""

    supply: str
    rail: str
    volt: float
    least_ampere: float
    most_ampere: float
    peak_ampere: float | None
    lowest_volt: float
    highest_volt: float
    source: str
    status: str


@cache
def rails() -> tuple[Rail, ...]:
    """The table beside this module."""
    text = (resources.files("coilbench.driver") / "computer_supplies.csv").read_text(encoding="utf-8")
    texts = {"supply", "rail", "source", "status"}
    rows = (
        {key: value if key in texts else float(value) if value else None for key, value in row.items()}
        for row in csv.DictReader(text.splitlines())
    )
    return tuple(Rail(**row) for row in rows)  # type: ignore[arg-type]


def rail_of(supply: str, rail: str) -> Rail:
    """A rail by the supply's size, such as 300 W, and its own name. Raises InputProblem that names the key."""
    sizes = dict.fromkeys(each.supply for each in rails())
    size = next((each for each in sizes if _plain(each) == _plain(supply)), None)
    if size is None:
        raise InputProblem(f"computer: {supply!r} is not in the design guide's tables, expected {', '.join(sizes)}")
    there = {_plain(each.rail): each for each in rails() if each.supply == size}
    found = there.get(_plain(rail))
    if found is None:
        names = ", ".join(each.rail for each in there.values())
        raise InputProblem(f"rail: {rail!r}, expected one of {names}" if rail else f"rail: missing, expected {names}")
    return found


def _plain(text: str) -> str:
    return "".join(text.upper().split())
