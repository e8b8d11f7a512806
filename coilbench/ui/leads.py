"""A lead in words and colour: the colour is never the only sign."""

from __future__ import annotations

from textual.content import Content

from coilbench.winding.readings.leads import lead_colour
from coilbench.winding.readings.reading import FRAME, PROBES


def printable(text: str) -> str:
    """Text that can't move the cursor or break a line."""
    return "".join(character if character.isprintable() else "?" for character in text)


def lead_words(name: str) -> str:
    """A lead's name, with the colour's word where the name is a code, or the code where it is a word."""
    if name == FRAME:
        return "the motor's bare metal"
    if name == PROBES:
        return "the other probe's tip"
    if name.isdigit():
        return f"lead {name}"
    shown = printable(name)
    colour = lead_colour(name)
    if colour is None or colour.word is None or colour.code is None:
        return shown
    if name.upper() == colour.code.upper():
        return f"{shown} {colour.word}"
    return shown


def lead_content(name: str) -> Content:
    """The same with a swatch of the lead's colours before it."""
    colour = lead_colour(name) if name not in (FRAME, PROBES) else None
    words = Content(lead_words(name))
    if colour is None or not colour.css:
        return words
    blocks = [Content.styled("█" * (2 // len(colour.css[:2])), css) for css in colour.css[:2]]
    return Content.assemble("▕", *blocks, "▏", words)
