"""The top line: where one is, and the keys that are good everywhere, to click as well."""

from __future__ import annotations

import textwrap

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.timer import Timer
from textual.widgets import Static

from coilbench.ui.actions import BY_ID


class KeyLabel(Static):
    """A key and what it does; a click does the same. Lighter than a button, for the first screen's sake."""

    def __init__(self, action_id: str, label: str = "", *, classes: str = "") -> None:
        self.action = BY_ID[action_id]
        self.label = label or self.action.label
        super().__init__("", markup=False, id=f"key-{self.action.method}", classes=classes)
        self.tooltip = self.action.tooltip

    def on_mount(self) -> None:
        key = self.action.key_shown or self.action.keys.split(",")[0]
        own = self.app.config.keys.get(self.action.id) if hasattr(self.app, "config") and self.app.config else None
        self.update(f"{own or key} {self.label}")

    async def on_click(self) -> None:
        namespace = self.app if self.action.where == "app" else self.screen
        await self.app.run_action(self.action.method, namespace)


TOLD_SECONDS = 5.0


class TitleBar(Horizontal):
    """A title and the keys for help, for everything and for leaving; a word now and then in the title's place."""

    _title = "coilbench"
    _told: Timer | None = None

    def compose(self) -> ComposeResult:
        yield Static(self._title, id="title", markup=False)
        for action_id in ("app.help", "app.palette", "app.leave"):
            yield KeyLabel(action_id)

    def say(self, title: str) -> None:
        """Change the title; one that is another ends what was told of the place before."""
        changed, self._title = title != self._title, title
        if self._told is not None and changed:
            self._told.stop()
            self._told = None
            self.set_class(False, "-told")
        if self._told is None:
            self.set_class(False, "-long")
            self.query_one("#title", Static).update(title)

    def tell(self, text: str) -> None:
        """Say something in the title's place for some seconds: nothing that counts is covered. What is too long for
        it takes the keys' place, too, and ends at a word."""
        if self._told is not None:
            self._told.stop()
        self._told = self.set_timer(TOLD_SECONDS, self._end_telling)
        title = self.query_one("#title", Static)
        keys = sum(len(str(key.content)) + 2 for key in self.query(KeyLabel))
        self.set_class(len(text) > self.content_size.width - keys, "-long")
        title.update(textwrap.shorten(text, max(self.content_size.width, 20), placeholder=" …"))
        self.set_class(True, "-told")

    def _end_telling(self) -> None:
        self._told = None
        self.set_class(False, "-told")
        self.say(self._title)
