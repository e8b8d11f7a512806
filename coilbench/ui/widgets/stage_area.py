"""The part of a bench sheet where a stage's work stands."""

from __future__ import annotations

from collections.abc import Callable

from textual.containers import Container
from textual.content import Content

Picture = Callable[[int, int], Content]  # draws for a width and height in cells


class StageArea(Container):
    """What help and dialogs over it may ask of a stage's pane."""

    @property
    def words(self) -> str:
        """The trade's words of this stage, in plain ones, for the help."""
        return ""

    @property
    def unsaved_place(self) -> str:
        """The motor and stage whose texts were typed and not saved; empty where none were."""
        return ""

    def bench_changed(self) -> None:
        """What is at the bench is another: show what the stage starts from now."""

    def covered(self) -> str:
        """A page is about to cover the stage: what it must say of that; empty where nothing moves."""
        return ""
