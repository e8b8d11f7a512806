"""What every screen of the bench is, dialogs and the palette too: one that a hurried hand can't upset."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from textual import events, on
from textual.await_complete import AwaitComplete
from textual.screen import ModalScreen, Screen

T = TypeVar("T")
A = TypeVar("A")


class Steady(Screen[T]):
    """Of any screen."""

    @on(events.Resize)
    def pass_over_old_size(self, event: events.Resize) -> None:
        """Pass over a size that the terminal no longer has.

        Textual lays a screen out for each size it is told, and tells it that size once more for having changed: of
        two sizes that wait with a key between them each brings the other back, for ever.
        """
        if event.size != self.app.size:
            event.prevent_default()

    def ask(self, dialog: Screen[A], answered: Callable[[A | None], None] | None = None) -> None:
        """Put a dialog over this screen, once: the second half of a double click, or of a key, finds one there."""
        if self.app.screen is self:
            self.app.push_screen(dialog, answered)

    def dismiss(self, result: T | None = None) -> AwaitComplete:
        """Go, once: the second half of a double click would take the screen beneath along."""
        return super().dismiss(result) if self.app.screen is self else AwaitComplete()


class Dialog(ModalScreen[T], Steady[T]):  # in this order: styles come from the first alone
    """A page over the screen, its answer a ``T``."""

    @property
    def unsaved_place(self) -> str:
        """What was typed here and not saved, in a few words; empty where nothing was."""
        return ""
