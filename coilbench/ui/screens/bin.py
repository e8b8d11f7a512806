"""The first screen: the bin, every motor with what is known of it; sorted, filtered as one types, marked."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.containers import Container, Horizontal
from textual.message import Message
from textual.widgets import Input, Static

from coilbench.errors import CoilbenchError
from coilbench.stages.bin.acts import Choice, why_not
from coilbench.stages.bin.lines import MOST_AT_ONCE, BinLines
from coilbench.stages.bin.table_of_lines import MotorRow, found, ordered, row_of
from coilbench.stages.bin.undoing import can_redo, can_undo
from coilbench.stages.overview import is_finished
from coilbench.ui.actions import bindings_for
from coilbench.ui.faults import own_fault
from coilbench.ui.screens.bin_care import BinCare
from coilbench.ui.widgets.bin_table import BinTable, fit, widest
from coilbench.ui.widgets.field import Field
from coilbench.ui.widgets.foot import Foot
from coilbench.ui.widgets.titlebar import KeyLabel, TitleBar

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.records.store import Bin

LOOK_AGAIN_SECONDS = 2.0


class FindField(Field):
    """What is looked for, as one types."""

    help_title, help_text = "find motors", "Words that a motor has anywhere in its row: 6 leads, printer, next: jog."


class BinScreen(BinCare):
    """List of motors: add, open, sort, find, mark; and what ``BinCare`` does with them."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("bin")

    class Looked(Message):
        """The lines that were missing are made, or can't be."""

        def __init__(self, problem: CoilbenchError | None = None) -> None:
            super().__init__()
            self.problem = problem

    _seen = 0
    _width = 0  # of the screen that the columns were fitted to
    _left = False  # for a motor's sheet, at least once
    _stands = False  # what it is made of is there
    _sorted_by = ""  # a column's title; empty for the order in which they came
    _lines: tuple[Bin, BinLines] | None = None  # of the open bin
    _looking = False  # at motors of which no line was kept
    _can_undo = _can_redo = False
    _archived: frozenset[str] = frozenset()

    def __init__(self) -> None:
        super().__init__()
        self._every: list[MotorRow] = []
        self._marked: dict[str, None] = {}
        self._find: FindField | None = None

    def compose(self) -> ComposeResult:
        yield TitleBar()
        yield Container(id="bin-find")
        yield BinTable(id="motors")
        yield Static("", id="bin-said", markup=False)
        yield Horizontal(id="bin-foot")

    def on_mount(self) -> None:
        self._stands = True
        self.query_one("#motors").focus()
        self.reload()
        self.call_after_refresh(self.add_footer)
        self.set_interval(LOOK_AGAIN_SECONDS, self.look_again)

    async def add_footer(self) -> None:
        """The footer comes once the motors stand: it costs a tenth of the start. Beside it what a mouse has no other
        way to."""
        await self.query_one("#bin-foot").mount(Foot(), KeyLabel("app.bench"))
        self.refresh_bindings()  # a footer that comes late hasn't heard of the keys yet

    def look_again(self) -> None:
        """Another bench on the same bin may have changed it."""
        if self.is_current and self.bench.is_bin_open and self.bench.bin.seen() != self._seen:
            self.reload()

    def on_resize(self) -> None:
        if self._width and self._width != self.app.size.width:
            self.show_rows()

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
        bin_ = self.bench.bin
        if self._lines is None or self._lines[0] is not bin_:
            self._lines = bin_, BinLines(bin_)
        self._seen = bin_.seen()
        looked = self._lines[1].now(MOST_AT_ONCE)
        self._every = [row_of(line) for line in looked.lines]
        self._widths = widest(self._every)
        names = {row.name for row in self._every}
        self._marked = {name: None for name in self._marked if name in names}
        self._archived = frozenset(row.name for row in self._every if row.archived)
        self._can_undo, self._can_redo = can_undo(bin_), can_redo(bin_)
        self.show_rows()
        if looked.missing and not self._looking:
            self._looking = True
            self.look_at_all(self._lines[1])

    @work(thread=True, exit_on_error=False)
    def look_at_all(self, lines: BinLines) -> None:
        """Make the lines of a bin that was never listed, in a thread: thousands take seconds, once."""
        try:
            lines.now()
        except CoilbenchError as problem:
            self.post_message(self.Looked(problem))
        except Exception as fault:
            self.post_message(self.Looked(own_fault(fault)))
        else:
            self.post_message(self.Looked())

    def on_bin_screen_looked(self, event: Looked) -> None:
        self._looking = False
        if event.problem is None:
            self.reload()
        else:
            self.bench.show_problem(event.problem)

    def show_rows(self) -> None:
        """Show the rows that are wanted; asks the bin nothing."""
        if not (self._stands and self._lines):
            return
        listed = [row for row in self._every if self.show_archived or not row.archived]
        rows = ordered(found(listed, self._wanted), self._sorted_by)
        self._width = self.app.size.width
        table = self.query_one(BinTable)
        table.marked = frozenset(self._marked)
        table.show(rows, fit(self._widths, self._width, self._sorted_by), self._sorted_by)
        bin_ = self._lines[0]
        says = f"{len(listed)} motor{'' if len(listed) == 1 else 's'}"
        if len(rows) < len(listed):
            says = f"{len(rows)} of {says}"
        if self._marked:
            says = f"{len(self._marked)} marked, {says}"
        if away := len(self._every) - len(listed):
            says = f"{says}, {away} archived"
        if self.bench.is_scratch:
            says = f"demo: {says}, thrown away on quit"
        else:
            whose = "demo bin, virtual motors" if self.bench.demo else "your bin"
            says = f"{whose}{', read only' if bin_.read_only else ''}: {says}"
        self.query_one(TitleBar).say(f"coilbench   {says}")
        empty = (
            "" if self._every else "No motor here yet. Press a, or click add below: a name and its leads, no more."
        )
        problems = [f"config file: {problem}" for problem in self.bench.config_problems]
        self.query_one("#bin-said", Static).update("\n".join([*problems, *([empty] if empty else [])]))
        self.refresh_bindings()  # with no motor there is none to open or delete

    @property
    def choice(self) -> Choice:
        """What is chosen and marked."""
        return Choice(
            chosen=self.query_one(BinTable).chosen,
            marked=tuple(self._marked),
            archived=self._archived,
            motors=len(self._every),
            read_only=self._lines is not None and self._lines[0].read_only,
            undo=self._can_undo,
            redo=self._can_redo,
        )

    def mark(self, names: tuple[str, ...]) -> None:
        """Mark these motors and no others; the cursor goes to the first."""
        self._marked = dict.fromkeys(names)
        self.show_rows()
        if names:
            self.query_one(BinTable).go_to(names[0])

    @on(BinTable.MarkClicked)
    def action_bin_mark(self) -> None:
        """Mark the motor under the cursor, or not."""
        name = self.query_one(BinTable).chosen
        if name is None:
            return
        if name in self._marked:
            del self._marked[name]
        else:
            self._marked[name] = None
        self.show_rows()

    @property
    def _wanted(self) -> str:
        return "" if self._find is None else self._find.value

    async def action_bin_find(self) -> None:
        """Type a word; the list holds the motors that have it anywhere."""
        if self._find is None:  # it comes when it is wanted: a field costs a tenth of the start
            self._find = FindField(compact=True, placeholder="any word of a motor; Enter: to the list")
            await self.query_one("#bin-find").mount(self._find)
        self._find.display = True
        self._find.focus()

    @on(Input.Changed)
    def finding(self) -> None:
        self.show_rows()

    @on(Input.Submitted)
    def to_the_list(self) -> None:
        self.query_one(BinTable).focus()

    def action_bin_all(self) -> None:
        """Every motor again."""
        if self._find is not None:
            self._find.value = ""
            self._find.display = False
        self.query_one(BinTable).focus()

    def action_bin_sort(self) -> None:
        """By the next column, after the last as they came."""
        there = ["", *fit(self._widths, self._width)] if self._every else [""]
        at = there.index(self._sorted_by) if self._sorted_by in there else 0
        self._sort(there[(at + 1) % len(there)])

    @on(BinTable.HeadClicked)
    def head_clicked(self, event: BinTable.HeadClicked) -> None:
        self._sort("" if event.title == self._sorted_by else event.title)

    def _sort(self, title: str) -> None:
        self._sorted_by = title
        self.show_rows()
        self.bench.tell(f"sorted by {title}" if title else "in the order in which they came")

    @on(BinTable.Selected)
    def action_bin_open(self) -> None:
        from coilbench.ui.screens.sheet import BenchSheet
        from coilbench.ui.screens.summary import SummaryScreen

        name = self.query_one(BinTable).chosen
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

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if not (self._stands and action.startswith("bin_")):
            return True
        if action == "bin_all":
            return self._find is not None and bool(self._find.display)
        return not why_not(action.removeprefix("bin_"), self.choice)
