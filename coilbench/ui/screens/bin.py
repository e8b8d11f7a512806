"""The first screen: the bin, every motor with what is known of it; sorted, and filtered as one types."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, ClassVar

from rich.cells import cell_len
from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Container, Horizontal
from textual.widgets import DataTable, Footer, Input, Static

from coilbench.errors import CoilbenchError
from coilbench.stages.overview import is_finished, overview
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.steady import Steady
from coilbench.ui.widgets.field import Field
from coilbench.ui.widgets.titlebar import KeyLabel, TitleBar

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.records.rows import MotorRecord
    from coilbench.records.store import Bin


Row = dict[str, str]  # texts by their column's title

LOOK_AGAIN_SECONDS = 2.0
TITLES = ("motor", "windings", "ohms", "current", "VREF", "rates", "verdict", "from")
FIRST_TO_GO = ("rates", "ohms", "current", "VREF")  # where there is no room for all
_SORTED = " ▾"
LEAST_FROM = 8  # columns for where it is from
LONGEST_NAME = 24
CELL_PADDING = 2  # of a table's cell, left and right
SCROLL_BAR = 2


class FindField(Field):
    """What is looked for, as one types."""

    help_title, help_text = "find motors", "Words that a motor has anywhere in its row: 6 leads, printer, next: jog."


class BinTable(DataTable[Text]):
    """The motors, one a row."""

    BINDINGS: ClassVar[list[BindingType]] = [  # the keys of a list; a row has no first and last cell to go to
        Binding("home", "scroll_top", "first", show=False),
        Binding("end", "scroll_bottom", "last", show=False),
    ]
    HELP_TITLE = "the bin"
    HELP = (
        "Every motor in this bin, one a row: its windings, the ohms of a coil or half-winding, the current it is "
        "rated for, the VREF to set, its start-stop and slew rates in steps/s, what comes next. Enter opens "
        "a motor at what comes next, a finished one at its summary. / finds motors by any word as you type; s, or a "
        "click on a column's head, sorts by it."
    )


class BinScreen(Steady[None]):
    """List of motors: add, open, delete, sort, find."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("bin")

    _seen = 0
    _width = 0  # of the screen that the rows were cut for
    _left = False  # for a motor's sheet, at least once
    _stands = False  # what it is made of is there
    _sorted_by = ""  # a column's title; empty for the order in which they came

    def compose(self) -> ComposeResult:
        yield TitleBar()
        yield FindField(id="bin-find", compact=True, placeholder="any word of a motor; Enter: to the list")
        yield BinTable(id="motors", cursor_type="row", zebra_stripes=False)
        yield Static("", id="bin-said", markup=False)
        with Horizontal(id="bin-buttons"):
            yield KeyLabel("bin.open", "open", classes="-first")
            yield KeyLabel("bin.add", "add a motor")
            yield KeyLabel("bin.delete", "delete")
            yield KeyLabel("bin.machine")
            yield KeyLabel("app.bench")
        yield Container(id="bin-foot")

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    def on_mount(self) -> None:
        self._stands = True
        self.query_one("#motors").focus()
        self.reload()
        self.call_after_refresh(self.add_footer)
        self.set_interval(LOOK_AGAIN_SECONDS, self.look_again)

    async def add_footer(self) -> None:
        """The footer comes once the motors stand: it costs a tenth of the start."""
        await self.query_one("#bin-foot").mount(Footer(show_command_palette=False))
        self.refresh_bindings()  # a footer that comes late hasn't heard of the keys yet

    def look_again(self) -> None:
        """Another bench on the same bin may have changed it."""
        if self.is_current and self.bench.is_bin_open and self.bench.bin.seen() != self._seen:
            self.reload()

    def on_resize(self) -> None:
        if self._width and self._width != self.app.size.width:
            self.reload()

    def on_screen_resume(self) -> None:
        if self._left:
            self.reload()

    def on_screen_suspend(self) -> None:
        self._left = True

    def reload(self) -> None:
        """Show what the bin holds, keeping the cursor on its motor.

        The bin and the screen come in either order; whichever is last shows the motors.
        """
        if not (self._stands and self.bench.is_bin_open):
            return
        table = self.query_one(BinTable)
        chosen = self.chosen()
        with self.app.batch_update():
            self._seen = self.bench.bin.seen()
            motors = self.bench.bin.motors()
            every = [bin_row(self.bench.bin, motor) for motor in motors]
            chosen_rows = ordered([row for row in every if found(row, self._wanted)], self._sorted_by)
            names = [row["motor"] for row in chosen_rows]
            self._width = self.app.size.width
            columns = fit(chosen_rows, self._width, self._sorted_by)
            table.clear(columns=True)
            for title, width in columns.items():
                head = f"{title}{_SORTED}" if title == self._sorted_by else title
                table.add_column(Text(head), width=width, key=title)  # a str would be read as markup
            for row in chosen_rows:
                table.add_row(*(cut(row[title], width) for title, width in columns.items()), key=row["motor"])
        if chosen in names:
            table.move_cursor(row=names.index(chosen))
        says = f"{len(motors)} motor{'' if len(motors) == 1 else 's'}"
        if len(names) < len(motors):
            says = f"{len(names)} of {says}"
        if self.bench.is_scratch:
            says = f"demo: {says}, thrown away on quit"
        else:
            whose = "demo bin, virtual motors" if self.bench.demo else "your bin"
            says = f"{whose}{', read only' if self.bench.bin.read_only else ''}: {says}"
        self.query_one(TitleBar).say(f"coilbench   {says}")
        empty = "" if motors else "No motor here yet. Press a, or click add a motor: a name and its leads, no more."
        problems = [f"config file: {problem}" for problem in self.bench.config_problems]
        self.query_one("#bin-said", Static).update("\n".join([*problems, *([empty] if empty else [])]))
        self.refresh_bindings()  # with no motor there is none to open or delete

    def chosen(self) -> str | None:
        """The name of the motor under the cursor."""
        table = self.query_one(BinTable)
        if not table.row_count or not table.is_valid_row_index(table.cursor_row):
            return None
        return table.ordered_rows[table.cursor_row].key.value

    @property
    def _wanted(self) -> str:
        return self.query_one(FindField).value

    def action_bin_find(self) -> None:
        """Type a word; the list holds the motors that have it anywhere."""
        field = self.query_one(FindField)
        field.display = True
        field.focus()

    @on(Input.Changed, "#bin-find")
    def finding(self) -> None:
        self.reload()

    @on(Input.Submitted, "#bin-find")
    def to_the_list(self) -> None:
        self.query_one(BinTable).focus()

    def action_bin_all(self) -> None:
        """Every motor again."""
        field = self.query_one(FindField)
        field.value = ""
        field.display = False
        self.query_one(BinTable).focus()

    def action_bin_sort(self) -> None:
        """By the next column, after the last as they came."""
        there = ["", *(str(column.key.value) for column in self.query_one(BinTable).ordered_columns)]
        at = there.index(self._sorted_by) if self._sorted_by in there else 0
        self._sort(there[(at + 1) % len(there)])

    @on(DataTable.HeaderSelected)
    def head_clicked(self, event: DataTable.HeaderSelected) -> None:
        title = str(event.column_key.value)
        self._sort("" if title == self._sorted_by else title)

    def _sort(self, title: str) -> None:
        self._sorted_by = title
        self.reload()
        self.bench.tell(f"sorted by {title}" if title else "in the order in which they came")

    @on(DataTable.RowSelected)
    def action_bin_open(self) -> None:
        from coilbench.ui.screens.sheet import BenchSheet
        from coilbench.ui.screens.summary import SummaryScreen

        name = self.chosen()
        if name is not None:
            finished = is_finished(self.bench.bin.known(name))
            self.app.push_screen(SummaryScreen(name) if finished else BenchSheet(name))

    def action_bin_add(self) -> None:
        if not self.bench.is_bin_open:
            return
        from coilbench.ui.dialogs.add_motor import AddMotorDialog
        from coilbench.ui.screens.sheet import BenchSheet

        def added(name: str | None) -> None:
            if name:
                self.reload()
                self.app.push_screen(BenchSheet(name, stage_id="windings"))

        self.app.push_screen(AddMotorDialog(), added)

    def action_bin_machine(self) -> None:
        if self.bench.is_bin_open:
            from coilbench.ui.screens.machine import MachineScreen

            self.app.push_screen(MachineScreen())

    def action_bin_delete(self) -> None:
        from coilbench.ui.dialogs.basic import ConfirmDialog

        name = self.chosen()
        if name is None:
            return
        count = len(self.bench.bin.readings(name))
        readings = f"its {count} readings" if count != 1 else "its one reading"

        def answered(yes: bool | None) -> None:
            if yes:
                try:
                    self.bench.bin.delete_motor(name)
                except CoilbenchError as error:
                    self.bench.show_problem(error)
                self.reload()

        self.app.push_screen(
            ConfirmDialog(
                "delete this motor?",
                f"{name}, {readings} and all that was worked out from them will be gone.",
                "delete it",
            ),
            answered,
        )

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action in ("bin_open", "bin_delete") and self.is_mounted:
            return self.chosen() is not None
        if action == "bin_all" and self._stands:
            return bool(self.query_one(FindField).display)
        return True


def bin_row(bin: Bin, motor: MotorRecord) -> Row:
    """The texts of one motor by their column."""
    line = overview(bin, motor)
    texts = (line.motor, line.found, line.ohms, line.current, line.vref, line.rates, line.verdict, line.note)
    return dict(zip(TITLES, texts, strict=True))


def found(row: Row, wanted: str) -> bool:
    """Whether a motor has every word that is looked for in any of its texts."""
    texts = " ".join(row.values()).casefold()
    return all(word in texts for word in wanted.casefold().split())


def ordered(rows: list[Row], title: str) -> list[Row]:
    """The rows by one column, figures by their size, what isn't known last; as they came for no column."""
    return sorted(rows, key=lambda row: _rank(row[title])) if title else rows


def _rank(text: str) -> tuple[bool, float, str]:
    match = re.match(r"([0-9.]+) ?([mkM]?)(?![0-9])", text)
    if match is None:
        return (not text, float("inf"), text.casefold())
    try:
        figure = float(match[1])
    except ValueError:
        return (not text, float("inf"), text.casefold())
    return (False, figure * {"m": 1e-3, "k": 1e3, "M": 1e6}.get(match[2], 1.0), text.casefold())


def fit(rows: list[Row], width: int, sorted_by: str = "") -> dict[str, int]:
    """The columns that a screen of ``width`` cells has room for, with theirs: none in which nothing is known, the
    least needed go first, and where it is from takes what is left."""
    widths = {title: _width_of(title, rows, sorted_by) for title in TITLES if _is_needed(title, rows)}
    for title in FIRST_TO_GO:
        if (
            sum(widths.values()) - widths.get("from", 0) + LEAST_FROM + CELL_PADDING * len(widths) + SCROLL_BAR
            <= width
        ):
            break
        widths.pop(title, None)
    if "from" in widths:
        others = sum(widths.values()) - widths["from"]
        room = width - others - CELL_PADDING * len(widths) - SCROLL_BAR
        widths["from"] = min(widths["from"], max(room, len("from")))
    return widths


def _is_needed(title: str, rows: list[Row]) -> bool:
    return title in ("motor", "windings", "verdict") or any(row[title] for row in rows)


def _width_of(title: str, rows: list[Row], sorted_by: str) -> int:
    widest = max((cell_len(row[title]) for row in rows), default=0)
    return max(
        len(title) + len(_SORTED) * (title == sorted_by), min(widest, LONGEST_NAME if title == "motor" else widest)
    )


def cut(text: str, width: int) -> Text:
    """A cell; what is cut ends in dots."""
    cell = Text(text)
    cell.truncate(width, overflow="ellipsis")
    return cell
