"""A card as Markdown (CommonMark with tables): what people typed is text in it, never markup."""

from __future__ import annotations

import re
from collections.abc import Sequence

from coilbench.plain_text import inert
from coilbench.stages.card.state import MADE_BY, Card

# Any ASCII punctuation may be escaped by a backslash (CommonMark 0.31.2: Backslash escapes). These begin something.
_MARKS = re.compile(r"([\\`*_\[\]<>&|#~!@^$])")
_PICTURE_WIDTH = 76


def card_markdown(card: Card) -> str:
    """The card as one Markdown document."""
    lines = [f"<!-- {MADE_BY} -->", f"# {_text(card.motor)}", "", f"{_text(card.kind)}, {card.day}", ""]
    for warning in card.warnings:
        lines += [f"> **Warning:** {_text(warning)}", ""]
    lines += [f"## {_text(card.drawn)}", ""]
    if card.picture is not None:
        drawing = card.picture.text(_PICTURE_WIDTH, listed=False).rstrip("\n")
        fence = "~" * max(3, 1 + max((len(run) for run in re.findall("~+", drawing)), default=0))
        lines += [f"{fence}text", drawing, fence, ""]
    leads = [(each.lead, each.colour, each.place or "not known", each.goes) for each in card.leads]
    lines += [*_table(("lead", "colour", "place", "goes to"), leads), ""]
    for part in card.sections:
        rows = [(each.name, each.says) for each in part.entries]
        lines += [f"## {_text(part.title)}", "", *_table(("", ""), rows), ""]
    lines += [f"- **caution:** {_text(each)}" for each in card.cautions]
    return "\n".join(lines).rstrip("\n") + "\n"


def _table(headers: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> list[str]:
    cells = [headers, ("---",) * len(headers), *(tuple(map(_text, row)) for row in rows)]
    return [f"| {' | '.join(row)} |" for row in cells]


def _text(text: str) -> str:
    """Text that stands for itself: no markup, no link made of an address."""
    return _MARKS.sub(r"\\\1", inert(text)).replace("://", r"\://")
