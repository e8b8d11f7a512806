"""Why it is so: sources, tolerances, notes. Folded away where there is no room, one key opens and closes it."""

from __future__ import annotations

from collections.abc import Sequence

from textual.widgets import Static


class Why(Static):
    """The paragraphs behind a stage's head."""

    DEFAULT_CSS = "Why { height: auto; color: $text-muted; }"

    def __init__(self) -> None:
        super().__init__("", id="why", markup=False)
        self.paragraphs: tuple[str, ...] = ()

    def put(self, paragraphs: Sequence[str]) -> None:
        """Show them, one below the other; the first line of each stands out to the left."""
        self.paragraphs = tuple(each for each in paragraphs if each)
        self.update("\n".join(f"- {each}" for each in self.paragraphs))
