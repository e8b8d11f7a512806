"""The wiring drawing as SVG: one self-contained picture, every typed text escaped."""

from __future__ import annotations

from xml.sax.saxutils import escape

from coilbench.winding.drawing.model import DrawnCoil, DrawnLead, WiringDrawing
from coilbench.winding.drawing.text import ohms, percent, plain

_ROW = 56
_LEFT = 150
_RIGHT = 470
_WIDTH = 640
_INK = "#222222"
_FAULT = "#b00020"
_FAINT = "#777777"


def render_svg(drawing: WiringDrawing) -> str:
    """The drawing as a complete SVG document (UTF-8 text, no scripts, no outside references)."""
    canvas = _Canvas({lead.name: lead for lead in drawing.leads})
    if drawing.shape == "star":
        _star(canvas, drawing)
    elif drawing.shape == "ring":
        _ring(canvas, drawing)
    elif drawing.shape == "inside":
        _inside(canvas, drawing)
    else:
        for coil in drawing.coils:
            _coil(canvas, coil)
    for coil in drawing.measured:
        _coil(canvas, coil)
    for lead in drawing.loose:
        _loose(canvas, lead)
    for line in _sentences(drawing):
        canvas.text(24, canvas.y, line, anchor="start", colour=_INK)
        canvas.y += 24
    height = canvas.y + 8
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {height}" width="{_WIDTH}" height="{height}"'
        ' role="img" font-family="sans-serif" font-size="15">\n'
        "<title>Wiring drawing</title>\n"
        f'<rect width="{_WIDTH}" height="{height}" fill="#ffffff"/>\n' + "\n".join(canvas.parts) + "\n</svg>\n"
    )


class _Canvas:
    def __init__(self, leads: dict[str, DrawnLead]) -> None:
        self.leads = leads
        self.parts: list[str] = []
        self.y = 40

    def text(self, x: float, y: float, words: str, *, anchor: str, colour: str) -> None:
        words = plain(words)
        words = words if len(words) <= 60 else words[:59] + "…"
        self.parts.append(f'<text x="{x}" y="{y + 5}" text-anchor="{anchor}" fill="{colour}">{escape(words)}</text>')

    def wire(self, *points: tuple[float, float], colour: str = _INK) -> None:
        path = " ".join(f"{x},{y}" for x, y in points)
        self.parts.append(f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="2"/>')

    def turns(
        self, x: float, y: float, *, dead: bool, shorted: bool, length: int = 60, upright: bool = False
    ) -> None:
        """A coil from x to x + length (upright: y to y + length); crossed out when dead, struck when shorted."""
        loops = 4
        radius = length / loops / 2
        arcs = "".join(f"a{radius},{radius} 0 0 1 {2 * radius},0 " for _ in range(loops))
        colour = _FAULT if dead or shorted else _INK
        if upright:
            self.parts.append(f'<g transform="rotate(90 {x} {y})">')
        # The wire drawn before runs straight through: rub it out where the coil is.
        self.parts.append(f'<path d="M{x},{y} h{length}" stroke="#ffffff" stroke-width="4"/>')
        self.parts.append(f'<path d="M{x},{y} {arcs}" fill="none" stroke="{colour}" stroke-width="2.5"/>')
        if dead:
            self.wire((x + 12, y - 20), (x + length - 12, y + 12), colour=_FAULT)
            self.wire((x + 12, y + 12), (x + length - 12, y - 20), colour=_FAULT)
        elif shorted:
            self.wire((x + 12, y + 4), (x + length - 12, y + 4), colour=_FAULT)
        if upright:
            self.parts.append("</g>")

    def terminal(self, x: float, y: float, lead: str | None, side: str) -> None:
        """A terminal with its name and colour word; ``side`` is where the words stand: left, right or below."""
        known = self.leads.get(lead) if lead is not None else None
        css = known.css if known is not None and known.css else ("#ffffff",)
        self.parts.append(
            f'<circle cx="{x}" cy="{y}" r="8" fill="{escape(css[0])}" stroke="{_INK}" stroke-width="1.5"/>'
        )
        if len(css) > 1:
            self.parts.append(f'<circle cx="{x}" cy="{y}" r="3.5" fill="{escape(css[1])}"/>')
        name = "?" if lead is None else lead
        name = name if len(name) <= 14 else name[:13] + "…"
        note = ""
        if known is not None:
            word = known.word if known.word and known.word.lower() != known.name.lower() else ""
            note = " ".join(part for part in (word, percent(known.certainty)) if part)
        if side == "below":
            self.text(x, y + 22, f"{name}  {note}", anchor="middle", colour=_INK)
            return
        anchor = "end" if side == "left" else "start"
        offset = -16 if side == "left" else 16
        self.text(x + offset, y - 7, name, anchor=anchor, colour=_INK)
        self.text(x + offset, y + 9, note, anchor=anchor, colour=_FAINT)


def _remark(coil: DrawnCoil) -> str:
    words = [coil.name]
    if coil.dead:
        words.append("open")
    if coil.ohm is not None and coil.ohm != float("inf"):
        words.append(ohms(coil.ohm, coil.ohm_sd))
    if coil.shorted:
        words.append("shorted turns?")
    if coil.phase:
        words.append(f"phase {coil.phase}")
    return "  ".join(words)


def _coil(canvas: _Canvas, coil: DrawnCoil) -> None:
    y = canvas.y
    middle = (_LEFT + _RIGHT) / 2
    canvas.wire((_LEFT, y), (_RIGHT, y), colour=_INK if not coil.dead else _FAINT)
    if coil.tapped:
        canvas.turns(_LEFT + 45, y, dead=coil.dead_first, shorted=coil.shorted_first)
        canvas.turns(_RIGHT - 105, y, dead=coil.dead_second, shorted=coil.shorted_second)
        canvas.wire((middle, y), (middle, y + 26))
        canvas.terminal(middle, y + 26, coil.tap, "below")
    else:
        canvas.turns(middle - 30, y, dead=coil.dead, shorted=coil.shorted)
    canvas.text(middle, y - 24, _remark(coil), anchor="middle", colour=_FAULT if coil.dead else _INK)
    canvas.terminal(_LEFT, y, coil.first, "left")
    canvas.terminal(_RIGHT, y, coil.second, "right")
    canvas.y += _ROW + (46 if coil.tapped else 16)


def _star(canvas: _Canvas, drawing: WiringDrawing) -> None:
    bus = _RIGHT - 90
    top = canvas.y
    for coil in drawing.coils:
        canvas.wire((_LEFT, canvas.y), (bus, canvas.y))
        canvas.turns(_LEFT + 90, canvas.y, dead=coil.dead, shorted=coil.shorted)
        canvas.text(_LEFT + 120, canvas.y - 24, _remark(coil), anchor="middle", colour=_INK)
        canvas.terminal(_LEFT, canvas.y, coil.first, "left")
        canvas.y += _ROW
    bottom = canvas.y - _ROW
    middle = (top + bottom) / 2
    canvas.wire((bus, top), (bus, bottom))
    canvas.wire((bus, middle), (_RIGHT, middle))
    canvas.terminal(_RIGHT, middle, drawing.common, "right")
    canvas.text(_RIGHT + 16, middle + 26, "common", anchor="start", colour=_FAINT)


def _ring(canvas: _Canvas, drawing: WiringDrawing) -> None:
    back = _RIGHT - 90
    top = canvas.y
    for coil in drawing.coils:
        canvas.wire((_LEFT, canvas.y), (_LEFT + 40, canvas.y))
        canvas.turns(_LEFT + 40, canvas.y, dead=coil.dead, shorted=coil.shorted, length=_ROW, upright=True)
        canvas.text(_LEFT + 62, canvas.y + _ROW / 2, _remark(coil), anchor="start", colour=_INK)
        canvas.terminal(_LEFT, canvas.y, coil.first, "left")
        canvas.y += _ROW
    canvas.wire((_LEFT + 40, canvas.y), (back, canvas.y), (back, top), (_LEFT + 40, top))
    canvas.y += 32


def _inside(canvas: _Canvas, drawing: WiringDrawing) -> None:
    members = [lead for lead in drawing.leads if lead.state == "placed"]
    top = canvas.y
    for lead in members:
        canvas.wire((_LEFT, canvas.y), (_LEFT + 120, canvas.y))
        canvas.terminal(_LEFT, canvas.y, lead.name, "left")
        canvas.y += 40
    bottom = canvas.y - 40
    canvas.parts.append(
        f'<rect x="{_LEFT + 120}" y="{top - 16}" width="230" height="{bottom - top + 32}" fill="none"'
        f' stroke="{_INK}" stroke-width="2"/>'
    )
    words = f"{drawing.inside} inside"
    if drawing.inside_ohm is not None:
        words += f", {ohms(drawing.inside_ohm, None)}"
    canvas.text(_LEFT + 235, (top + bottom) / 2, words, anchor="middle", colour=_INK)
    canvas.y += 8


def _loose(canvas: _Canvas, lead: DrawnLead) -> None:
    words = {"unknown": "?", "spare": "spare", "broken": "broken off", "dead": "dead: open to all"}[lead.state]
    colour = _FAULT if lead.state in ("broken", "dead") else _INK
    canvas.wire((_LEFT, canvas.y), (_LEFT + 70, canvas.y), colour=colour)
    canvas.terminal(_LEFT, canvas.y, lead.name, "left")
    canvas.text(_LEFT + 82, canvas.y, words, anchor="start", colour=colour)
    canvas.y += 40


def _sentences(drawing: WiringDrawing) -> list[str]:
    lines = []
    on_frame = [lead.name for lead in drawing.leads if lead.on_frame]
    if on_frame:
        lines.append(f"{', '.join(on_frame)} to the frame: do not power it")
    lines += [f"{join.text} {' and '.join(join.leads)}" for join in drawing.joins]
    if drawing.sequence:
        lines.append("clockwise: " + ", ".join(drawing.sequence))
    return lines
