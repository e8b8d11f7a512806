"""What may go into the bin: names, leads and ohms as people or files give them."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Collection, Sequence
from itertools import count

from coilbench.errors import InputProblem
from coilbench.plain_text import is_plain
from coilbench.winding.readings.reading import FRAME, MOST_LEADS, PROBES

LONGEST_NAME = 80


def checked_name(name: str, what: str = "a motor's name") -> str:
    """``name`` trimmed and in one Unicode form. Raises InputProblem for an empty, long or unprintable one."""
    tidy = unicodedata.normalize("NFC", name).strip()
    if not tidy or len(tidy) > LONGEST_NAME or not is_plain(tidy):
        raise InputProblem(f"{shown(name)} can't be {what}, expected 1 to {LONGEST_NAME} printable characters")
    return tidy


def free_name(name: str, taken: Collection[str]) -> str:
    """``name``, or the first of ``name (2)``, ``name (3)`` and so on that is not taken."""
    for number in count(1):
        ending = f" ({number})" if number > 1 else ""
        free = name[: LONGEST_NAME - len(ending)] + ending
        if free not in taken:
            return free
    raise AssertionError("there is always a number")


def checked_leads(leads: Sequence[str]) -> tuple[str, ...]:
    """Lead names as given. Raises InputProblem when one is unfit, reserved or there twice, or there are too many."""
    if len(leads) > MOST_LEADS:
        raise InputProblem(f"{len(leads)} leads, expected at most {MOST_LEADS}")
    for place, lead in enumerate(leads):
        checked_name(lead, "a lead's name")
        if lead.strip() != lead:
            raise InputProblem(f"{shown(lead)} can't be a lead's name, expected no spaces around it")
        if lead in (FRAME, PROBES):
            raise InputProblem(f"{lead!r} is kept for the readings to the {lead}, expected another lead name")
        if lead in leads[:place]:
            raise InputProblem(f"lead {shown(lead)} is there twice, expected each lead once")
    return tuple(leads)


def check_ends(a: str, b: str, leads: Sequence[str]) -> None:
    """Raise InputProblem unless a reading may be between ``a`` and ``b``."""
    if a == b == PROBES:
        return
    if a == b:
        raise InputProblem(f"lead {shown(a)} against itself, expected two leads")
    for end in (a, b):
        if end not in leads and end != FRAME:
            raise InputProblem(f"{shown(end)} is no lead of this motor, expected one of {', '.join(leads) or 'none'}")


def checked_ohm(ohm: float) -> float | None:
    """Ohms as the bin keeps them: None for open. Raises InputProblem below zero and for nan."""
    if math.isnan(ohm) or ohm < 0:
        raise InputProblem(f"{ohm} ohm, expected zero or more, or open")
    return None if math.isinf(ohm) else float(ohm)


def shown(text: str) -> str:
    """``text`` in quotes for a message, cut when long."""
    return repr(text if len(text) <= 40 else text[:37] + "...")
