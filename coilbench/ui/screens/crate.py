"""The first screen: the crate, every motor in the bin with what is known of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Container, Horizontal
from textual.widgets import DataTable, Footer, Static

from coilbench.errors import CoilbenchError
from coilbench.stages.overview import overview
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.steady import Steady
from coilbench.ui.widgets.titlebar import KeyLabel, TitleBar

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.records.rows import MotorRecord
    from coilbench.records.store import Bin


LOOK_AGAIN_SECONDS = 2.0
TITLES = ("motor", "leads", "windings", "next", "done", "label")
LONGEST_NAME = 24
CELL_PADDING = 2  # of a table's cell, left and right
SCROLL_BAR = 2


class CrateTable(DataTable[Text]):
    """The motors, one a row."""

    BINDINGS: ClassVar[list[BindingType]] = [  # the keys of a list; a row has no first and last cell to go to
        Binding("home", "scroll_top", "first", show=False),
        Binding("end", "scroll_bottom", "last", show=False),
    ]
    HELP_TITLE = "the crate"
    HELP = (
        "Every motor in this bin, one a row: how many leads, what it turned out to be, which stage comes next. "
        "Go up and down with the arrow keys, open a motor with Enter, add one with a."
    )


class CrateScreen(Steady[None]):
    """List of motors: add, open, delete."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("crate")

    _seen = 0
    _width = 0  # of the screen that the rows were cut for
    _left = False  # for a motor's sheet, at least once
    _stands = False  # what it is made of is there

    def compose(self) -> ComposeResult:
        yield TitleBar()
        yield CrateTable(id="motors", cursor_type="row", zebra_stripes=False)
        yield Static("", id="crate-said", markup=False)
        with Horizontal(id="crate-buttons"):
            yield KeyLabel("crate.open", "open this motor", classes="-first")
            yield KeyLabel("crate.add", "add a motor")
            yield KeyLabel("crate.delete", "delete")
            yield KeyLabel("app.bench")
        yield Container(id="crate-foot")

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
        await self.query_one("#crate-foot").mount(Footer(show_command_palette=False))
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
        table = self.query_one(CrateTable)
        chosen = self.chosen()
        with self.app.batch_update():
            self._seen = self.bench.bin.seen()
            motors = self.bench.bin.motors()
            rows = [crate_row(self.bench.bin, motor) for motor in motors]
            self._width = self.app.size.width
            widths = fit(rows, self._width)
            table.clear(columns=True)
            for title, width in zip(TITLES, widths, strict=True):
                table.add_column(Text(title), width=width)  # a str would be read as markup
            for motor, row in zip(motors, rows, strict=True):
                table.add_row(*row, key=motor.name)
        names = [motor.name for motor in motors]
        if chosen in names:
            table.move_cursor(row=names.index(chosen))
        crate = f"{len(names)} motor{'' if len(names) == 1 else 's'}"
        if self.bench.is_scratch:
            crate = f"demo: {crate}, thrown away on quit"
        else:
            whose = "demo crate, virtual motors" if self.bench.demo else "your crate"
            crate = f"{whose}{', read only' if self.bench.bin.read_only else ''}: {crate}"
        self.query_one(TitleBar).say(f"coilbench   {crate}")
        empty = "" if names else "No motor here yet. Press a, or click add a motor: a name and its leads, no more."
        problems = [f"config file: {problem}" for problem in self.bench.config_problems]
        self.query_one("#crate-said", Static).update("\n".join([*problems, *([empty] if empty else [])]))
        self.refresh_bindings()  # with no motor there is none to open or delete

    def chosen(self) -> str | None:
        """The name of the motor under the cursor."""
        table = self.query_one(CrateTable)
        if not table.row_count or not table.is_valid_row_index(table.cursor_row):
            return None
        return table.ordered_rows[table.cursor_row].key.value

    @on(DataTable.RowSelected)
    def action_crate_open(self) -> None:
        from coilbench.ui.screens.sheet import BenchSheet

        name = self.chosen()
        if name is not None:
            self.app.push_screen(BenchSheet(name))

    def action_crate_add(self) -> None:
        if not self.bench.is_bin_open:
            return
        from coilbench.ui.dialogs.add_motor import AddMotorDialog
        from coilbench.ui.screens.sheet import BenchSheet

        def added(name: str | None) -> None:
            if name:
                self.reload()
                self.app.push_screen(BenchSheet(name, stage_id="windings"))

        self.app.push_screen(AddMotorDialog(), added)

    def action_crate_delete(self) -> None:
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
        if action in ("crate_open", "crate_delete") and self.is_mounted:
            return self.chosen() is not None
        return True


def crate_row(bin: Bin, motor: MotorRecord) -> list[Text]:
    """The cells of one motor: name, number of leads, what it is, what comes next, stages done, label."""
    line = overview(bin, motor)
    return [Text(cell) for cell in (line.motor, str(line.leads), line.found, line.next, line.done, line.note)]


def fit(rows: list[list[Text]], width: int) -> list[int]:
    """Cut names and labels, with "…", so that no column runs off a screen of ``width`` cells; the columns' widths.

    The table would find the widths by itself, but only once it has drawn the words cut.
    """
    for row in rows:
        row[0].truncate(LONGEST_NAME, overflow="ellipsis")
    widths = _widest(rows)
    room = max(width - sum(widths[:-1]) - CELL_PADDING * len(TITLES) - SCROLL_BAR, len(TITLES[-1]))
    for row in rows:
        row[-1].truncate(room, overflow="ellipsis")
    return [*widths[:-1], min(widths[-1], room)]


def _widest(rows: list[list[Text]]) -> list[int]:
    return [max([len(title), *(row[place].cell_len for row in rows)]) for place, title in enumerate(TITLES)]
