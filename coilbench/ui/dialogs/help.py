"""F1: what the field under the cursor wants, and every key that works now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilbench.ui.actions import BY_BINDING, BY_ID
from coilbench.ui.dialogs.basic import TextDialog
from coilbench.ui.widgets.stage_area import StageArea

if TYPE_CHECKING:
    from textual.screen import Screen


class HelpDialog(TextDialog):
    """The help of this moment."""

    def __init__(self, parts: tuple[str, str]) -> None:
        super().__init__(*parts)


def live_keys(screen: Screen[object]) -> list[tuple[str, str, str]]:
    """Rows of (keys, label, what it does) of the actions that work now, a dialog's own first, then the nearest."""
    keys: dict[str, list[str]] = {}
    of_dialog: dict[str, list[str]] = {}
    for active in screen.active_bindings.values():
        shown = screen.app.get_key_display(active.binding)
        if active.binding.id in BY_BINDING and active.enabled:
            keys.setdefault(BY_BINDING[active.binding.id].id, []).append(shown)
        elif screen.is_modal and active.node is screen and active.binding.description:
            of_dialog.setdefault(active.binding.description, []).append(shown)
    nearest = sorted(keys, key=lambda action_id: _FARTHEST_LAST.index(_place(BY_ID[action_id].where)))
    rows = [(" ".join(each), label, "") for label, each in of_dialog.items()]
    rows += [(" ".join(dict.fromkeys(keys[each])), BY_ID[each].label, BY_ID[each].tooltip) for each in nearest]
    return rows


_FARTHEST_LAST = ("stage", "bin", "summary", "own", "machine", "axis", "torque", "sheet", "app")


def _place(where: str) -> str:
    return where if where in _FARTHEST_LAST else "stage"


def help_for(screen: Screen[object]) -> tuple[str, str]:
    """Title and text of the help for the focused field of a screen."""
    title, text = "help", "Go from field to field with Tab; everything that can be done now is below."
    if screen.is_modal:
        text = "A question in front of the rest: Tab goes from button to button, Enter presses one."
    node = screen.focused
    while node is not None and node is not screen:
        found = getattr(node, "help_text", None) or getattr(node, "HELP", None)
        if found:
            title = getattr(node, "help_title", None) or getattr(node, "HELP_TITLE", None) or title
            text = str(found)
            break
        node = node.parent  # type: ignore[assignment]
    said = next((pane.covered() for pane in screen.query(StageArea)), "")
    if said:
        text = f"{said}\n\n{text}"
    words = next((pane.words for pane in screen.query(StageArea)), "")
    if words:
        text = f"{text}\n\n{words}"
    rows = [row for row in live_keys(screen) if not (said and row[1] == "STOP")]
    width = max((len(row[0]) for row in rows), default=4)
    label_width = max((len(row[1]) for row in rows), default=4)
    table = "\n".join(f"{keys:<{width}}  {label:<{label_width}}  {tip}".rstrip() for keys, label, tip in rows)
    return title, f"{text}\n\nkeys that work now\n{table}"
