"""A drawing's styled lines in the colours of the theme, and of the leads themselves."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from textual.content import Content

if TYPE_CHECKING:
    from coilbench.stages.picture import Line, Picture

_STYLES = {
    "wire": "",
    "goes": "bold $text-primary",
    "strong": "bold",
    "faint": "$text-muted",
    "fault": "bold $text-error",
}


def drawn(lines: Sequence[Line]) -> Content:
    """The lines as the screen shows them; a lead's name stands on its colour, a striped one's on both."""
    parts: list[Content] = []
    for line in lines:
        pieces = [
            Content.styled(text, f"bold {piece.css_text} on {colour}" if colour else _STYLES.get(piece.ink, "bold"))
            for piece in line
            for text, colour in _coloured(piece.text, piece.css)
        ]
        parts.append(Content("").join(pieces))
    return Content("\n").join(parts)


def _coloured(text: str, css: Sequence[str]) -> list[tuple[str, str]]:
    """The text split among its colours."""
    if len(css) < 2:
        return [(text, css[0] if css else "")]
    middle = (len(text) + 1) // 2
    return [(text[:middle], css[0]), (text[middle:], css[1])]


def drawing(picture: Picture, width: int, height: int, *, ascii: bool, listed: bool = True) -> Content:
    """A picture in a room of so many cells, with its list of leads if that is wanted."""
    return drawn(picture.lines(width, height, ascii=ascii, listed=listed, large=True))


def picture_of(picture: Picture | None, *, ascii: bool) -> partial[Content] | None:
    """What draws a picture once its room is known; None for none."""
    return None if picture is None else partial(drawing, picture, ascii=ascii)
