"""A needle over a scale with the band it is to stand in: three lines of text that never change their size."""

from __future__ import annotations

from textual.widgets import Static

_ENDS = 2  # a cell each


def needle_lines(
    place: float, band: tuple[float, float], ends: tuple[str, str, str], width: int, *, ascii: bool
) -> str:
    """Scale, needle and figures for a width in cells; ``place`` and ``band`` are shares of the scale.

    ``ends`` are the words under its start, its band and its end.
    """
    inside = max(width - _ENDS, 10)
    low, high = (min(max(round(each * (inside - 1)), 0), inside - 1) for each in band)
    line, full, left, right, mark = ("-", "=", "|", "|", "^") if ascii else ("─", "█", "├", "┤", "▲")
    scale = [full if low <= cell <= high else line for cell in range(inside)]
    pointer = [" "] * inside
    pointer[min(max(round(place * (inside - 1)), 0), inside - 1)] = mark
    start, middle, end = ends
    at = max(min((low + high) // 2 + 1 - len(middle) // 2, inside - len(end) - len(middle)), len(start) + 1)
    words = f"{start:<{at}}{middle}".ljust(width - len(end)) + end
    return "\n".join((left + "".join(scale) + right, f" {''.join(pointer)} ", words[:width]))


class NeedleView(Static):
    """The needle as it stands."""

    DEFAULT_CSS = "NeedleView { height: 3; width: 1fr; color: $text; text-wrap: nowrap; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__("\n\n", id=id, markup=False)
        self._shown = ""

    def show(self, place: float, band: tuple[float, float], ends: tuple[str, str, str], *, ascii: bool) -> None:
        """Put it there; what stands there already is not drawn again."""
        text = needle_lines(place, band, ends, self.size.width or 60, ascii=ascii)
        if text != self._shown:
            self._shown = text
            self.update(text, layout=False)
