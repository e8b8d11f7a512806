"""One axis of a machine as a form: what it comes to as one types, kept in the machine's file."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import Input, Static

from coilbench.errors import CoilbenchError
from coilbench.stages.axis.fields import AxisField
from coilbench.stages.head import Head
from coilbench.stages.machine.keys import form_fields
from coilbench.stages.machine.scene import axis_head
from coilbench.stages.machine.work import MachineWork, axis_tried
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.dialogs.basic import ConfirmDialog
from coilbench.ui.steady import Steady
from coilbench.ui.widgets.field import Field
from coilbench.ui.widgets.foot import Foot
from coilbench.ui.widgets.head import HeadLines
from coilbench.ui.widgets.stage_area import StageArea
from coilbench.ui.widgets.titlebar import TitleBar
from coilbench.ui.widgets.why import Why

if TYPE_CHECKING:
    from textual.binding import BindingType


class AxisInput(Field):
    """One thing that is said of an axis."""

    def __init__(self, field: AxisField) -> None:
        super().__init__(id=f"axis-{field.key}", compact=True, placeholder=field.help)
        self.field = field
        self.help_title = field.key
        self.help_text = f"{field.help}. May stay empty. A figure has its unit: 20 mm, 4 kg, 90 deg. Enter keeps all."


class AxisArea(StageArea):
    """What is typed and not kept is known to the one who quits."""

    WORDS = (
        "Lead: travel of a turn, pitch times starts. Incline: 90 deg is a lift. Margin: what the motor pulls over "
        "what is asked; 2 is the trade's, 1.5 where the load was measured. Carries: axes that ride on this one."
    )

    @property
    def unsaved_place(self) -> str:
        screen = self.screen
        return "an axis" if isinstance(screen, AxisScreen) and screen.is_changed else ""


class AxisScreen(Steady[bool]):
    """The form; its answer is whether the machine changed."""

    CSS_PATH: ClassVar[list[str]] = ["axis.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = bindings_for("axis")

    def __init__(self, work: MachineWork, kind: str, name: str = "") -> None:
        super().__init__()
        self.work, self.kind, self.axis_name = work, kind, name
        self.why_wanted: bool | None = None  # opened or folded by the person; None: open where there is room
        self.before = work.axis(name)[1] if name else work.first_texts()

    def compose(self) -> ComposeResult:
        yield TitleBar()
        yield HeadLines(id="axis-head")
        yield Static("", id="axis-said", markup=False)
        with AxisArea(id="axis-area"):
            with VerticalScroll(id="axis-fields", can_focus=False):
                for field in form_fields(self.kind):
                    with Horizontal(classes="axis-row"):
                        yield Static(field.key, classes="axis-label", markup=False)
                        yield AxisInput(field)
            with VerticalScroll(id="axis-more"):
                yield Why()
        yield Foot()

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    def on_mount(self) -> None:
        self.query_one(TitleBar).say(f"{self.axis_name or 'another axis'}   {self.kind}   {self.work.name}")
        with self.prevent(Input.Changed):
            for each in self.query(AxisInput):
                each.put(self.before.get(each.field.key, ""))
        empty = (each for each in self.query(AxisInput) if not each.value)
        (next(empty, None) or self.query(AxisInput).first()).focus()
        self.show_answer()

    @property
    def texts(self) -> dict[str, str]:
        """What is typed, by the field's key."""
        return {each.field.key: each.value for each in self.query(AxisInput)}

    @property
    def is_changed(self) -> bool:
        """Whether something else stands in the fields than in the machine."""
        return {key: text for key, text in self.texts.items() if text.strip()} != self.before

    @on(Input.Changed, "AxisInput")
    def typing(self, event: Input.Changed) -> None:
        event.stop()
        self.show_answer()

    def show_answer(self) -> None:
        """What the fields come to by themselves; what is missing while that can't be said."""
        head, why = self.query_one(HeadLines), self.query_one(Why)
        try:
            answer = axis_tried(self.kind, self.texts)
        except CoilbenchError as problem:
            head.put(Head("what does the axis do?"))
            self.say(problem.happened, problem=any(self.texts.values()))
            why.put(())
            return
        found = axis_head(answer)
        head.put(found, plain=self.bench.plain_characters)
        why.put(found.why)
        self.say("not kept yet: Enter keeps it" if self.is_changed else "")

    def say(self, text: str, *, problem: bool = False) -> None:
        said = self.query_one("#axis-said", Static)
        said.update(text)
        said.set_class(problem, "-problem")

    @on(Input.Submitted, "AxisInput")
    def entered(self, event: Input.Submitted) -> None:
        event.stop()
        self.action_axis_keep()

    def action_axis_keep(self) -> None:
        try:
            self.work.put(self.kind, self.texts, self.bench.bin, self.axis_name)
        except CoilbenchError as problem:
            bench = "; F10 opens my bench" if "coilbench bench" in problem.happened else ""
            self.say(f"{problem}{bench}", problem=True)
            self._go_to(problem.happened)
            return
        self.dismiss(True)

    def _go_to(self, happened: str) -> None:
        """Put the cursor where what happened is to be mended."""
        for each in self.query(AxisInput):
            if f", {each.field.key}:" in happened:
                each.focus()
                return

    def action_axis_why(self) -> None:
        self.why_wanted = not self.has_class("-why")
        self.lay_out()

    def lay_out(self) -> None:
        """The reasons stand open where there is room for them or they were asked for."""
        self.set_class(self.has_class("-wide") if self.why_wanted is None else self.why_wanted, "-why")

    def on_resize(self) -> None:
        self.call_after_refresh(self.lay_out)

    def action_axis_back(self) -> None:
        """Back; what was typed is asked for first."""
        if not self.is_changed:
            self.dismiss(False)
            return

        def answered(lose: bool | None) -> None:
            if lose:
                self.dismiss(False)

        text = "What was typed here is not kept yet; Enter in a field keeps it."
        self.app.push_screen(ConfirmDialog("leave this axis?", text, "leave, lose it", "stay"), answered)
