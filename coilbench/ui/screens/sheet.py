"""A motor's bench sheet: stages down one side, the present stage's work in the middle, what is known beside it."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.containers import Container, Horizontal, Vertical
from textual.message import Message
from textual.widgets import Static

from coilbench.errors import CoilbenchError
from coilbench.plain_text import inert
from coilbench.stages.desk import Desk
from coilbench.stages.drawn import drawn
from coilbench.stages.head import NOTHING
from coilbench.stages.outdated import outdated
from coilbench.stages.overview import warning
from coilbench.stages.strip import strip_of
from coilbench.stages.table import STAGES, next_row, not_needed, onward, row
from coilbench.stages.table import StageRow as Row
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.dialogs.basic import TextDialog
from coilbench.ui.drawing import picture_of
from coilbench.ui.facts import in_columns
from coilbench.ui.panes import STYLES, pane_of
from coilbench.ui.panes.base import StagePane
from coilbench.ui.steady import Steady
from coilbench.ui.widgets.beside import Beside
from coilbench.ui.widgets.foot import Foot
from coilbench.ui.widgets.head import HeadLines
from coilbench.ui.widgets.motor_strip import MotorStrip, StageWanted
from coilbench.ui.widgets.stage_area import Picture
from coilbench.ui.widgets.titlebar import TitleBar

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.records.store import Bin


LOOK_AGAIN_SECONDS = 2.0


class StageRow(Static):
    """One stage in the list: its mark and name; a click shows it."""

    class Clicked(Message):
        def __init__(self, stage_id: str) -> None:
            super().__init__()
            self.stage_id = stage_id

    def __init__(self, spec: Row) -> None:
        super().__init__("", id=f"stage-{spec.id}", markup=False)
        self.spec = spec
        self.tooltip = spec.says

    def show(self, *, done: bool, present: bool, idle: bool = False) -> None:
        """Mark the stage: done, at work, with nothing to do (``idle``), or none of these."""
        mark = "✓" if done else "–" if idle else "·"
        beside = f" {mark}" if done or idle else ""
        self.update(f"▸ {self.spec.title}{beside}" if present else f"{mark} {self.spec.title}")
        self.set_class(present, "-present")

    def on_click(self, event: events.Click) -> None:
        event.stop()
        self.post_message(self.Clicked(self.spec.id))


class SheetFoot(Foot):
    """Where there is no room for all keys, undo stands last: its key is the same everywhere."""

    def compose(self) -> ComposeResult:
        keys = list(super().compose())
        if self.screen.has_class("-tiny"):
            keys.sort(key=lambda each: getattr(each, "action", "") == "sheet_undo")
        yield from keys


class BenchSheet(Steady[None]):
    """The sheet of one motor. Panes post messages; the sheet owns what stands around them."""

    CSS_PATH: ClassVar[list[str]] = [  # type: ignore[assignment]
        "sheet.tcss",
        *(f"../panes/{styles}" for styles in STYLES),
    ]
    BINDINGS: ClassVar[list[BindingType]] = bindings_for("sheet")

    def __init__(self, motor_name: str, *, stage_id: str | None = None) -> None:
        super().__init__()
        self.motor_name = motor_name
        self.stage_id = stage_id or ""
        self.pane: StagePane[Any] | None = None  # the stage at work, once it is mounted
        self.picture: Picture | None = None
        self._seen = 0
        self._changing = asyncio.Lock()
        self._parts_came = False
        self.beside = Beside()  # the drawing and the reasons, beside the work or below it
        self._live: set[tuple[str | None, bool]] = set()  # keys in the footer

    def compose(self) -> ComposeResult:
        yield TitleBar()
        yield MotorStrip()
        yield Static("", id="sheet-warning", markup=False)
        yield Static("", id="sheet-optional", markup=False)
        with Horizontal(id="sheet"):
            with Vertical(id="stage-list"):
                for spec in STAGES:
                    yield StageRow(spec)
            with Vertical(id="stage"):
                yield HeadLines(id="head")
                with Container(id="under"):
                    yield Container(id="work")
                    yield self.beside
        yield SheetFoot()

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    @property
    def bin(self) -> Bin:
        return self.bench.bin

    @property
    def stands(self) -> bool:
        """Whether its parts are there: a key may come before they are, what comes after a redraw when it is left."""
        # Not displayed: it is being taken apart. Asked at every key and redraw, so nothing is searched for.
        return self._parts_came and self.display and self.beside.stands

    async def on_mount(self) -> None:
        self._parts_came = True
        self._seen = self.bin.seen()
        self.set_interval(LOOK_AGAIN_SECONDS, self.look_again)
        await self.show_stage(self.stage_id or first_stage(self.bin, self.motor_name))

    def on_key(self, event: events.Key) -> None:
        """Here, for the focus may be anywhere when somebody hits a key in a fright; a key that nothing else takes
        does the stage's main thing, is typed into the first empty field, or is refused aloud."""
        if self.pane is None:
            return
        if self.pane.takes(event.key):
            event.stop()
            return
        if event.key in ("pageup", "pagedown") and self.beside.why_open:
            event.stop()
            self.beside.page(event.key)
            return
        live = self.active_bindings.get(event.key)
        if live is not None and live.enabled:
            return
        said = ""
        if event.key == "enter":
            said = self.pane.enter()
        elif event.is_printable and event.character is not None:
            said = self.pane.typed(event.character)
        else:
            return
        event.stop()
        if said:
            self.bench.tell(said)

    @on(StagePane.Onward)
    async def go_on(self, event: StagePane.Onward) -> None:
        event.stop()
        await self.action_sheet_next()

    def look_again(self) -> None:
        """Another bench on the same bin may have changed it, or deleted the motor."""
        seen = self.bin.seen()
        if seen == self._seen:
            return
        self._seen = seen
        try:
            self.bin.motor(self.motor_name)
            if self.pane is not None:
                self.pane.changed_elsewhere()
            self.refresh_around()
        except CoilbenchError as problem:
            if self.is_current:
                self.dismiss(None)
            self.bench.show_problem(problem)

    async def show_stage(self, stage_id: str, *, going_on: bool = False, says: str = "") -> None:
        """Put a stage's work in the middle, one after the other: a key comes by the app, a click by the sheet.

        ``going_on`` from one that is done; ``says`` is told with it.
        """
        async with self._changing:
            await self._change_to(stage_id, going_on, says)

    async def _change_to(self, stage_id: str, going_on: bool, says: str) -> None:
        if not self.stands:
            return
        try:
            pane = pane_of(row(stage_id), Desk(self.bin, self.motor_name))
        except CoilbenchError as error:
            self.bench.show_problem(error)
            return
        says = "; ".join(filter(None, ("" if self.pane is None else self.pane.leaving(onward=going_on), says)))
        self.stage_id, self.pane = stage_id, None
        self.say_where()  # at once: the rest may take a moment
        work = self.query_one("#work", Container)
        await work.remove_children()
        if not self.stands:
            return
        self.picture = None
        await work.mount(pane)
        if not self.stands:
            return
        self.pane = pane
        self.beside.where_wide_only = stage_id in ("intake", "jog")  # else the fields need the room
        if self.picture is None:
            self.picture = picture_of(drawn(pane.desk), ascii=self.bench.plain_characters)
        pane.focus_first()
        self.refresh_around()
        if says:
            self.bench.tell(says)
        self.refresh_bindings()

    def refresh_bindings(self) -> None:
        """The footer is costly to build anew: only where its keys have changed."""
        live = {(active.binding.id, active.enabled) for active in self.active_bindings.values()}
        if live != self._live or not self.query("FooterKey"):
            self._live = live
            super().refresh_bindings()

    def refresh_around(self) -> None:
        """Redraw title, done marks and what is known."""
        known = self.bin.known(self.motor_name)
        idle = not_needed(known)
        for each in self.query(StageRow):
            name = each.spec.id
            each.show(done=name in known, present=name == self.stage_id, idle=name in idle)
        self.say_where()
        self.show_warning()
        self.query_one(MotorStrip).show(strip_of(known), self.stage_id)
        self.show_head()

    @property
    def facts(self) -> list[str]:
        """What is known of the motor by all stages, this one's first."""
        known = self.bin.known(self.motor_name)
        lines = [] if self.pane is None else list(self.pane.known())
        for spec in STAGES:
            if spec.id in known and spec.id != self.stage_id:
                lines += spec.stage_class().summary(known)
        return in_columns(lines)

    @on(StagePane.HeadChanged)
    def head_changed(self, event: StagePane.HeadChanged) -> None:
        event.stop()
        self.show_head()

    def show_head(self) -> None:
        """What stands first, and why."""
        if not self.stands:
            return
        head = NOTHING if self.pane is None else self.pane.head
        self.query_one(HeadLines).put(head, plain=self.bench.plain_characters)
        self.beside.picture = self.picture
        self.beside.put_why(head.why)

    def action_sheet_why(self) -> None:
        """Open the reasons, or fold them away."""
        if self.beside.has_why:
            self.beside.turn_why()
        else:
            self.bench.tell("there is no more to say here")

    def say_where(self) -> None:
        """Motor, stage and whose bin."""
        if not self.stands:
            return
        place = [spec.id for spec in STAGES].index(self.stage_id) + 1
        name, of_all = row(self.stage_id).title, f", stage {place} of {len(STAGES)}"
        whose = "read only" if self.bin.read_only else "demo bin" if self.bench.demo else "your bin"
        if self.has_class("-tiny"):
            of_all = f" {place}/{len(STAGES)}"
        self.query_one(TitleBar).say(f"{self.motor_name}   {name}{of_all}   {whose}")

    def show_warning(self) -> None:
        """A faulty winding stands over every stage, and what was kept by figures that have changed since; the
        windings say their faults themselves, and more."""
        says = "" if self.stage_id == "windings" else warning(self.bin.known(self.motor_name))
        says = says or outdated(Desk(self.bin, self.motor_name))
        line = self.query_one("#sheet-warning", Static)
        line.display = bool(says)
        line.update(f"! {inert(says)}")
        optional = not_needed(self.bin.known(self.motor_name)).get(self.stage_id, "")
        beside = self.query_one("#sheet-optional", Static)
        beside.display = bool(optional) and not says
        beside.update(f"optional: {optional}")

    @on(StagePane.FactsChanged)
    def facts_changed(self, event: StagePane.FactsChanged) -> None:
        event.stop()
        if event.picture is not None:
            self.picture = event.picture
        self.refresh_around()
        self.refresh_bindings()

    def on_resize(self) -> None:
        if self.stands:
            self.call_after_refresh(self.beside.lay_out)
        if self.stage_id:
            self.call_after_refresh(self.say_where)

    @on(StagePane.Renamed)
    def renamed(self, event: StagePane.Renamed) -> None:
        event.stop()
        self.motor_name = event.name
        if self.bench.virtual is not None:
            self.bench.virtual.rename(event.before, event.name)
        self.refresh_around()

    @on(StageRow.Clicked)
    @on(StageWanted)
    async def stage_clicked(self, event: StageRow.Clicked | StageWanted) -> None:
        event.stop()
        await self.show_stage(event.stage_id)

    async def action_sheet_back(self) -> None:
        place = STAGES.index(row(self.stage_id))
        if place:
            await self.show_stage(STAGES[place - 1].id)

    async def action_sheet_next(self) -> None:
        """On to the next stage that this motor needs, with what is passed over said."""
        found = onward(self.stage_id, self.bin.known(self.motor_name))
        if found.row is None:
            self.bench.tell(found.says)
        else:
            await self.show_stage(found.row.id, going_on=True, says=found.says)

    def action_sheet_undo(self) -> None:
        if self.pane is not None:
            self.pane.undo()

    def action_sheet_redo(self) -> None:
        if self.pane is not None:
            self.pane.redo()

    def action_sheet_bin(self) -> None:
        if self.pane is not None and self.pane.cancel():
            return
        if self.pane is not None and (says := self.pane.leaving()):
            self.app.call_later(self.bench.tell, says)  # on the bin
        self.dismiss(None)

    def action_sheet_copy(self) -> None:
        picture = self.picture(76, 60).plain if self.picture is not None else ""
        text = "\n".join([*(self.facts or ["nothing yet"]), "", picture]).rstrip()
        dialog = TextDialog(self.motor_name, text)
        self.app.push_screen(dialog)
        self.call_after_refresh(dialog.action_copy)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action.startswith("sheet_") and not self.stands:
            return False
        ids = [spec.id for spec in STAGES]
        if action == "sheet_back":
            return self.stage_id != ids[0]
        if action == "sheet_next":
            return self.stage_id != ids[-1]
        if action in ("sheet_undo", "sheet_redo"):
            stage = self.pane.stage if self.pane is not None else None
            return stage is not None and (stage.can_undo if action == "sheet_undo" else stage.can_redo)
        return True


def first_stage(bin: Bin, motor_name: str) -> str:
    """Where to go on with a motor; with all done, at its windings."""
    found = next_row(bin.known(motor_name))
    return "windings" if found is None else found.id
