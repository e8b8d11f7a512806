"""What is to be done at the bench, to be ticked off one by one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Button, OptionList, Static
from textual.widgets.option_list import Option

from coilbench.plain_text import inert
from coilbench.stages.to_do import Task, as_markdown, task_lines
from coilbench.ui.dialogs.basic import SENT
from coilbench.ui.steady import Dialog

if TYPE_CHECKING:
    from textual.binding import BindingType


class TaskList(OptionList):
    """The tasks; Enter, space or a click ticks one."""

    BINDINGS: ClassVar[list[BindingType]] = [("space", "select", "tick")]
    HELP_TITLE = "to do"
    HELP = "Enter, space or a click ticks what is done; c copies the list. Ticks last until the bench is closed."


class ToDoDialog(Dialog[None]):
    """A list of tasks; ``done`` are those ticked in this sitting, and stays what it is about."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape,q", "dismiss(None)", "close"), ("c", "copy", "copy")]

    def __init__(self, title: str, tasks: Sequence[Task], done: set[Task], warning: str = "") -> None:
        super().__init__()
        self.title_text, self.tasks, self.done, self._warning = title, tuple(tasks), done, warning

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static(self.title_text, classes="dialog-title", markup=False)
            if self._warning:
                yield Static(f"warning: {self._warning}", classes="dialog-text", markup=False)
            yield TaskList(
                *(Option(self._shown(place)) for place in range(len(self.tasks))), id="tasks", compact=True
            )
            yield Static("", id="tasks-left", classes="field-note", markup=False)
            with Horizontal(classes="dialog-buttons"):
                yield Button("copy (c)", id="copy", compact=True)
                yield Button("close (esc)", id="close", variant="primary", compact=True)

    def on_mount(self) -> None:
        tasks = self.query_one(TaskList)
        tasks.highlighted = next((place for place, each in enumerate(self.tasks) if each not in self.done), 0)
        tasks.focus()
        self._count()

    def _shown(self, place: int) -> Content:
        task = self.tasks[place]
        return Content(inert_lines(task_lines(place + 1, task, done=task in self.done)))

    def _count(self) -> None:
        left = sum(each not in self.done for each in self.tasks)
        self.query_one("#tasks-left", Static).update(f"{left} left; Enter or space ticks" if left else "all done")

    @on(OptionList.OptionSelected)
    def ticked(self, event: OptionList.OptionSelected) -> None:
        """Tick it, or take the tick back; a tick leads on to the next task."""
        place = event.option_index
        self.done ^= {self.tasks[place]}
        tasks = self.query_one(TaskList)
        tasks.replace_option_prompt_at_index(place, self._shown(place))
        if self.tasks[place] in self.done and place + 1 < len(self.tasks):
            tasks.highlighted = place + 1
        self._count()

    @on(Button.Pressed, "#copy")
    def action_copy(self) -> None:
        self.app.copy_to_clipboard(as_markdown(self.title_text, self.tasks, self.done))
        self.query_one("#copy", Button).label = SENT

    @on(Button.Pressed, "#close")
    def close_it(self) -> None:
        self.dismiss(None)


def inert_lines(lines: Sequence[str]) -> str:
    """Lines with nothing in them that drives a terminal."""
    return "\n".join(map(inert, lines))
