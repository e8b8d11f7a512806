"""The connection stage, drawn: a few fields, the ways to connect side by side, the wiring of the one picked."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Button, Input, OptionList
from textual.widgets.option_list import Option

from coilbench.errors import CoilbenchError
from coilbench.stages.connection.answer import ConnectionAnswer, cells
from coilbench.stages.connection.stage import ConnectionStage
from coilbench.ui.actions import bindings_for
from coilbench.ui.drawing import picture_of
from coilbench.ui.panes.base import Caution, Said
from coilbench.ui.panes.form import FormPane

if TYPE_CHECKING:
    from collections.abc import Mapping

    from textual.binding import BindingType


class ConnectionList(OptionList):
    """The connections; Enter takes the chosen one."""

    HELP_TITLE = "connections"
    HELP = (
        "Every way this motor can be connected, at the same heat. The current is the peak to set, per winding: what "
        "it is rated for with two phases on, or what the driver carries. x1.41 is the torque at "
        "rest, times one half-winding's as rated; then what it pulls at speed on your supply, and the speed at which "
        "half of that pull is left."
    )


class ConnectionPane(FormPane[ConnectionStage]):
    """A few fields about the driver, the list, and the wiring of the chosen row."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("connection")

    def __init__(self, stage: ConnectionStage) -> None:
        super().__init__(stage)
        self.answer: ConnectionAnswer | None = None

    def compose(self) -> ComposeResult:
        with VerticalScroll(can_focus=False):
            yield from self.compose_fields()
            yield Button("", id="drive", compact=True)
            yield ConnectionList(id="connections", compact=True)
            yield Button("every road (^r)", id="roads", compact=True)
            yield Said()
        yield Button("take this one (Enter)", id="take", variant="primary", compact=True)
        yield Caution(self.stage.CAUTION)

    def on_key(self, event: events.Key) -> None:
        """Up and down go through the connections from any field."""
        listing = self.query_one(ConnectionList)
        if event.key in ("up", "down") and not listing.has_focus:
            event.stop()
            (listing.action_cursor_up if event.key == "up" else listing.action_cursor_down)()

    def show_answer(self) -> None:
        """Work the rows out anew; the one picked stays picked where it is among them."""
        self.answer = self.answered()
        if self.answer is not None:
            self.query_one("#drive", Button).label = f"driver: {self.answer.drive} (F6)"
        self.query_one("#roads").display = self.answer is not None and self.answer.has_taps
        self._fill()
        self._show_picked()

    def _fill(self) -> None:
        listing = self.query_one(ConnectionList)
        with self.prevent(OptionList.OptionHighlighted):
            listing.clear_options()
            if self.answer is None or self.answer.choice is None or self.answer.picked is None:
                return
            wide = self.size.width >= 56
            for row in self.answer.rows:
                chosen = row.connection == self.answer.choice.choose
                listing.add_option(
                    Option(Content(row_text(row.connection, cells(row, self.answer, 2), chosen=chosen, wide=wide)))
                )
            listing.highlighted = self.answer.rows.index(self.answer.picked)

    def on_resize(self) -> None:
        self._fill()

    @on(OptionList.OptionHighlighted)
    def picked_another(self, event: OptionList.OptionHighlighted) -> None:
        event.stop()
        if self.answer is not None:
            self.unseen["take"] = self.answer.rows[event.option_index].connection
            self.answer = self.answered()
        self._show_picked()

    def _show_picked(self) -> None:
        answer = self.answer
        self.query_one("#take").display = answer is not None
        picture = None if answer is None else answer.picture()
        self.facts_changed(picture_of(picture, ascii=self.bench.plain_characters))

    @on(Input.Changed, "#connection-driver")
    def another_driver(self, event: Input.Changed) -> None:
        self.unseen["drive"] = self.stage.with_driver(self.texts, event.value).get("drive", "")

    @on(Button.Pressed, "#drive")
    def action_connection_drive(self) -> None:
        now = self.answer.drive if self.answer is not None else self.unseen.get("drive")
        self.unseen["drive"] = "bipolar" if now == "unipolar" else "unipolar"
        self.answer_typed()

    def action_connection_torque(self) -> None:
        from coilbench.ui.dialogs.torque import TorqueScreen

        if self.answer is not None:
            self.app.push_screen(TorqueScreen(self.stage.torque_plot(self.texts)))

    @on(Button.Pressed, "#roads")
    def action_connection_roads(self) -> None:
        from coilbench.stages.connection.roads import Roads
        from coilbench.ui.dialogs.roads import RoadsScreen

        try:
            found = Roads(self.desk).roads(self.texts)
        except CoilbenchError as problem:
            self.say(str(problem), problem=True)
        else:
            self.app.push_screen(RoadsScreen(self.desk.motor, found))

    @on(OptionList.OptionSelected)
    @on(Button.Pressed, "#take")
    def action_connection_take(self) -> None:
        self.keep()

    def keep(self) -> None:
        if self.answer is None or self.answer.picked is None:
            return
        self.stage.keep(self.texts)
        self.say(f"{self.answer.picked.connection} kept; F3 goes on to the driver")
        self.facts_changed()


def row_text(name: str, told: Mapping[str, str], *, chosen: bool, wide: bool) -> str:
    """A row of the list: one line where there is room, else one for the current, the winding and the speed each."""
    torque = f" x{told['torque at rest']:>4}" if told["torque at rest"] else ""
    head = f"{'*' if chosen else ' '} {name:<9} {told['set peak']:>7}{torque}"
    winding = "  ".join(filter(None, (told["ohms"], told["henry"])))
    pulls = [f"{text} {column}" for column, text in told.items() if text and column.startswith("at ")]
    speed = "  ".join((*pulls, f"half at {told['half at rpm']}")) if pulls else ""
    if wide:
        return f"{head}   {'  '.join(filter(None, (winding, speed)))}"
    return "\n".join(filter(None, (head, f"  {winding}", speed and f"  {speed.replace(' rpm', '')}")))
