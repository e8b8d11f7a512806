"""Keys of a person's own choice, checked before they are used: a clash would silently take a key away."""

from __future__ import annotations

import difflib
from collections.abc import Mapping

from coilbench.ui.actions import BY_BINDING, Action

_NAMED = {
    "enter", "escape", "space", "tab", "delete", "backspace", "up", "down", "left", "right", "home", "end",
    "pageup", "pagedown", "insert", *(f"f{number}" for number in range(1, 25)),
}  # fmt: skip
_NEVER = {"ctrl+i", "ctrl+j", "ctrl+m", "ctrl+h"}  # a terminal sends them as Tab, Enter, Backspace


def meet(one: Action, other: Action) -> bool:
    """Whether two actions' keys can be live at the same moment."""
    if one.where == other.where or "app" in (one.where, other.where):
        return True
    if "bin" in (one.where, other.where):
        return False
    return "sheet" in (one.where, other.where)


def usable(key: str) -> bool:
    """Whether a terminal can send this key, as Textual names it."""
    if key in _NEVER:
        return False
    last = key.rsplit("+", 1)[-1]
    return last in _NAMED or (len(last) == 1 and last.isprintable()) or last.replace("_", "").isalpha()


def checked_keymap(wanted: Mapping[str, str]) -> tuple[dict[str, str], list[str]]:
    """Keep the wanted keys that can work; return them and one line for each that can't.

    ``wanted`` maps the name of an action, or of one answer of a row, to key names separated by commas.
    """
    problems: list[str] = []
    keymap: dict[str, str] = {}
    for action_id, keys in wanted.items():
        names = [name.strip() for name in str(keys).split(",") if name.strip()]
        if action_id not in BY_BINDING:
            near = difflib.get_close_matches(action_id, BY_BINDING, n=1)
            problems.append(f"no action {action_id}" + (f"; did you mean {near[0]}?" if near else ""))
        elif not names or not all(usable(name) for name in names):
            problems.append(f"{action_id}: {keys!r} is no key a terminal sends")
        else:
            keymap[action_id] = ",".join(names)
    usual = {name: set(action.bound[name][0].split(",")) for name, action in BY_BINDING.items()}
    settled = {name: set(keymap[name].split(",")) if name in keymap else keys for name, keys in usual.items()}
    for name in list(keymap):
        action = BY_BINDING[name]
        for other_name, other in BY_BINDING.items():
            if other_name == name or not meet(action, other):
                continue
            if shared := settled[name] & settled[other_name]:
                if action.where != other.where and usual[name] >= shared:
                    continue  # the table itself lets the nearer one win here
                problems.append(f"{name}: {', '.join(sorted(shared))} is taken by {other_name}; kept as it was")
                keymap.pop(name)
                settled[name] = usual[name]
                break
    return keymap, problems
