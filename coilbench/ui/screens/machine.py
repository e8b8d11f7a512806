"""A machine: which motor of the bin goes on which axis, what would have to change, what the supplies give."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.message import Message
from textual.widgets import DataTable, Static

from coilbench.errors import CoilbenchError, NotEnoughKnown, as_started
from coilbench.stages.axis.fields import KIND_WORDS
from coilbench.stages.head import Head
from coilbench.stages.machine.answer import FitAnswer
from coilbench.stages.machine.scene import (
    BARE_HEADS,
    HEADS,
    axis_head,
    axis_why,
    bare_row,
    head_of,
    rows_of,
    supplies_of,
    told_of,
    why_of,
)
from coilbench.stages.machine.sheet import sheet_of
from coilbench.stages.machine.torque import torque_of_axis
from coilbench.stages.machine.work import MachineWork, machine_files
from coilbench.stages.machine.written import save_sheet
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.dialogs.basic import ConfirmDialog
from coilbench.ui.dialogs.machine import PickMachineDialog, WriteFileDialog
from coilbench.ui.dialogs.pick import PickOneDialog
from coilbench.ui.faults import own_fault
from coilbench.ui.steady import Steady
from coilbench.ui.widgets.foot import Foot
from coilbench.ui.widgets.head import HeadLines
from coilbench.ui.widgets.stage_area import StageArea
from coilbench.ui.widgets.titlebar import TitleBar
from coilbench.ui.widgets.why import Why

if TYPE_CHECKING:
    from textual.binding import BindingType


NO_MOTOR = "esc, then open a motor: its windings, then its ratings; until then the axes by themselves"


class AxesTable(DataTable[Text]):
    """The axes, one a row."""

    HELP_TITLE = "a machine"
    HELP = (
        "Every axis with the motor of the bin that goes there: what to set on its driver, the torque there over the "
        "torque needed, the rate needed and the rate up to which it has the margin. ! marks too little. Below is "
        "why, for the axis chosen, and what each supply has to give."
    )


class MachineArea(StageArea):
    """What is in no file yet is known to the one who quits; what is at the bench counts at once."""

    WORDS = "Margin: what the motor pulls over what is asked; 2 is the trade's, 1.5 where the load was measured."

    @property
    def unsaved_place(self) -> str:
        work = bench_of(self.app).machine
        return "a machine that is in no file" if work is not None and work.is_unsaved else ""

    def bench_changed(self) -> None:
        if isinstance(self.screen, MachineScreen):
            self.screen.work_out()


class MachineScreen(Steady[None]):
    """The axes, and what is to be said of the one chosen."""

    CSS_PATH: ClassVar[list[str]] = ["machine.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = bindings_for("machine")

    class Fitted(Message):
        """The motors are chosen, or can't be; ``text`` is that of the machine it was worked out for."""

        def __init__(self, text: str, answer: FitAnswer | None, problem: CoilbenchError | None = None) -> None:
            super().__init__()
            self.text, self.answer, self.problem = text, answer, problem

    def __init__(self) -> None:
        super().__init__()
        self.answer: FitAnswer | None = None
        self.why: tuple[str, ...] = ()
        self.why_wanted: bool | None = None  # opened or folded by the person; None: open where there is room

    def compose(self) -> ComposeResult:
        yield TitleBar()
        with MachineArea(id="machine"):
            yield HeadLines(id="machine-head")
            yield AxesTable(id="machine-axes", cursor_type="row")
            with VerticalScroll(id="machine-more"):
                yield Static("", id="machine-told", markup=False)
                yield Static("", id="machine-supplies", markup=False)
                yield Why()
        yield Foot()

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    @property
    def machine(self) -> MachineWork:
        """The machine at work; a new one while none is chosen."""
        if self.bench.machine is None:
            self.bench.machine = MachineWork()
        return self.bench.machine

    def on_mount(self) -> None:
        self.query_one(AxesTable).focus()
        if self.bench.machine is None:
            self.call_after_refresh(self.action_machine_file)
        else:
            self.work_out()

    # Working it out

    def work_out(self) -> None:
        """Choose the motors anew, in a thread."""
        self.query_one(TitleBar).say(f"machine   {self.machine.name}")
        if not self.machine.axes:
            self.show_none()
            return
        self.fit(self.machine.text)

    @work(thread=True, exclusive=True, exit_on_error=False)
    def fit(self, text: str) -> None:
        try:
            self.post_message(self.Fitted(text, self.machine.fitted(self.bench.bin)))
        except CoilbenchError as problem:
            self.post_message(self.Fitted(text, None, problem))
        except Exception as fault:
            self.post_message(self.Fitted(text, None, own_fault(fault)))

    @on(Fitted)
    def fitted(self, event: Fitted) -> None:
        event.stop()
        if event.text != self.machine.text or not self.query(AxesTable):
            return
        self.answer = event.answer
        if event.answer is None:
            assert event.problem is not None
            remedy = NO_MOTOR if isinstance(event.problem, NotEnoughKnown) else event.problem.remedy
            self.head(Head(event.problem.happened, "question", act=as_started(remedy)))
            rows = [bare_row(name, self.machine.kind(name), self.machine.axis_answer(name)) for name in
                    self.machine.axes]  # fmt: skip
            self.fill(BARE_HEADS, rows)
            return
        title = f"machine   {event.answer.machine.name}   {self.machine.name}"
        self.query_one(TitleBar).say(title)
        self.head(head_of(event.answer))
        self.fill(HEADS, rows_of(event.answer))

    def show_none(self) -> None:
        self.answer = None
        self.head(Head("no axis is described yet", act="a describes the first: screw, drum, belt, rack or table"))
        self.fill(("axis",), [])

    def fill(self, heads: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
        """The rows, the cursor on the axis where it was."""
        table = self.query_one(AxesTable)
        place = table.cursor_row
        table.clear(columns=True)
        for head in heads:
            table.add_column(Text(head))
        for row in rows:
            table.add_row(*map(Text, row))
        if rows:
            table.move_cursor(row=min(place, len(rows) - 1))
        self.show_chosen()
        self.refresh_bindings()

    @property
    def chosen(self) -> str | None:
        """The name of the axis under the cursor."""
        axes, place = self.machine.axes, self.query_one(AxesTable).cursor_row
        return axes[place] if self.query_one(AxesTable).row_count and place < len(axes) else None

    @on(DataTable.RowHighlighted)
    def show_chosen(self) -> None:
        """What is to be said of the axis under the cursor, and of the supplies."""
        name, answer = self.chosen, self.answer
        if name is None or answer is None or name not in {each.axis.name for each in answer.axes}:
            bare = None if name is None else self.machine.axis_answer(name)
            self.put("told", "" if bare is None else "\n".join(axis_head(bare).lines))
            self.put("supplies", "")
            self.why = () if bare is None else axis_why(bare)
            self.show_why()
            return
        self.put("told", "\n".join(told_of(answer, name)))
        self.put("supplies", "\n".join(supplies_of(answer)))
        self.why = why_of(answer, name)
        self.show_why()

    def show_why(self) -> None:
        """The reasons, where there is room for them or they were asked for."""
        why = self.query_one(Why)
        why.put(self.why)
        why.display = self.why_open and bool(self.why)

    @property
    def why_open(self) -> bool:
        return self.has_class("-tall") if self.why_wanted is None else self.why_wanted

    def on_resize(self) -> None:
        self.call_after_refresh(self.show_why)

    def action_machine_why(self) -> None:
        self.why_wanted = not self.why_open
        self.show_why()
        self.call_after_refresh(self.show_its_beginning)

    def show_its_beginning(self) -> None:
        """Where the reasons begin, or what matters before them; once they have their place."""
        more = self.query_one("#machine-more")
        if self.why_open:
            more.scroll_to_widget(self.query_one(Why), top=True, animate=False)
        else:
            more.scroll_home(animate=False)

    def head(self, head: Head) -> None:
        self.query_one(HeadLines).put(head)

    def put(self, part: str, text: str) -> None:
        line = self.query_one(f"#machine-{part}", Static)
        line.display = bool(text)
        line.update(text)

    # What a person does

    @on(DataTable.RowSelected)
    def action_machine_change(self) -> None:
        name = self.chosen
        if name is None:
            self.action_machine_add()
            return
        try:
            kind, _ = self.machine.axis(name)
        except CoilbenchError as problem:
            self.bench.show_problem(problem)
            return
        self._form(kind, name)

    def action_machine_add(self) -> None:
        def picked(place: int | None) -> None:
            if place is not None:
                self._form(list(KIND_WORDS)[place])

        kinds = [f"{kind:<6} {words}" for kind, words in KIND_WORDS.items()]
        self.app.push_screen(PickOneDialog("what does the motor turn?", "", kinds), picked)

    def _form(self, kind: str, name: str = "") -> None:
        from coilbench.ui.screens.axis import AxisScreen

        def kept(changed: bool | None) -> None:
            if changed:
                self.bench.tell("kept" if self.machine.path else "changed; k names a file for it")
                self.work_out()

        self.app.push_screen(AxisScreen(self.machine, kind, name), kept)

    def action_machine_remove(self) -> None:
        name = self.chosen
        if name is None:
            return

        def answered(yes: bool | None) -> None:
            if yes:
                try:
                    self.machine.remove(name, self.bench.bin)
                except CoilbenchError as problem:
                    self.bench.show_problem(problem)
                self.work_out()

        text = f"{name} and all that was said of it; undo brings it back."
        self.app.push_screen(ConfirmDialog("take this axis out?", text, "take it out"), answered)

    def action_machine_undo(self) -> None:
        try:
            done = self.machine.undo()
        except CoilbenchError as problem:
            self.bench.show_problem(problem)
            return
        self.bench.tell("taken back" if done else "nothing to take back")
        self.work_out()

    def action_machine_torque(self) -> None:
        from coilbench.ui.dialogs.torque import TorqueScreen

        if self.answer is None or self.chosen is None:
            return
        fit = next(each for each in self.answer.axes if each.axis.name == self.chosen)
        try:
            self.app.push_screen(TorqueScreen(torque_of_axis(fit, self.bench.bin.own())))
        except CoilbenchError as problem:
            self.bench.show_problem(problem)

    def action_machine_sheet(self) -> None:
        note = "its ending tells the form: .html to print, .md, .txt, .json"
        self._write("the machine's sheet", note, "", label=False)

    def action_machine_labels(self) -> None:
        note = "its ending tells the form: .html for a sticker sheet, .txt for tape"
        self._write("a label for each motor", note, "-labels", label=True)

    def _write(self, title: str, note: str, name_ends: str, *, label: bool) -> None:
        answer = self.answer
        if answer is None:
            return

        def write(path: Path) -> None:
            save_sheet(sheet_of(answer, self.bench.bin, date.today()), path, label=label)

        def written(path: Path | None) -> None:
            if path is not None:
                self.bench.tell(f"{title}: {path}")

        machine = self.machine.path or Path("machine.toml")
        name = machine.with_name(f"{machine.stem}{name_ends}.html")
        self.app.push_screen(WriteFileDialog(title, note, str(name), write), written)

    def action_machine_file(self) -> None:
        """Choose a machine; who chooses none goes back where there is none."""
        bin_path = self.bench.bin_path
        folders = [Path.cwd(), *([bin_path.parent] if bin_path is not None else [])]

        def picked(work: MachineWork | None) -> None:
            if work is not None:
                self.bench.machine = work
                self.work_out()
            elif self.bench.machine is None:
                self.dismiss(None)

        self.app.push_screen(PickMachineDialog(machine_files(*folders)), picked)

    def action_machine_keep(self) -> None:
        def kept(path: Path | None) -> None:
            if path is not None:
                self.bench.tell(f"kept in {path}; every change goes there from now on")
                self.work_out()

        note = "every change is kept there from then on"
        dialog = WriteFileDialog("a file for this machine", note, "machine.toml", self.machine.save_as)
        self.app.push_screen(dialog, kept)

    def action_machine_back(self) -> None:
        self.dismiss(None)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if not self.is_mounted or not self.query(AxesTable):
            return True
        if action in ("machine_change", "machine_remove"):
            return self.chosen is not None
        if action in ("machine_torque", "machine_sheet"):
            return self.answer is not None
        if action == "machine_labels":
            return self.answer is not None and any(each.there for each in self.answer.axes)
        if action == "machine_keep":
            return self.bench.machine is not None and self.machine.path is None and bool(self.machine.text)
        return True
