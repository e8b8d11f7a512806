"""A screen without colour that takes what the plotting widget draws."""

from __future__ import annotations

from collections.abc import Sequence

from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.filter import LineFilter, Monochrome


class Colourless(Monochrome):
    """Textual's filter for NO_COLOR fails on a segment without a style, which a plot not yet sized is made of."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """As the one it stands for, a missing style taken for a plain one."""
        styled = [Segment(text, style or Style.null(), control) for text, style, control in segments]
        return super().apply(styled, background)


_COLOURLESS = Colourless()


def without_gaps(filters: Sequence[LineFilter]) -> list[LineFilter]:
    """The filters with ``Colourless`` in place of Textual's own."""
    return [_COLOURLESS if type(each) is Monochrome else each for each in filters]
