"""A motor's leads in words, and a motor begun with them."""

from __future__ import annotations

import re

from coilbench.errors import InputProblem
from coilbench.plain_text import inert
from coilbench.records.store import Bin
from coilbench.winding.readings.leads import lead_colour, parse_leads
from coilbench.winding.readings.reading import FRAME, PROBES


def lead_words(name: str) -> str:
    """A lead's name, with the colour's word where the name is a code, or the code where it is a word."""
    if name == FRAME:
        return "the motor's bare metal"
    if name == PROBES:
        return "the other probe's tip"
    if name.isdigit():
        return f"lead {name}"
    shown = inert(name)
    colour = lead_colour(name)
    if colour is None or colour.word is None or colour.code is None:
        return shown
    if name.upper() == colour.code.upper():
        return f"{shown} {colour.word}"
    return shown


def lead_short(name: str) -> str:
    """A lead in a list: its name, and words for the frame and the other probe."""
    return {FRAME: "case", PROBES: "probe"}.get(name, inert(name))


def lead_css(name: str) -> tuple[str, ...]:
    """The colours of a lead, as style sheets write them; none where the name has none."""
    colour = lead_colour(name) if name not in (FRAME, PROBES) else None
    return tuple(colour.css) if colour is not None else ()


def leads_in(text: str) -> tuple[str, ...]:
    """The leads that a text names or counts. Raises InputProblem."""
    return parse_leads(text)


def leads_read(text: str) -> str:
    """The same, read back in words."""
    leads = leads_in(text)
    return f"{len(leads)} leads: " + ", ".join(lead_words(lead) for lead in leads)


def begin_motor(bin: Bin, name: str, leads: str) -> str:
    """Begin a motor's record; return its name in the form the bin keeps. Raises InputProblem."""
    if not name.strip():
        raise InputProblem("the motor needs a name")
    return bin.add_motor(name.strip(), leads_in(leads)).name


def next_name(names: list[str]) -> str:
    """The next free name of the form M-08."""
    numbers = [int(found[1]) for name in names if (found := re.fullmatch(r"M-(\d+)", name))]
    return f"M-{max(numbers, default=0) + 1:02d}"
