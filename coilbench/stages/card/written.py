"""Motors' cards, or their labels, as one text of any form, and in a file."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.records.files import MARKED_BYTES, holds, write_whole
from coilbench.records.store import Bin
from coilbench.stages.card.card import card_of
from coilbench.stages.card.html import cards_html, labels_html
from coilbench.stages.card.markdown import card_markdown
from coilbench.stages.card.state import BY_ENDING, MADE_BY, Card, Form, as_json
from coilbench.stages.card.text import card_text, label_text
from coilbench.stages.desk import desk_of

FILE_WIDTH = 80  # columns of a card that is written, not shown


def cards_written(cards: Sequence[Card], form: Form, *, label: bool, ascii: bool, width: int) -> str:
    """The text; ``label`` for the labels in place of the cards."""
    if form == "json":
        return json.dumps({"made_by": MADE_BY, "cards": [as_json(card) for card in cards]}, indent=1) + "\n"
    if form == "html":
        return labels_html([card.label for card in cards]) if label else cards_html(cards)
    if form == "markdown":
        return "\n".join(map(card_markdown, cards))
    texts = [label_text(each.label, ascii=ascii) if label else card_text(each, width, ascii=ascii) for each in cards]
    return "\n".join(texts)


def save_cards(bin: Bin, names: Sequence[str], path: Path, day: date) -> None:
    """Write the motors' cards, in the form that the file's ending tells. Raises InputProblem for another's file, and
    for one that can't be written."""
    if path.is_dir() or (path.is_file() and not holds(path, MADE_BY.encode(), MARKED_BYTES)):
        raise InputProblem(f"{path} is there already and no card of ours", remedy="choose another name")
    cards = [card_of(desk_of(bin, name), day) for name in names]
    form = BY_ENDING.get(path.suffix.lower(), "text")
    write_whole(path, cards_written(cards, form, label=False, ascii=False, width=FILE_WIDTH))
