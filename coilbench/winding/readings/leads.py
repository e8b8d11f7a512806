"""The names of a motor's leads, and their colours."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

from coilbench.errors import InputProblem
from coilbench.plain_text import is_plain
from coilbench.winding.readings.reading import CASE, FRAME, MOST_LEADS, PROBES

LONGEST_NAME = 24
_HEX = re.compile(r"#[0-9a-f]{6}")
_WHOLE_NUMBER = re.compile(r"\d{1,9}")


@dataclass(frozen=True, slots=True)
class Colour:
    """A lead's colour: IEC 60757 code, English word and css colours; a striped lead has two of each.

    ``code`` and ``word`` are None where the name was a css colour itself.
    """

    code: str | None
    word: str | None
    css: tuple[str, ...]


@lru_cache(maxsize=1)
def _colours() -> dict[str, Colour]:
    text = resources.files("coilbench.winding.readings").joinpath("colours.csv").read_text(encoding="utf-8")
    found: dict[str, Colour] = {}
    for row in csv.DictReader(line for line in text.splitlines() if not line.startswith("#")):
        colour = Colour(row["code"], row["word"], (row["hex"],))
        for name in (row["code"], row["word"], *row["also"].split()):
            found[name.casefold()] = colour
    return found


def lead_colour(name: str) -> Colour | None:
    """The colour a lead's name stands for, or None: "RD", "red", "RD-2", "RD/WH", "red-white", "GNYE", "#d02020"."""
    known = _colours()
    plain = re.sub(r"-\d+$", "", name.strip()).casefold()
    if plain in known:
        return known[plain]
    if _HEX.fullmatch(plain):
        return Colour(None, None, (plain,))
    parts = [part for part in re.split(r"[/\-_ ]", plain) if part]
    if len(parts) == 1 and len(plain) == 4:
        parts = [plain[:2], plain[2:]]  # codes run together, as in GNYE
    if len(parts) == 2 and all(part in known for part in parts):
        base, stripe = (known[part] for part in parts)
        return Colour(f"{base.code}/{stripe.code}", f"{base.word}/{stripe.word}", base.css + stripe.css)
    return None


def parse_leads(text: str) -> tuple[str, ...]:
    """Lead names from what was typed: codes or words parted by spaces or commas, or a bare number of leads.

    Names of one colour are told apart by a number ("RD RD" gives RD-1, RD-2). Raises InputProblem for fewer than
    two or more than twelve leads, and for the reserved names ``frame``, ``case`` and ``probes``.
    """
    typed = text.strip()
    if _WHOLE_NUMBER.fullmatch(typed):
        return tuple(str(k + 1) for k in range(_count(int(typed))))
    separator = r"[,;\n]+" if re.search(r"[,;\n]", typed) else r"\s+"
    names = [" ".join(part.split()) for part in re.split(separator, typed)]
    names = [name for name in names if name]
    _count(len(names))
    for name in names:
        if name.casefold() in (FRAME, CASE, PROBES):
            raise InputProblem(f"{name!r} can't be a lead's name: it is reserved; give the lead another name")
        if len(name) > LONGEST_NAME:
            raise InputProblem(
                f"lead name {name[:LONGEST_NAME]!r}... is too long; expected {LONGEST_NAME} letters or fewer"
            )
        if not is_plain(name):
            raise InputProblem(f"lead name {name!r} has unprintable characters; expected a colour, word or number")
    return _unique(names)


def _count(leads: int) -> int:
    if not 2 <= leads <= MOST_LEADS:
        counted = "one lead" if leads == 1 else f"{leads} leads"
        raise InputProblem(f"{counted} given; expected 2 to {MOST_LEADS}, such as 'RD BU WH BK' or 6")
    return leads


def _unique(names: list[str]) -> tuple[str, ...]:
    """Number the names that occur more than once, stepping over names already taken."""
    often = {name.casefold() for name in names if [n.casefold() for n in names].count(name.casefold()) > 1}
    taken = {name.casefold() for name in names}
    result = []
    for name in names:
        if name.casefold() in often:
            number = 1
            while f"{name}-{number}".casefold() in taken:
                number += 1
            name = f"{name}-{number}"
            taken.add(name.casefold())
        result.append(name)
    return tuple(result)
