"""The rows of a wiring drawing as SVG: one self-contained picture, every typed text escaped."""

from __future__ import annotations

from unicodedata import east_asian_width
from xml.sax.saxutils import escape

from coilbench.winding.drawing.contrast import readable_on
from coilbench.winding.drawing.figures import plain
from coilbench.winding.drawing.strip import APART, Row, Strip

_ROW, _TOP = 30, 26
_DOCK, _TERMINAL, _UPRIGHT, _WIDTH = 70.0, 210, 290, 640
_JOINED = 40  # from the dock to the wire that joins leads
_RUN = (_TERMINAL + 9, _UPRIGHT)
_INK, _FAULT, _FAINT, _PAPER = "#1a1a1a", "#b00020", "#5c5c5c", "#ffffff"
_LONGEST = 14
_OTHER = {"#000000": "#ffffff", "#ffffff": "#000000"}


def strip_svg(strip: Strip, title: str = "Wiring drawing") -> str:
    """The drawing as a complete SVG document (UTF-8 text, no scripts, no outside references)."""
    page = _Page(strip)
    for index, row in enumerate(strip.rows):
        page.row(row, _TOP + index * _ROW)
    below = _TOP + len(strip.rows) * _ROW
    for index, sentence in enumerate(strip.sentences):
        colour = _FAULT if sentence.startswith("!") else _INK
        page.text(24, below + index * 24, sentence, colour=colour)
    if strip.rotor:
        page.rotor(_TOP + (len(strip.rows) - 1) * _ROW / 2)
    height = below + len(strip.sentences) * 24 + 4
    left = page.left
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{left:g} 0 {_WIDTH - left:g} {height}"'
        f' width="{_WIDTH - left:g}" height="{height}"'
        ' role="img" font-family="sans-serif" font-size="15">\n'
        f"<title>{escape(plain(title))}</title>\n"
        f'<rect x="{left:g}" width="{_WIDTH - left:g}" height="{height}" fill="{_PAPER}"/>\n'
        + "\n".join(page.parts)
        + "\n</svg>\n"
    )


class _Page:
    def __init__(self, strip: Strip) -> None:
        self.parts: list[str] = []
        self.rows = strip.rows
        self.dock = _dock(strip)
        self._upright_from: float | None = None
        self._bracket_from: float | None = None
        self._bracket_to = 0.0
        self._back_from: float | None = None

    @property
    def left(self) -> float:
        """Where the picture begins: at 0, or left of that where words need more room."""
        words = [_text_width(row.to) for row in self.rows if row.to and row.to != APART]
        return min(0.0, self.dock - 18 - max(words, default=0.0))

    def text(
        self, x: float, y: float, words: str, *, anchor: str = "start", colour: str = _INK, halo: str = ""
    ) -> None:
        words = plain(words)
        words = words if len(words) <= 70 else words[:69] + "…"
        edge = f' paint-order="stroke" stroke="{halo}" stroke-width="3" stroke-linejoin="round"' if halo else ""
        self.parts.append(
            f'<text x="{x}" y="{y + 5}" text-anchor="{anchor}" fill="{colour}"{edge}>{escape(words)}</text>'
        )

    def wire(self, *points: tuple[float, float], colour: str = _INK, width: float = 2) -> None:
        path = " ".join(f"{x},{y}" for x, y in points)
        self.parts.append(f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="{width}"/>')

    def row(self, row: Row, y: float) -> None:
        self._goes(row, y)
        if row.terminal:
            self._lead(row, y)
        self._upright(row, y)
        words = "  ".join(each for each in (row.name, row.remark) if each)
        if words:
            beside = _UPRIGHT + 22 + 40 * bool(row.back)
            colour = _FAULT if row.fault else _INK
            self.text(_UPRIGHT - 20 if row.node == "loose" else beside, y, words, colour=colour)

    def _goes(self, row: Row, y: float) -> None:
        """Where the lead goes, and the bracket that joins it to others."""
        if row.to == APART:
            self.text(self.dock + 20, y, "apart, insulated", colour=_FAINT, anchor="middle")
        elif row.to:
            self.text(self.dock - 14, y, row.to, anchor="end")
            self.parts.append(f'<rect x="{self.dock - 6:g}" y="{y - 6}" width="12" height="12" fill="{_INK}"/>')
            self.wire((self.dock + 6, y), (_label_left(row), y))
        x = self.dock + _JOINED
        if row.bracket == "top":
            self._bracket_from, self._bracket_to = y, _label_left(row)
        elif row.bracket == "bottom" and self._bracket_from is not None:
            top, self._bracket_from = self._bracket_from, None
            self.wire((self._bracket_to, top), (x, top), (x, y), (_label_left(row), y))

    def _lead(self, row: Row, y: float) -> None:
        """The lead's name on its colour, its terminal, and what lies between that and the upright wire."""
        lead = row.lead
        name, left = _label(row), _label_left(row)
        width = _TERMINAL - 14 - left
        css = lead.css if lead is not None else ()
        for place, colour in enumerate(css[:2]):
            share = width / len(css[:2])
            self.parts.append(
                f'<rect x="{left + place * share}" y="{y - 11}" width="{share}" height="22" fill="{escape(colour)}"/>'
            )
        self.parts.append(
            f'<rect x="{left}" y="{y - 11}" width="{width}" height="22" rx="3" fill="none" stroke="{_INK}"/>'
        )
        # Edged in the other of the two: a printer without colours makes its own grey of each.
        ink = readable_on(css)
        self.text(left + width / 2, y, name, anchor="middle", colour=ink, halo=_OTHER[ink] if css else "")
        fill = _INK if lead is not None else _PAPER
        self.parts.append(f'<circle cx="{_TERMINAL}" cy="{y}" r="6" fill="{fill}" stroke="{_INK}" stroke-width="2"/>')
        if row.node == "loose":
            self.wire((_RUN[0], y), (_RUN[0] + 30, y))
            return
        self.wire((_RUN[0] - 3, y), (_RUN[1], y))
        if row.run:
            self._turns(_RUN[0] + 12, y, row)

    def _turns(self, x: float, y: float, row: Row, *, upright: bool = False) -> None:
        """A winding: from x to the right, or upright down from y; crossed when open, struck when shorted."""
        kind, length = row.run or row.winding, _ROW * 2 - 12 if upright else 48
        loops, radius = 4, length / 8
        arcs = "".join(f"a{radius},{radius} 0 0 1 {2 * radius},0 " for _ in range(loops))
        colour = _INK if kind == "turns" else _FAULT
        turn = f' transform="rotate(90 {x} {y})"' if upright else ""
        self.parts.append(f"<g{turn}>")
        # The wire drawn before runs straight through: rub it out where the winding is.
        self.parts.append(f'<path d="M{x},{y} h{length}" stroke="{_PAPER}" stroke-width="4"/>')
        self.parts.append(f'<path d="M{x},{y} {arcs}" fill="none" stroke="{colour}" stroke-width="2.5"/>')
        if kind == "dead":
            self.wire((x + 8, y - 16), (x + length - 8, y + 12), colour=_FAULT)
            self.wire((x + 8, y + 12), (x + length - 8, y - 16), colour=_FAULT)
        elif kind == "shorted":
            self.wire((x + 8, y + 5), (x + length - 8, y + 5), colour=_FAULT)
        self.parts.append("</g>")

    def _upright(self, row: Row, y: float) -> None:
        """The wire that the leads of one winding, or one star, share; and a ring's way back."""
        if row.node == "top":
            self._upright_from = y
        if row.winding:
            self.wire((_UPRIGHT, y - _ROW), (_UPRIGHT, y + _ROW))
            self._turns(_UPRIGHT, y - _ROW + 6, row, upright=True)
        elif row.node in ("tee", "bottom") and self._upright_from is not None and not self._after_winding(y):
            self.wire((_UPRIGHT, y - _ROW), (_UPRIGHT, y))
        if row.back == "start":
            self._back_from = y
            self.wire((_UPRIGHT, y), (_UPRIGHT + 40, y))
        elif row.back == "end" and self._back_from is not None:
            self.wire((_UPRIGHT, y), (_UPRIGHT + 40, y), (_UPRIGHT + 40, self._back_from))

    def _after_winding(self, y: float) -> bool:
        index = round((y - _TOP) / _ROW) - 1
        return index >= 0 and bool(self.rows[index].winding)

    def rotor(self, y: float) -> None:
        """The rotor beside its phases."""
        x = _WIDTH - 80
        self.parts.append(f'<circle cx="{x}" cy="{y}" r="42" fill="none" stroke="{_FAINT}" stroke-width="2"/>')
        self.parts.append(f'<circle cx="{x}" cy="{y}" r="6" fill="{_FAINT}"/>')
        self.text(x, y + 22, "rotor", anchor="middle", colour=_FAINT)


def _label(row: Row) -> str:
    name = plain(row.lead.name) if row.lead is not None else "?"
    return name if len(name) <= _LONGEST else name[: _LONGEST - 1] + "…"


def _label_left(row: Row) -> float:
    return _TERMINAL - 14 - max(26.0, _text_width(_label(row)) + 10)


def _dock(strip: Strip) -> float:
    """Where leads end: far enough from the longest name for the wire that joins leads to stand between."""
    return min(_DOCK, min((_label_left(row) for row in strip.rows if row.terminal), default=_DOCK) - _JOINED - 10)


def _text_width(words: str) -> float:
    """About how wide a text of 15 px comes out, rather too much than too little."""
    return sum(16.0 if east_asian_width(each) in "WF" else 13.5 if each in "mwMW@%" else 9.0 for each in words)
