"""The wirings that the bench draws, as SVG for the sketch's README: the same lines, the same pins.

    python -m tests.board.drawings

writes them anew; a test holds them to what the bench draws.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from xml.sax.saxutils import escape

from coilbench.board.pins import PINS
from coilbench.board.session.wiring import clip_wiring, coil_wiring, driver_wiring
from coilbench.rating.coil_lines import CoilLines

FOLDER = Path(__file__).resolve().parents[2] / "sketches" / "bench_helper" / "drawings"
_CELL, _ROW, _EDGE = 9, 20, 12
_INK, _PAPER = "#1a1a1a", "#ffffff"
# Strokes of each drawing character in shares of its cell, from and to.
_STROKES = {
    "─": ((0, 0.5, 1, 0.5),),
    "│": ((0.5, 0, 0.5, 1),),
    "┬": ((0, 0.5, 1, 0.5), (0.5, 0.5, 0.5, 1)),
    "├": ((0.5, 0, 0.5, 1), (0.5, 0.5, 1, 0.5)),
    "└": ((0.5, 0, 0.5, 0.5), (0.5, 0.5, 1, 0.5)),
    "▸": ((0, 0.5, 1, 0.5), (0.3, 0.25, 1, 0.5), (0.3, 0.75, 1, 0.5)),
    "◂": ((0, 0.5, 1, 0.5), (0.7, 0.25, 0, 0.5), (0.7, 0.75, 0, 0.5)),
}
_LEADS = ("A", "B", "A'", "B'")
_TRIMMER = [
    "board          driver",
    "A0     ◂─1 k── reference pin, or the trimmer's wiper",
    "ground ─────── logic ground",
    "               logic supply on; RESET joined to SLEEP",
    "               motor unplugged",
]


def drawings() -> dict[str, str]:
    """Each drawing by its file's name."""
    ends, array = CoilLines(leads=_LEADS), CoilLines(leads=_LEADS, supply=("the motor's common",))
    clips = list(PINS["clips"].values())[:6]
    pictures: dict[str, tuple[str, Sequence[str]]] = {
        "driver": ("Board and step/direction driver", driver_wiring(PINS, ())),
        "array": ("Board and transistor array, motor with a common lead", coil_wiring(PINS, "array", array)),
        "bridge": ("Board and dual H-bridge, motor with four leads", coil_wiring(PINS, "bridge", ends)),
        "clips": ("Leads on clips, six of them", clip_wiring(clips, [f"lead {n}" for n in range(1, 7)])),
        "trimmer": ("Board and the trimmer of a driver", _TRIMMER),
    }
    return {f"{name}.svg": svg(title, lines) for name, (title, lines) in pictures.items()}


def svg(title: str, lines: Sequence[str]) -> str:
    """Lines of text and box-drawing characters as one picture: wires are strokes, whatever the font."""
    width = max(map(len, lines)) * _CELL + 2 * _EDGE
    height = len(lines) * _ROW + 2 * _EDGE
    parts = [part for row, line in enumerate(lines) for part in _row(line, _EDGE + row * _ROW)]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}"'
        f' role="img" font-family="monospace" font-size="15">\n<title>{escape(title)}</title>\n'
        f'<rect width="{width}" height="{height}" fill="{_PAPER}"/>\n' + "\n".join(parts) + "\n</svg>\n"
    )


def _row(line: str, top: int) -> list[str]:
    parts, word, began = [], "", 0
    for place, character in enumerate(f"{line}  "):
        strokes = _STROKES.get(character, ())
        for x1, y1, x2, y2 in strokes:
            x, y = _EDGE + place * _CELL, top
            ends = f'x1="{x + x1 * _CELL:g}" y1="{y + y1 * _ROW:g}" x2="{x + x2 * _CELL:g}" y2="{y + y2 * _ROW:g}"'
            parts.append(f'<line {ends} stroke="{_INK}" stroke-width="1.6"/>')
        if strokes or (character == " " and word.endswith(" ")):
            if word.strip():
                span = f'x="{_EDGE + began * _CELL}" y="{top + 15}" textLength="{len(word.rstrip()) * _CELL}"'
                parts.append(f'<text {span} fill="{_INK}">{escape(word.rstrip())}</text>')
            word = ""
        elif character != " " or word:
            began = place if not word else began
            word += character
    return parts


def main() -> None:
    """Write them."""
    FOLDER.mkdir(exist_ok=True)
    for name, text in drawings().items():
        (FOLDER / name).write_text(text, encoding="utf-8")
        print(FOLDER / name)


if __name__ == "__main__":
    main()
