"""The bin's menu: all that can be done with it, each with its key, and why not where it can't be now."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Button, OptionList, Static
from textual.widgets.option_list import Option

from coilbench.ui.steady import Dialog

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.ui.actions import Action


class BinMenu(Dialog[str | None]):
    """Rows of acts; Enter, a click or the act's own key takes one. The answer is the act's method."""

    BINDINGS: ClassVar[list[BindingType]] = [("escape", "dismiss(None)", "never mind")]

    def __init__(self, title: str, acts: Sequence[tuple[Action, str, str]]) -> None:
        """``acts``: each with its keys and why it can't be done now, empty where it can."""
        super().__init__()
        self._title, self._acts = title, acts

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box"):
            yield Static(self._title, classes="dialog-title", markup=False)
            label = max(len(act.label) for act, _, _ in self._acts)
            shown = [act.key_shown or keys.split(",")[0] for act, keys, _ in self._acts]
            room = max(map(len, shown))
            options = [
                Option(
                    Content(f"{key:<{room}} {act.label:<{label}}  {f'– {reason}' if reason else act.tooltip}"),
                    disabled=bool(reason),
                )
                for key, (act, _, reason) in zip(shown, self._acts, strict=True)
            ]
            yield OptionList(*options, id="pick", compact=True)
            with Horizontal(classes="dialog-buttons"):
                yield Button("never mind (esc)", id="no", compact=True)

    def on_mount(self) -> None:
        pick = self.query_one("#pick", OptionList)
        pick.highlighted = next((at for at, (_, _, reason) in enumerate(self._acts) if not reason), None)
        pick.focus()

    def on_key(self, event: events.Key) -> None:
        """An act's own key."""
        for act, keys, reason in self._acts:
            if event.key in keys.split(",") and not reason:
                event.stop()
                self.dismiss(act.method)

    @on(OptionList.OptionSelected)
    def picked(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(self._acts[event.option_index][0].method)

    @on(Button.Pressed, "#no")
    def never_mind(self) -> None:
        self.dismiss(None)
