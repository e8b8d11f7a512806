"""The motors, one a row. What is drawn is what is in sight: five thousand scroll, filter and sort as ten do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, ClassVar

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from textual import events
from textual.binding import Binding
from textual.geometry import Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

from coilbench.stages.bin.table_of_lines import TITLES, MotorRow
from coilbench.ui.bench import bench_of

if TYPE_CHECKING:
    from rich.style import Style
    from textual.binding import BindingType

FIRST_TO_GO = ("rates", "ohms", "current", "VREF")  # where there is no room for all
SORTED = " ▾"
LEAST_FROM = 8  # columns for where it is from
LONGEST_NAME = 24
CELL_PADDING = 2  # of a cell, left and right
MARK_WIDTH = 1
SCROLL_BAR = 2
MARK, PLAIN_MARK = "●", "*"


class BinTable(ScrollView, can_focus=True):
    """The rows, the cursor among them, and which are marked."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "up", "up", show=False),
        Binding("down", "down", "down", show=False),
        Binding("pageup", "page(-1)", "page up", show=False),
        Binding("pagedown", "page(1)", "page down", show=False),
        Binding("home", "to(0)", "first", show=False),
        Binding("end", "to(-1)", "last", show=False),
    ]
    COMPONENT_CLASSES: ClassVar[set[str]] = {"bin-table--head", "bin-table--cursor", "bin-table--away"}
    HELP_TITLE = "the bin"
    HELP = (
        "Every motor in this bin, one a row: its windings, the ohms of a coil or half-winding, the current it is "
        "rated for, the VREF to set, its start-stop and slew rates in steps/s, what comes next. Enter opens "
        "a motor at what comes next, a finished one at its summary. / finds motors by any word as you type; s, or a "
        "click on a column's head, sorts by it. Space, or a click left of its name, marks a motor; b has what can be "
        "done with marked ones, and with the bin."
    )

    cursor_row: reactive[int] = reactive(0)

    class Selected(Message):
        """A click on the row where the cursor is: it is to be opened."""

    class HeadClicked(Message):
        """A click on a column's head."""

        def __init__(self, title: str) -> None:
            super().__init__()
            self.title = title

    class MarkClicked(Message):
        """A click where a row's mark stands."""

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.rows: Sequence[MotorRow] = ()
        self.marked: frozenset[str] = frozenset()
        self._columns: Mapping[str, int] = {}
        self._sorted_by = ""

    @property
    def row_count(self) -> int:
        return len(self.rows)

    @property
    def chosen(self) -> str | None:
        """The name of the motor under the cursor."""
        return self.rows[self.cursor_row].name if self.cursor_row < len(self.rows) else None

    def show(self, rows: Sequence[MotorRow], columns: Mapping[str, int], sorted_by: str) -> None:
        """Show these rows, the cursor on the motor that it is on, where that is among them."""
        chosen = self.chosen
        self.rows, self._columns, self._sorted_by = rows, columns, sorted_by
        self.virtual_size = Size(self.size.width, len(rows) + 1)  # a line for the heads
        place = next((at for at, row in enumerate(rows) if row.name == chosen), self.cursor_row)
        self.cursor_row = place
        self.into_sight()
        self.refresh()

    def go_to(self, name: str) -> None:
        """The cursor on this motor, where it is shown."""
        self.cursor_row = next((at for at, row in enumerate(self.rows) if row.name == name), self.cursor_row)

    def validate_cursor_row(self, row: int) -> int:
        return max(0, min(row, len(self.rows) - 1))

    def watch_cursor_row(self) -> None:
        self.into_sight()
        self.refresh()

    def into_sight(self) -> None:
        """Scroll as little as need be, so that the cursor is seen below the heads."""
        visible = max(self.scrollable_content_region.height - 1, 1)
        top = self.scroll_offset.y
        wanted = min(max(top, self.cursor_row - visible + 1), self.cursor_row)
        if wanted != top:
            self.scroll_to(y=wanted, animate=False, force=True)

    def on_resize(self) -> None:
        self.virtual_size = Size(self.size.width, len(self.rows) + 1)
        self.call_after_refresh(self.into_sight)

    # What is drawn

    def render_line(self, y: int) -> Strip:
        width = self.scrollable_content_region.width
        if y == 0:
            titles = {each: f"{each}{SORTED}" if each == self._sorted_by else each for each in self._columns}
            return self._line(" ", titles, width, self.get_component_rich_style("bin-table--head"))
        at = y - 1 + self.scroll_offset.y
        if at >= len(self.rows):
            return Strip.blank(width, self.rich_style)
        row = self.rows[at]
        mark = (PLAIN_MARK if bench_of(self.app).plain_characters else MARK) if row.name in self.marked else " "
        style = self.rich_style
        if row.archived:
            style = self.get_component_rich_style("bin-table--away")
        if at == self.cursor_row:
            style = self.get_component_rich_style("bin-table--cursor")
        return self._line(mark, row.texts, width, style)

    def _line(self, mark: str, texts: Mapping[str, str], width: int, style: Style) -> Strip:
        cells = [Segment(f"{mark} ", style)]
        cells += [Segment(f"{cut(texts[title], room)}  ", style) for title, room in self._columns.items()]
        return Strip(cells).adjust_cell_length(width, style)

    def get_row_at(self, at: int) -> list[str]:
        """A row's texts as they are drawn."""
        return [cut(self.rows[at].texts[title], room).rstrip() for title, room in self._columns.items()]

    # Keys and mouse

    def action_up(self) -> None:
        self.cursor_row -= 1

    def action_down(self) -> None:
        self.cursor_row += 1

    def action_page(self, way: int) -> None:
        self.cursor_row += way * max(self.scrollable_content_region.height - 2, 1)

    def action_to(self, at: int) -> None:
        self.cursor_row = at if at >= 0 else len(self.rows) - 1

    def on_click(self, event: events.Click) -> None:
        place = event.get_content_offset(self)
        if place is None:
            return
        if place.y == 0:
            if title := self._title_at(place.x):
                self.post_message(self.HeadClicked(title))
            return
        at = place.y - 1 + self.scroll_offset.y
        if at >= len(self.rows):
            return
        there, self.cursor_row = self.cursor_row, at
        if place.x <= MARK_WIDTH:
            self.post_message(self.MarkClicked())
        elif there == at:
            self.post_message(self.Selected())

    def _title_at(self, x: int) -> str:
        left = MARK_WIDTH
        for title, room in self._columns.items():
            left += room + CELL_PADDING
            if x < left:
                return title
        return ""


def widest(rows: Sequence[MotorRow]) -> dict[str, int]:
    """The cells that each column's longest text takes."""
    return {title: max((_cells(row.texts[title]) for row in rows), default=0) for title in TITLES}


def _cells(text: str) -> int:
    return len(text) if text.isascii() else cell_len(text)


def fit(widths: Mapping[str, int], width: int, sorted_by: str = "") -> dict[str, int]:
    """The columns that a screen of ``width`` cells has room for, with theirs: none in which nothing is known, the
    least needed go first, and where it is from takes what is left."""
    found = {title: _room(title, widths[title], sorted_by) for title in TITLES if _is_needed(title, widths)}
    around = MARK_WIDTH + SCROLL_BAR
    for title in FIRST_TO_GO:
        if sum(found.values()) - found.get("from", 0) + LEAST_FROM + CELL_PADDING * len(found) + around <= width:
            break
        found.pop(title, None)
    if "from" in found:
        others = sum(found.values()) - found["from"]
        room = width - others - CELL_PADDING * len(found) - around
        found["from"] = min(found["from"], max(room, len("from")))
    return found


def _is_needed(title: str, widths: Mapping[str, int]) -> bool:
    return title in ("motor", "windings", "verdict") or widths[title] > 0


def _room(title: str, widest: int, sorted_by: str) -> int:
    head = len(title) + len(SORTED) * (title == sorted_by)
    return max(head, min(widest, LONGEST_NAME) if title == "motor" else widest)


def cut(text: str, width: int) -> str:
    """A cell; what is cut ends in dots."""
    if _cells(text) <= width:
        return set_cell_size(text, width)
    return set_cell_size(set_cell_size(text, width - 1) + "…", width)
