"""The top line: where one is, and the two keys that are good everywhere, to click as well."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.widgets import Static

from coilbench.ui.actions import BY_ID


class BarKey(Static):
    """A key of the top line; a click does the same."""

    def __init__(self, action_id: str) -> None:
        super().__init__("", markup=False, id=f"bar-{BY_ID[action_id].method}")
        self.action = BY_ID[action_id]

    def on_mount(self) -> None:
        key = next(
            (
                self.app.get_key_display(active.binding)
                for active in self.screen.active_bindings.values()
                if active.binding.id == self.action.id
            ),
            self.action.keys,
        )
        self.update(f"{key} {self.action.label}")
        self.tooltip = self.action.tooltip

    async def on_click(self) -> None:
        await self.app.run_action(f"app.{self.action.method}")


class TitleBar(Horizontal):
    """A title and the keys for everything and for leaving."""

    def compose(self) -> ComposeResult:
        yield Static("coilbench", id="title", markup=False)
        for action_id in ("app.help", "app.palette", "app.leave"):
            yield BarKey(action_id)

    def say(self, title: str) -> None:
        """Change the title."""
        self.query_one("#title", Static).update(title)
