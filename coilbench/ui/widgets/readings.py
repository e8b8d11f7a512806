"""The list of readings taken so far, newest first; one can be corrected or deleted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from coilbench.stages.windings.words import ReadingRow
from coilbench.ui.actions import bindings_for

if TYPE_CHECKING:
    from textual.binding import BindingType


class ReadingList(OptionList):
    """Readings of one motor; each option's id is the reading's number in the bin."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("readings")
    HELP_TITLE = "the readings so far"
    HELP = (
        "Newest first. A reading marked with ! doesn't fit the others: measure it once more. One marked with x "
        "is overruled by another of the same pair and no longer counts. Choose one with the "
        "arrow keys; Enter corrects it, d deletes it, Escape goes back to the question."
    )

    class DeleteWanted(Message):
        """The chosen reading is to go."""

        def __init__(self, reading_id: int) -> None:
            super().__init__()
            self.reading_id = reading_id

    class Left(Message):
        """Back to the question."""

    def action_windings_change(self) -> None:
        self.action_select()

    def action_windings_delete(self) -> None:
        chosen = self.chosen_id()
        if chosen is not None:
            self.post_message(self.DeleteWanted(chosen))

    def action_windings_leave(self) -> None:
        self.post_message(self.Left())

    def put(self, rows: Sequence[ReadingRow]) -> None:
        """Show these readings, the newest first."""
        chosen = self.chosen_id() if self.has_focus else None  # from outside one comes to the newest
        self.clear_options()
        for row in reversed(rows):
            line = f"{row.mark:1}{row.number:>2} {f'{row.a} – {row.b}':<12} {row.ohms:>9}"
            self.add_option(Option(Content(line), id=str(row.id)))
        for place, option in enumerate(self.options):
            if option.id == str(chosen):
                self.highlighted = place

    def chosen_id(self) -> int | None:
        """The number in the bin of the reading under the cursor."""
        if self.highlighted is None or not self.option_count:
            return None
        option_id = self.get_option_at_index(self.highlighted).id
        return int(option_id) if option_id else None
