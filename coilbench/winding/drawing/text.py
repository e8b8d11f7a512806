"""The wiring drawing as terminal text, with box characters or in plain ASCII."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from coilbench.winding.drawing.model import DrawnCoil, DrawnLead, WiringDrawing

MIN_WIDTH = 34
_SURE_FROM = 0.9  # a lead less sure of its place carries a question mark
_COIL_NAME_COLUMNS = 3
_CORE_COLUMNS = 17  # the drawn wire and coil between two terminals


@dataclass(frozen=True, slots=True)
class _Pen:
    """The characters a drawing is made of."""

    wire: str
    turns: str
    dead: str
    shorted: str
    tee_down: str
    corner_top: str
    tee_left: str
    corner_bottom: str
    corner_foot: str
    side: str
    spare: str
    broken: str
    plus_minus: str
    ohm: str
    cut: str


_BOX = _Pen("─", "∿∿∿", "╳╳╳", "∿!∿", "┬", "┐", "┤", "┘", "└", "│", "○", "╳", "±", "Ω", "…")
_ASCII = _Pen("-", "mmm", "xxx", "m!m", "+", "+", "+", "+", "+", "|", "o", "x", "+/-", "ohm", "~")


def render_text(drawing: WiringDrawing, *, ascii: bool = False, width: int = 76, legend: bool = True) -> str:
    """The drawing as lines no wider than ``width`` columns (at least 34), without trailing blanks.

    ``legend`` adds the list of leads with colour and certainty below the drawing.
    """
    pen = _ASCII if ascii else _BOX
    width = max(width, MIN_WIDTH)
    label_columns = _label_columns(drawing, ascii, width)
    unsure = frozenset(lead.name for lead in drawing.leads if lead.certainty < _SURE_FROM)
    page = _Page(pen, ascii, width, label_columns, unsure)
    if drawing.shape == "star":
        page.star(drawing)
    elif drawing.shape == "ring":
        page.ring(drawing)
    elif drawing.shape == "inside":
        page.inside(drawing)
    else:
        for coil in drawing.coils:
            page.coil(coil)
    for coil in drawing.measured:
        page.coil(coil, remark=f"{ohms(coil.ohm, None, ascii=ascii)} measured")
    page.loose(drawing.loose)
    page.warnings_and_joins(drawing)
    if legend:
        page.legend(drawing.leads)
    return "\n".join(line.rstrip() for line in page.lines)


def plain(text: str, *, ascii: bool = False) -> str:
    """Text that typed characters can't escape from: no control characters, in ASCII mode nothing beyond ASCII."""
    safe = "".join(character if character.isprintable() else f"\\x{ord(character):02x}" for character in text)
    return safe.encode("ascii", "backslashreplace").decode("ascii") if ascii else safe


def cell_width(text: str) -> int:
    """Columns that a text takes on a terminal."""
    columns = 0
    for character in text:
        if unicodedata.combining(character) or unicodedata.category(character) in ("Mn", "Me", "Cf"):
            continue
        columns += 2 if unicodedata.east_asian_width(character) in ("W", "F") else 1
    return columns


def fit(text: str, columns: int, cut: str = "…") -> str:
    """The text cut or padded to exactly ``columns`` columns; a cut is shown."""
    if cell_width(text) > columns:
        kept = ""
        for character in text:
            if cell_width(kept + character) > columns - 1:
                break
            kept += character
        text = kept + cut
    return text + " " * (columns - cell_width(text))


def percent(probability: float) -> str:
    """A probability in words of whole percent, never rounded up to certainty."""
    if probability > 0.99:
        return ">99 %"
    if 0.0 < probability < 0.01:
        return "<1 %"
    return f"{int(probability * 100 + 1e-9)} %"


def ohms(ohm: float | None, ohm_sd: float | None, *, ascii: bool = False) -> str:
    """A resistance with its uncertainty, to the digit where the uncertainty starts."""
    pen = _ASCII if ascii else _BOX
    if ohm is None:
        return ""
    if ohm == float("inf"):
        return "open"
    if ohm_sd is None:
        return f"{ohm:.4g} {pen.ohm}"
    digits = 2 if ohm_sd < 0.095 else 1 if ohm_sd < 9.5 else 0
    return f"{ohm:.{digits}f} {pen.plus_minus}{ohm_sd:.{digits}f} {pen.ohm}"


def _label_columns(drawing: WiringDrawing, ascii: bool, width: int) -> int:
    longest = max(
        (cell_width(plain(lead.name, ascii=ascii)) + (lead.certainty < _SURE_FROM) for lead in drawing.leads),
        default=1,
    )
    room = (width - _COIL_NAME_COLUMNS - _CORE_COLUMNS - 2) // 2
    return max(1, min(longest, room, 16))


class _Page:
    """Lines of one drawing in the making."""

    def __init__(self, pen: _Pen, ascii: bool, width: int, label_columns: int, unsure: frozenset[str]) -> None:
        self.pen = pen
        self.ascii = ascii
        self.width = width
        self.label_columns = label_columns
        self.unsure = unsure
        self.lines: list[str] = []

    def label(self, lead: str | None) -> str:
        if lead is None:
            return fit("?", self.label_columns)
        name = plain(lead, ascii=self.ascii)
        if lead not in self.unsure:
            return fit(name, self.label_columns, self.pen.cut)
        room = min(cell_width(name), self.label_columns - 1)
        return fit(fit(name, room, self.pen.cut) + "?", self.label_columns)

    def short(self, lead: str) -> str:
        name = plain(lead, ascii=self.ascii)
        return fit(name, min(cell_width(name), self.width - 16), self.pen.cut)

    def with_remark(self, line: str, remark: str, indent: int = _COIL_NAME_COLUMNS) -> list[str]:
        """The line with its remark beside it, or below it where there is no room."""
        if not remark:
            return [line]
        if cell_width(line) + 2 + cell_width(remark) <= self.width:
            return [f"{line}  {remark}"]
        return [line, *_wrap(remark.split(" "), self.width, " " * indent, " ")]

    def turns(self, coil: DrawnCoil, *, second: bool = False) -> str:
        if coil.dead_second if second else coil.dead_first:
            return self.pen.dead
        shorted = coil.shorted_second if second else coil.shorted_first
        return self.pen.shorted if shorted else self.pen.turns

    def remark(self, coil: DrawnCoil) -> str:
        words = []
        if coil.dead:
            half = coil.tapped and not (coil.dead_first and coil.dead_second)
            words.append("one half open" if half else "open")
        if coil.ohm is not None and coil.ohm != float("inf"):
            words.append(ohms(coil.ohm, coil.ohm_sd, ascii=self.ascii))
        if coil.shorted:
            words.append("shorted turns?")
        if not coil.alive and not coil.dead:
            words.append("not measured yet")
        if coil.phase is not None:
            words.append(f"phase {coil.phase}")
        return ", ".join(word for word in words if word)

    def coil(self, coil: DrawnCoil, remark: str | None = None) -> None:
        wire, name = self.pen.wire, fit(coil.name, _COIL_NAME_COLUMNS - 1, self.pen.cut)
        if coil.tapped:
            core = (
                wire * 3
                + self.turns(coil)
                + wire * 2
                + self.pen.tee_down
                + wire * 2
                + self.turns(coil, second=True)
                + wire * 3
            )
        else:
            core = wire * 7 + self.turns(coil) + wire * 7
        line = f"{name} {self.label(coil.first)} {core} {self.label(coil.second)}"
        drawn = self.with_remark(line, self.remark(coil) if remark is None else remark)
        if coil.tapped:
            column = _COIL_NAME_COLUMNS + self.label_columns + 1 + 8
            drawn.insert(1, " " * column + self.label(coil.tap).rstrip())
        self.lines += drawn

    def star(self, drawing: WiringDrawing) -> None:
        wire = self.pen.wire
        for index, coil in enumerate(drawing.coils):
            name = fit(coil.name, _COIL_NAME_COLUMNS - 1, self.pen.cut)
            corner = self.pen.corner_top if index == 0 else self.pen.tee_left
            line = f"{name} {self.label(coil.first)} {wire * 3}{self.turns(coil)}{wire * 3}{corner}"
            self.lines += self.with_remark(line, self.remark(coil))
        foot = " " * (_COIL_NAME_COLUMNS + self.label_columns + 10) + self.pen.corner_foot + wire * 2
        room = self.width - cell_width(foot) - 9
        common = "?" if drawing.common is None else plain(drawing.common, ascii=self.ascii)
        common = fit(common, min(cell_width(common), room), self.pen.cut)
        self.lines.append(f"{foot} {common}  common")

    def ring(self, drawing: WiringDrawing) -> None:
        wire, pen = self.pen.wire, self.pen
        gap = " " * (self.label_columns - 1)
        for index, coil in enumerate(drawing.coils):
            joint = f"{pen.tee_down}{wire * 2}{pen.corner_top}" if index == 0 else f"{pen.tee_left}  {pen.side}"
            self.lines.append(f"{self.label(coil.first)} {wire * 2}{joint}")
            line = f"{gap}{coil.name}   {self.turns(coil)[0]}  {pen.side}"
            self.lines += self.with_remark(line, self.remark(coil))
        self.lines.append(" " * (self.label_columns + 3) + pen.corner_foot + wire * 2 + pen.corner_bottom)

    def inside(self, drawing: WiringDrawing) -> None:
        members = [lead for lead in drawing.leads if lead.state == "placed"]
        remarks = [f"{drawing.inside} inside"]
        if drawing.inside_ohm is not None:
            remarks.append(f"{ohms(drawing.inside_ohm, None, ascii=self.ascii)} between two")
        for index, lead in enumerate(members):
            corner = self.pen.tee_left
            if index == 0:
                corner = self.pen.corner_top
            elif index == len(members) - 1:
                corner = self.pen.corner_bottom
            line = f"{self.label(lead.name)} {self.pen.wire * 3}{corner}"
            remark = remarks[index] if index < len(remarks) else ""
            self.lines += self.with_remark(line, remark)

    def loose(self, leads: Iterable[DrawnLead]) -> None:
        ends = {
            "unknown": "?",
            "spare": f"{self.pen.spare} spare",
            "broken": f"{self.pen.broken} broken off",
            "dead": f"{self.pen.broken} dead: open to all",
        }
        pieces = [f"{self.short(lead.name)} {self.pen.wire * 2}{ends[lead.state]}" for lead in leads]
        if pieces and self.lines:
            self.lines.append("")
        self.lines += _wrap(pieces, self.width, "")

    def warnings_and_joins(self, drawing: WiringDrawing) -> None:
        on_frame = [self.short(lead.name) for lead in drawing.leads if lead.on_frame]
        if on_frame:
            text = f"! {', '.join(on_frame)} to the frame: do not power it"
            self.lines += _wrap(text.split(" "), self.width, "", " ", hanging="  ")
        for join in drawing.joins:
            self.lines += _wrap(
                [join.text, *_and([self.short(lead) for lead in join.leads])], self.width, "", " ", hanging="  "
            )
        if drawing.sequence:
            steps = [f"{index}:{self.short(lead)}" for index, lead in enumerate(drawing.sequence, 1)]
            self.lines += _wrap(["clockwise:", *steps], self.width, "", " ", hanging="  ")

    def legend(self, leads: Iterable[DrawnLead]) -> None:
        pieces = []
        for lead in leads:
            name = self.short(lead.name)
            colour = _colour_words(lead)
            certainty = "" if lead.state in ("unknown", "joined") else f" {percent(lead.certainty)}"
            if colour or certainty:
                pieces.append(f"{name}{colour}{certainty}")
        if pieces:
            self.lines += ["", *_wrap(pieces, self.width, "")]


def _colour_words(lead: DrawnLead) -> str:
    """What the name leaves unsaid: the colour's word beside a code, its code beside a word."""
    if lead.word is None or lead.code is None:
        return ""
    if lead.name.upper() == lead.code.upper():
        return f" {lead.word}"
    return f" {lead.code}" if lead.name.lower() == lead.word.lower() else f" {lead.word}"


def _and(names: list[str]) -> list[str]:
    return [*(f"{name}," for name in names[:-2]), *names[-2:-1], *(["and"] if len(names) > 1 else []), *names[-1:]]


def _wrap(pieces: list[str], width: int, indent: str, gap: str = "   ", hanging: str = "") -> list[str]:
    """Pieces set side by side, broken into lines between them; a piece too long for a line is cut into lines."""
    lines: list[str] = []
    current = indent
    fresh = True
    for piece in pieces:
        lead_in = "" if fresh else gap
        if cell_width(current + lead_in + piece) > width and not fresh:
            lines.append(current)
            current, lead_in = indent + hanging, ""
        while cell_width(current + lead_in + piece) > width:
            room = width - cell_width(current)
            head = fit(piece, room + 1, "")[:room]
            lines.append(current + head)
            piece, current, lead_in = piece[len(head) :], indent + hanging, ""
        current += lead_in + piece
        fresh = False
    if not fresh:
        lines.append(current)
    return lines
