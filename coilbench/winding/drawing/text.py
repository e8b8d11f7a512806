"""The rows of a wiring drawing as terminal text: styled pieces, box characters or plain ASCII."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from coilbench.winding.drawing.contrast import readable_on
from coilbench.winding.drawing.figures import cell_width, fit, percent, plain, wrapped
from coilbench.winding.drawing.model import DrawnLead
from coilbench.winding.drawing.strip import APART, Row, Strip

MIN_WIDTH = 30
SURE_FROM = 0.9  # a lead less sure of its place carries a question mark
_LONGEST_LABEL = 16
_LEAST_REMARK = 9  # columns kept for what is said of a winding; longer remarks go on below
_ROTOR_GAP = 3  # columns between the phases and the rotor
_LONGER_WIRE = 5  # columns, in a large drawing

Ink = Literal["wire", "lead", "goes", "strong", "faint", "fault"]


@dataclass(frozen=True, slots=True)
class Piece:
    """A run of characters in one style; ``css`` are a lead's colours, for ``lead`` alone."""

    text: str
    ink: Ink = "wire"
    css: tuple[str, ...] = ()

    @property
    def css_text(self) -> str:
        """Black or white, whichever reads better on the lead's colours."""
        return readable_on(self.css)


Line = tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class _Pen:
    """The characters a drawing is made of."""

    wire: str
    upright: str
    nodes: dict[str, str]
    windings: dict[str, str]
    runs: dict[str, str]
    terminal: str
    empty: str
    dock: str
    apart: str
    brackets: dict[str, str]
    backs: dict[str, str]
    cut: str
    rotor: tuple[str, ...]


_BOX = _Pen(
    wire="─", upright="│",
    nodes={"top": "╮", "tee": "┤", "bottom": "╯", "through": "┼", "straight": "│"},
    windings={"turns": "⊃", "dead": "╳", "shorted": "‡"},
    runs={"turns": "∿∿∿", "dead": "─╳─", "shorted": "∿‡∿", "": "───"},
    terminal="●", empty="○", dock="■", apart="╳",
    brackets={"top": "╭", "side": "│", "bottom": "╰"},
    backs={"start": "╮", "side": "│", "end": "╯"},
    cut="…", rotor=("╭───────╮", "│ rotor │", "╰───────╯"),
)  # fmt: skip
_ASCII = _Pen(
    wire="-", upright="|",
    nodes={"top": "+", "tee": "+", "bottom": "+", "through": "+", "straight": "|"},
    windings={"turns": ")", "dead": "x", "shorted": "!"},
    runs={"turns": "mmm", "dead": "-x-", "shorted": "m!m", "": "---"},
    terminal="o", empty="?", dock="#", apart="x",
    brackets={"top": ".", "side": "|", "bottom": "'"},
    backs={"start": "+", "side": "|", "end": "+"},
    cut="~", rotor=("+-------+", "| rotor |", "+-------+"),
)  # fmt: skip


def strip_lines(
    strip: Strip, *, width: int = 76, ascii: bool = False, rotor: bool = True, large: bool = False
) -> list[Line]:
    """The drawing in lines of at most ``width`` columns (30 at least); with longer wires where it is ``large``."""
    longer = _LONGER_WIRE if large else 0
    page = _Page(strip, max(width, MIN_WIDTH), _ASCII if ascii else _BOX, ascii, longer)
    lines = [line for row in strip.rows for line in page.row(row)]
    if rotor and strip.rotor:
        lines = page.with_rotor(lines)
    sentences = [line for text in strip.sentences for line in wrapped(plain(text, ascii=ascii), page.width)]
    if sentences and lines:
        lines.append(())
    lines += [(Piece(text, "fault" if text.startswith("!") else "strong"),) for text in sentences]
    return [_trimmed(line) for line in lines]


def as_text(lines: Sequence[Line]) -> str:
    """The same without style."""
    return "\n".join("".join(piece.text for piece in line).rstrip() for line in lines)


def lead_list(
    leads: Sequence[DrawnLead], *, width: int = 76, ascii: bool = False, how_sure: bool = True
) -> list[str]:
    """What the drawing leaves unsaid of its leads: the colour's word or code, and how sure each place is."""
    pieces = []
    for lead in leads:
        certainty = f" {percent(lead.certainty)}" if how_sure and lead.state not in ("unknown", "joined") else ""
        if lead.word or certainty:
            pieces.append(plain(f"{lead.name}{_other_name(lead)}{certainty}", ascii=ascii).replace(" ", "\0"))
    return [line.replace("\0", " ") for line in wrapped(",  ".join(pieces).replace(",  ", "  "), width, "")]


def _other_name(lead: DrawnLead) -> str:
    if lead.word is None or lead.code is None:
        return ""
    if lead.name.upper() == lead.code.upper():
        return f" {lead.word}"
    return f" {lead.code}" if lead.name.lower() == lead.word.lower() else f" {lead.word}"


def _trimmed(line: Line) -> Line:
    """Without blanks at the end that have no colour."""
    pieces = list(line)
    while pieces and pieces[-1].ink != "lead" and not pieces[-1].text.strip():
        pieces.pop()
    return tuple(pieces)


class _Page:
    """Columns, from left to right: where it goes, bracket, lead, terminal, wire, upright wire, remark."""

    def __init__(self, strip: Strip, width: int, pen: _Pen, ascii: bool, longer: int) -> None:
        self.width, self.pen, self.ascii, self.longer = width, pen, ascii, longer
        goes = [self._goes(row) for row in strip.rows if row.to]
        self.to_columns = min(max(map(cell_width, goes), default=0), width // 3)
        self.bracketed = any(row.bracket for row in strip.rows)
        self.has_runs = any(row.run for row in strip.rows)
        self.run_columns = (5 if self.has_runs else 3) + longer
        self.back_columns = 4 if any(row.back for row in strip.rows) else 0
        fixed = self.to_columns + 2 * bool(self.to_columns) + 2 * self.bracketed + 3 + self.run_columns
        room = width - fixed - self.back_columns - _LEAST_REMARK - 2
        leads = [row.lead for row in strip.rows if row.lead is not None]
        names = [plain(lead.name, ascii=ascii) + "?" * (lead.certainty < SURE_FROM) for lead in leads]
        longest = max(map(cell_width, names), default=1)
        self.label_columns = max(2, min(longest, room, _LONGEST_LABEL))
        self.upright_at = fixed + self.label_columns

    def _goes(self, row: Row) -> str:
        if row.to == APART:
            return f"apart {self.pen.apart}"
        return f"{plain(row.to.replace('−', '-') if self.ascii else row.to, ascii=self.ascii)} {self.pen.dock}"

    def row(self, row: Row) -> list[Line]:
        """The row, and what is said of it where there is no room beside it."""
        pieces = [*self._left(row), *self._right(row)]
        words = "  ".join(each for each in (row.name, row.remark) if each)
        if not words:
            return [tuple(pieces)]
        words = plain(words.replace("Ω", "ohm").replace("±", "+/-"), ascii=True) if self.ascii else plain(words)
        taken = sum(cell_width(piece.text) for piece in pieces)
        first, *more = wrapped(words, max(self.width - taken - 1, _LEAST_REMARK))
        ink: Ink = "fault" if row.fault else "strong"
        below = [self._below(row, line, ink) for line in more]
        return [(*pieces, Piece(" "), Piece(first, ink)), *below]

    def _below(self, row: Row, line: str, ink: Ink) -> Line:
        """A remark that goes on, with the upright wire running through where it does."""
        upright = self.pen.upright if row.winding or row.node in ("top", "tee") else " "
        gap = Piece(" " * self.upright_at + upright + " " * (1 + self.back_columns))
        return (gap, Piece(line.strip(), ink))

    def _left(self, row: Row) -> list[Piece]:
        """Where the lead goes, and the lead's name on its colour."""
        pieces: list[Piece] = []
        if self.to_columns:
            to = self._goes(row) if row.to else ""
            shown = fit(to, self.to_columns, self.pen.cut) if cell_width(to) > self.to_columns else to
            pad = " " * (self.to_columns - cell_width(shown))
            wire = "  " if not row.to or row.to == APART else self.pen.wire * 2
            pieces += [Piece(pad + shown, "faint" if row.to == APART else "goes"), Piece(wire)]
        if self.bracketed:
            glyph = self.pen.brackets.get(row.bracket, " ")
            pieces.append(Piece(glyph + (self.pen.wire if row.bracket in ("top", "bottom") else " ")))
        if not row.terminal:
            return [*pieces, Piece(" " * (self.label_columns + 3))]
        if row.lead is None:
            return [*pieces, Piece(f" {fit('?', self.label_columns)} ", "faint"), Piece(self.pen.empty)]
        name = plain(row.lead.name, ascii=self.ascii)
        if row.lead.certainty < SURE_FROM and row.node != "loose":
            name = fit(name, min(cell_width(name), self.label_columns - 1), self.pen.cut) + "?"
        label = Piece(f" {fit(name, self.label_columns, self.pen.cut)} ", "lead", row.lead.css)
        return [*pieces, label, Piece(self.pen.terminal, "strong")]

    def _right(self, row: Row) -> list[Piece]:
        """From the terminal to the upright wire, and the way back of a ring."""
        pen, back = self.pen, row.back
        if row.node == "loose":
            return [Piece(pen.wire * 2)]
        if row.terminal:
            run = fit(pen.wire + pen.runs[row.run] + pen.wire, 5) if self.has_runs else pen.wire * 3
            run = pen.wire * self.longer + run
            pieces = [Piece(run, "fault" if row.fault and row.run else "wire"), Piece(pen.nodes.get(row.node, " "))]
        else:
            mark = pen.windings.get(row.winding, pen.nodes.get(row.node, ""))
            pieces = [Piece(" " * self.run_columns), Piece(mark, "fault" if row.fault else "strong")]
        if self.back_columns and back:
            wire = pen.wire if back in ("start", "end") else " "
            node = "┬" if back == "start" and not self.ascii else "╰" if back == "end" and not self.ascii else None
            if node:
                pieces[-1] = Piece(node)
            pieces.append(Piece(f"{wire * 2}{pen.backs[back]}"))
        return pieces

    def with_rotor(self, lines: list[Line]) -> list[Line]:
        """The rotor beside the phases, where it hides nothing."""
        rotor = self.pen.rotor
        first = max((len(lines) - len(rotor)) // 2, 0)
        widths = [sum(cell_width(piece.text) for piece in line) for line in lines]
        at = max(widths, default=0) + _ROTOR_GAP
        if len(lines) < len(rotor) or at + cell_width(rotor[0]) > self.width:
            return lines
        for index, (text, taken) in enumerate(zip(rotor, widths[first : first + len(rotor)], strict=True), first):
            lines[index] = (*lines[index], Piece(" " * (at - taken)), Piece(text, "faint"))
        return lines
