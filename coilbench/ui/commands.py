"""The command palette: the actions of the one table that make sense on the screen beneath."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any

from textual import events, on
from textual.command import CommandList, CommandPalette, DiscoveryHit, Hit, Hits, Provider
from textual.content import Content

from coilbench.ui.actions import BY_BINDING, Action
from coilbench.ui.steady import Steady
from coilbench.ui.theme import OWN, TERMINALS


class Palette(CommandPalette, Steady[None]):
    """Textual's palette, for a hurried hand: what comes before it stands or after it went is passed over."""

    @on(events.Click)
    def pass_over_late_click(self, event: events.Click) -> None:
        """The second half of a double click beside it."""
        if self.app.screen is not self:
            event.prevent_default()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A key for the list makes sense only once there is one."""
        if action in ("command_list", "cursor_down"):
            return any(each.option_count for each in self.query(CommandList))
        return super().check_action(action, parameters)


class Colours(Provider):
    """Offers the bench's own colours, and the terminal's."""

    def _offered(self) -> Iterator[tuple[str, partial[None]]]:
        for names, whose in ((OWN, "the bench's own"), (TERMINALS, "the terminal's")):
            yield from ((f"{name}: {whose}", partial(setattr, self.app, "theme", name)) for name in names)

    async def discover(self) -> Hits:
        for name, choose in self._offered():
            yield DiscoveryHit(name, choose)

    async def search(self, query: str) -> Hits:
        matcher = self.matcher(query)
        for name, choose in self._offered():
            if (score := matcher.match(name)) > 0:
                yield Hit(score, matcher.highlight(name), choose)


class BenchCommands(Provider):
    """Offers what the keys offer, by name."""

    def _live(self) -> Iterator[tuple[Action, partial[Any]]]:
        seen: set[str] = set()
        for active in self.screen.active_bindings.values():
            action = BY_BINDING.get(active.binding.id or "")
            if action is None or not active.enabled or action.id in seen or action.id == "app.palette":
                continue
            seen.add(action.id)
            # Of a row of answers none is meant yet: the pane leads to them.
            does = f"{action.method}('')" if action.each_key else active.binding.action
            yield action, partial(self.app.run_action, does, active.node)

    async def discover(self) -> Hits:
        for action, run in self._live():
            yield DiscoveryHit(f"{action.group}: {action.label}", run, help=action.tooltip)

    async def search(self, query: str) -> Hits:
        matcher = self.matcher(query)
        for action, run in self._live():
            name = f"{action.group}: {action.label}"
            score = max(matcher.match(name), 0.8 * matcher.match(action.tooltip))
            if score > 0:
                shown = matcher.highlight(name) if matcher.match(name) else Content(name)
                yield Hit(score, shown, run, text=name, help=action.tooltip)
