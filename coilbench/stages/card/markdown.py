"""A card as Markdown (CommonMark with tables): what people typed is text in it, never markup."""

from __future__ import annotations

import re
from collections.abc import Sequence

from coilbench.plain_text import in_markdown
from coilbench.stages.card.state import MADE_BY, Card

PICTURE_WIDTH = 76


def card_markdown(card: Card) -> str:
    """The card as one Markdown document."""
    lines = [f"<!-- {MADE_BY} -->", f"# {in_markdown(card.motor)}", "", f"{in_markdown(card.kind)}, {card.day}", ""]
    for warning in card.warnings:
        lines += [f"> **Warning:** {in_markdown(warning)}", ""]
    lines += [f"## {in_markdown(card.drawn)}", ""]
    if card.picture is not None:
        lines += [*fenced(card.picture.text(PICTURE_WIDTH, listed=False)), ""]
    leads = [(each.lead, each.colour, each.place or "not known", each.goes) for each in card.leads]
    lines += [*table(("lead", "colour", "place", "goes to"), leads), ""]
    for part in card.sections:
        rows = [(each.name, each.says) for each in part.entries]
        lines += [f"## {in_markdown(part.title)}", "", *table(("", ""), rows), ""]
    lines += [f"- **caution:** {in_markdown(each)}" for each in card.cautions]
    return "\n".join(lines).rstrip("\n") + "\n"


def fenced(drawing: str) -> list[str]:
    """Lines that stand as they are."""
    drawing = drawing.rstrip("\n")
    fence = "~" * max(3, 1 + max((len(run) for run in re.findall("~+", drawing)), default=0))
    return [f"{fence}text", drawing, fence]


def table(headers: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """A table, its cells' texts as typed."""
    cells = [tuple(headers), ("---",) * len(headers), *(tuple(map(in_markdown, row)) for row in rows)]
    return [f"| {' | '.join(row)} |" for row in cells]
