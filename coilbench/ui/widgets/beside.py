"""Beside a stage's work: the drawing of the motor, and why it is so."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from coilbench.ui.widgets.stage_area import Picture
from coilbench.ui.widgets.why import Why


class Beside(VerticalScroll):
    """The drawing as large as there is room, the reasons below it; where there is no room for both, one of them."""

    DEFAULT_CSS = """
    Beside { width: 37; height: 1fr; padding: 0 0 0 1; border-left: vkey $border-blurred; }
    Beside #picture { height: auto; width: auto; }
    """

    def __init__(self) -> None:
        super().__init__(id="beside", can_focus=False)
        self._drawn, self._why = Static("", id="picture", markup=False), Why()
        self.picture: Picture | None = None
        self.where_wide_only = False  # the drawing
        self.why_wanted: bool | None = None  # opened or folded by the person; None: open where there is room

    def compose(self) -> ComposeResult:
        yield self._drawn
        yield self._why

    @property
    def stands(self) -> bool:
        """Whether its parts are there."""
        return self._why.is_attached

    @property
    def has_why(self) -> bool:
        """Whether there are any reasons."""
        return bool(self._why.paragraphs)

    @property
    def why_open(self) -> bool:
        """Whether the reasons stand open."""
        roomy = self.screen.has_class("-wide") and not self.screen.has_class("-jogging")
        return self.has_why and (roomy if self.why_wanted is None else self.why_wanted)

    def put_why(self, paragraphs: Sequence[str]) -> None:
        """Take other reasons."""
        self._why.put(paragraphs)
        self.lay_out()

    def turn_why(self) -> None:
        """Open the reasons, or fold them away."""
        self.why_wanted = not self.why_open
        self.scroll_home(animate=False)
        self.lay_out()

    def page(self, key: str) -> None:
        """Leaf through it."""
        (self.scroll_page_up if key == "pageup" else self.scroll_page_down)(animate=False)

    def lay_out(self) -> None:
        """Show what there is room for. While a motor is moved, and on the smallest screens, the work has it all."""
        screen, opened = self.screen, self.why_open
        drawn = self.picture is not None and not screen.has_class("-jogging")
        drawn = drawn and (screen.has_class("-wide") or not (opened or self.where_wide_only))
        drawn = drawn and not (screen.has_class("-tiny") and screen.has_class("-short"))
        self._why.display = opened
        self._drawn.display = drawn
        self.display = drawn or opened
        self.call_after_refresh(self.draw)

    def draw(self) -> None:
        """Draw into the room there is."""
        if self.is_attached and self.display:
            room = self.scrollable_content_region.size
            picture = "" if self.picture is None else self.picture(room.width, room.height)
            self._drawn.update(picture)
