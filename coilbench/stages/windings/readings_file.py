"""A file of readings: CSV with from,to,ohms; every problem told with file, line and value."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence

from coilbench.errors import InputProblem
from coilbench.plain_text import inert, is_plain
from coilbench.quantity import parse_reading
from coilbench.winding.readings.leads import LONGEST_NAME
from coilbench.winding.readings.reading import CASE, FRAME, MOST_LEADS, PROBES, Reading

COLUMNS = ("from", "to", "ohms")
MOST_BYTES = 256 * 1024  # more is some other file
_MOST_READINGS = 500
EXPECTED = "expected a CSV file with from,to,ohms"


def readings_in(
    text: str, shown: str, leads: Sequence[str] | None, range_ohm: float | None
) -> tuple[tuple[str, ...], list[Reading]]:
    """The leads (as given, or in order of appearance) and the readings of a file's text; ``shown`` is its name.

    Raises InputProblem for anything that isn't such a file.
    """
    rows = _rows(text, shown)
    found: list[str] = []
    readings = []
    for line, cells in rows:
        cells[:2] = (_spelled(cell, leads if leads is not None else found) for cell in cells[:2])
        reading = _reading(cells, f"{shown}, line {line}", range_ohm)
        for lead in (reading.a, reading.b):
            if lead in (FRAME, PROBES) or lead in found:
                continue
            if leads is not None and lead not in leads:
                raise InputProblem(
                    f"{shown}, line {line}: lead {_shown_name(lead)!r} is not among --leads, expected one of"
                    f" {', '.join(map(_shown_name, leads))}"
                )
            found.append(lead)
            if len(found) > MOST_LEADS:
                raise InputProblem(
                    f"{shown}, line {line}: {_shown_name(lead)!r} is lead 13, expected {MOST_LEADS} at most"
                )
        readings.append(reading)
        if len(readings) > _MOST_READINGS:
            raise InputProblem(f"{shown}, line {line}: more than {_MOST_READINGS} readings of one motor, {EXPECTED}")
    names = tuple(leads) if leads is not None else tuple(found)
    if not readings:
        raise InputProblem(f"{shown}: no readings in it, {EXPECTED}")
    if len(names) < 2:
        raise InputProblem(f"{shown}: only {len(names)} lead in it, expected two or more")
    return names, readings


def _shown_name(text: str) -> str:
    """A name as it can stand in a one-line message: no control characters, not endless."""
    safe = inert(text)
    return safe if len(safe) <= 60 else safe[:59] + "…"


def _rows(text: str, shown: str) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells from, to, ohms of each reading; comments, blank lines and the header left out."""
    lines = text.splitlines()
    first = next((line for line in lines if line.strip() and not line.lstrip().startswith("#")), "")
    separator = ";" if ";" in first and "," not in first.split(";")[0] else ","
    places: list[int] | None = None
    headed = False
    for number, line in enumerate(lines, 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        try:
            cells = [cell.strip() for cell in next(csv.reader([line], delimiter=separator, strict=True))]
        except (csv.Error, StopIteration) as problem:
            raise InputProblem(f"{shown}, line {number}: {problem}, {EXPECTED}") from None
        if places is None:
            places = _places(cells, f"{shown}, line {number}")
            headed = places is not None
            if headed:
                continue
            places = [0, 1, 2]
        if len(cells) <= max(places):
            raise InputProblem(f"{shown}, line {number}: {len(cells)} column(s) where three are needed, {EXPECTED}")
        if not headed and any(cells[3:]):
            raise InputProblem(
                f"{shown}, line {number}: {len(cells)} columns, expected three: from,to,ohms"
                " (a number with a decimal comma goes in quotes)"
            )
        yield number, [cells[place] for place in places]


def _places(cells: list[str], where: str) -> list[int] | None:
    """Where a header has the three columns; None for a line that is no header."""
    words = [cell.lower() for cell in cells]
    if not set(words) & set(COLUMNS) or (len(words) == 3 and _is_reading(words[2])):
        return None
    missing = [column for column in COLUMNS if column not in words]
    if missing:
        raise InputProblem(f"{where}: column {' and '.join(missing)} missing, expected from,to,ohms")
    return [words.index(column) for column in COLUMNS]


def _is_reading(text: str) -> bool:
    try:
        parse_reading(text)
    except InputProblem:
        return False
    return True


def _reading(cells: list[str], where: str, range_ohm: float | None) -> Reading:
    a, b = cells[:2]
    if not a or not b:
        raise InputProblem(f"{where}: a lead's name is missing, expected from,to,ohms")
    for name in (a, b):
        if len(name) > LONGEST_NAME or not is_plain(name):
            raise InputProblem(
                f"{where}: {_shown_name(name)!r} is no lead's name, expected at most {LONGEST_NAME} printable letters"
            )
    if PROBES in (a, b) and a != b:
        raise InputProblem(f"{where}: the probes go together, expected probes,probes,ohms")
    if a == b and a != PROBES:
        raise InputProblem(f"{where}: {_shown_name(a)!r} against itself, expected two leads")
    try:
        ohm = parse_reading(cells[2])
    except InputProblem as problem:
        raise InputProblem(f"{where}: {problem}") from None
    return Reading(a, b, ohm, range_ohm)


def _spelled(cell: str, known: Sequence[str]) -> str:
    """A lead's name as it was written first: letter case alone makes no new lead."""
    if cell in known:
        return cell
    written = next((lead for lead in (*known, FRAME, CASE, PROBES) if lead.casefold() == cell.casefold()), cell)
    return FRAME if written == CASE and CASE not in known else written
