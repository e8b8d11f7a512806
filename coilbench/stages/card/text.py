"""A card and a label on plain lines, for a terminal, a pipe, a tape printer."""

from __future__ import annotations

from coilbench.plain_text import inert
from coilbench.stages.card.state import MADE_BY, Card, Label
from coilbench.winding.drawing.figures import cell_width, plain, wrapped

TAPE_WIDTH = 40
_IN_ASCII = str.maketrans({"Ω": "ohm", "±": "+/-", "°": " deg", "·": "-", "−": "-", "²": "2", "µ": "u", "…": "..."})


def card_text(card: Card, width: int, *, ascii: bool = False) -> str:
    """The card in lines of at most ``width`` columns, ending with a line end."""
    lines = [f"{inert(card.motor)}: {inert(card.kind)}", f"{card.day}, {MADE_BY}"]
    for warning in card.warnings:
        lines += ["", *wrapped(f"! {inert(warning)}", width)]
    lines += ["", inert(card.drawn)]
    if card.picture is not None:
        lines += ["", *card.picture.text(width, ascii=ascii, listed=False).rstrip("\n").splitlines()]
    lines += ["", *_lead_table(card)]
    for part in card.sections:
        lines += ["", inert(part.title)]
        room = max(cell_width(each.name) for each in part.entries)
        for each in part.entries:
            lines += hung(each.name, each.says, room, width)
    if card.cautions:
        lines += ["", *(line for each in card.cautions for line in wrapped(f"caution: {inert(each)}", width))]
    return finished(lines, ascii=ascii)


def label_text(label: Label, *, ascii: bool = False) -> str:
    """The label in lines of at most ``TAPE_WIDTH`` columns: name, leads, current, what to set."""
    lines = wrapped(f"{inert(label.motor)}, {inert(label.kind)}", TAPE_WIDTH, "")
    if label.stop:
        lines += wrapped(f"! {inert(label.stop)}", TAPE_WIDTH)
    lines += _side_by_side([f"{inert(goes or '?')} {inert(lead)}" for lead, goes in label.leads])
    lines += [line for figure in label.figures for line in wrapped(inert(figure), TAPE_WIDTH)]
    return finished([*lines, f"{label.day}, {MADE_BY}"], ascii=ascii)


def _side_by_side(texts: list[str]) -> list[str]:
    """As many on a line as fit there, two spaces apart."""
    lines: list[str] = []
    for text in texts:
        if lines and cell_width(lines[-1]) + 2 + cell_width(text) <= TAPE_WIDTH:
            lines[-1] += f"  {text}"
        else:
            lines += wrapped(text, TAPE_WIDTH)
    return lines


def _lead_table(card: Card) -> list[str]:
    rows = [("lead", "colour", "place", "goes to")]
    rows += [(inert(each.lead), each.colour, each.place or "not known", inert(each.goes)) for each in card.leads]
    widths = [max(cell_width(row[column]) for row in rows) for column in range(4)]
    return [
        "  ".join(cell + " " * (width - cell_width(cell)) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]


def hung(name: str, says: str, room: int, width: int) -> list[str]:
    """An entry whose later lines stand under the first word of its text."""
    lines = wrapped(inert(says), max(12, width - room - 4), "")
    names = [name, *[""] * (len(lines) - 1)]
    return [f"  {each:<{room}}  {line}" for each, line in zip(names, lines, strict=True)]


def finished(lines: list[str], *, ascii: bool) -> str:
    """The lines as one text, without blanks at their ends."""
    if ascii:
        lines = [plain(line.translate(_IN_ASCII), ascii=True) for line in lines]
    return "\n".join(line.rstrip() for line in lines) + "\n"
