"""The ladder of figures tried: fastest on top, a mark for each pass and each skip, the one at work marked."""

from __future__ import annotations

from collections.abc import Sequence

from textual.widgets import Static

Told = Sequence[tuple[float, bool | None]]

PASS, SKIP, UNCLEAR = "✓", "✗", "?"


class Ladder(Static):
    """Shows as many rungs as fit, those about the present figure first."""

    DEFAULT_CSS = "Ladder { height: 1fr; width: 1fr; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__("", markup=False, id=id)
        self.told: Told = ()
        self.present: float | None = None

    def show(self, told: Told, present: float | None) -> None:
        """Show figures with how they went; ``present`` is the one at work or asked about."""
        self.told, self.present = told, present
        self.redraw()

    def redraw(self) -> None:
        width, height = self.size
        self.update("\n".join(ladder_lines(self.told, self.present, max(width, 20), max(height, 3))))

    def on_resize(self) -> None:
        self.redraw()


def ladder_lines(told: Told, present: float | None, width: int, height: int) -> list[str]:
    """The ladder as lines, at most ``height`` of them; marks that are too many for ``width`` are counted."""
    rungs: dict[int, str] = {}
    for figure, skipped in told:
        mark = UNCLEAR if skipped is None else SKIP if skipped else PASS
        rungs[round(figure)] = rungs.get(round(figure), "") + mark
    here = None if present is None else round(present)
    if here is not None:
        rungs.setdefault(here, "")
    figures = sorted(rungs, reverse=True)
    room = height - 1
    if len(figures) > room:
        middle = figures.index(here) if here is not None else len(figures) // 2
        begin = min(max(middle - room // 2, 0), len(figures) - room)
        figures = figures[begin : begin + room]
    unclear = f"   {UNCLEAR} not judged" if any(skipped is None for _, skipped in told) else ""
    lines = [f"{PASS} held   {SKIP} lost steps{unclear}"] if told else []
    starts = {figure: f"{'▸' if figure == here else ' '}{figure:>7} " for figure in figures}
    return lines + [start + _marks(rungs[figure], width - len(start)) for figure, start in starts.items()]


def _marks(marks: str, room: int) -> str:
    if len(marks) <= room:
        return marks
    return "  ".join(f"{marks.count(mark)} {mark}" for mark in (PASS, SKIP, UNCLEAR) if mark in marks)
