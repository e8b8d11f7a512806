"""What is done to each line before it goes to the terminal: no colour where none is wanted, no driving text."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.filter import LineFilter, Monochrome

from coilbench.plain_text import is_plain


class Colourless(Monochrome):
    """Textual's filter for NO_COLOR fails on a segment without a style, which a plot not yet sized is made of."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """As the one it stands for, a missing style taken for a plain one."""
        styled = [Segment(text, style or Style.null(), control) for text, style, control in segments]
        return super().apply(styled, background)


class Inert(LineFilter):
    """Takes out what is not plain, wherever it came from: as wide as it was counted, so that nothing shifts."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The same segments, each plain."""
        if all(is_plain(text) for text, _, _ in segments):
            return segments
        return [Segment(_as_wide(text), style, control) for text, style, control in segments]


def _as_wide(text: str) -> str:
    return "".join(each if is_plain(each) else (" " if each.isspace() else "?") * cell_len(each) for each in text)


_COLOURLESS = Colourless()
_INERT = Inert()


def fit_for_terminal(filters: Sequence[LineFilter]) -> list[LineFilter]:
    """The filters with ``Colourless`` in place of Textual's own, and ``Inert`` before them."""
    return [_INERT, *(_COLOURLESS if type(each) is Monochrome else each for each in filters)]
