"""A person's settings: ``config.toml``, every line checked, no line able to stop the bench from opening.

theme = "bench-light"
mouse = false
ascii = true            # drawings in plain characters

[keys]
"windings.undo" = "z"
"bin.add" = ["a", "insert"]
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from coilbench.plain_text import inert, is_plain, shortened
from coilbench.records.checks import shown
from coilbench.records.paths import NoHome, config_path

_T = TypeVar("_T")

_LARGEST_BYTES = 1_000_000
_SETTINGS = ("theme", "mouse", "ascii", "keys")


@dataclass(frozen=True)
class Config:
    """The settings in force.

    ``theme`` is empty for the usual one; ``keys`` maps an action's id to key names joined by commas; ``problems``
    says, one line each, what in the file could not be used.
    """

    keys: Mapping[str, str] = field(default_factory=dict)
    theme: str = ""
    mouse: bool = True
    ascii: bool = False
    problems: tuple[str, ...] = ()


def load_config(path: Path | None = None) -> Config:
    """The settings of the file (``COILBENCH_CONFIG``, else the platform's config folder); the usual ones without it.

    Never raises for what the file holds: what can't be used is left out and named in ``problems``.
    """
    try:
        where = path or config_path()
    except NoHome as problem:
        return Config(problems=(problem.happened,))
    try:
        if where.is_fifo():
            return Config(problems=(f"{where}: a pipe, expected a file of settings",))
        with where.open("rb") as file:
            data = file.read(_LARGEST_BYTES + 1)
    except FileNotFoundError:
        return Config()
    except OSError as problem:
        return Config(problems=(f"{where}: {problem.strerror}",))
    if len(data) > _LARGEST_BYTES:
        return Config(problems=(f"{where}: too long for a settings file",))
    import tomllib  # here, so that the first screen doesn't wait for it where there is no file

    try:
        table = tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        return Config(problems=(f"{where}: not UTF-8 text",))
    except (RecursionError, ValueError) as problem:
        return Config(problems=(shortened(inert(f"{where}: {problem}")),))
    return checked(table)


def checked(table: Mapping[str, Any]) -> Config:
    """Settings from a parsed file."""
    problems = [
        f"setting {shown(name)} is not known{_near(name, _SETTINGS)}" for name in table if name not in _SETTINGS
    ]
    keys = table.get("keys", {})
    if not isinstance(keys, dict):
        problems.append(f"keys: {_brief(keys)}, expected a table [keys]")
        keys = {}
    theme = _setting(table, "theme", "", "text in quotes", problems)
    if not is_plain(theme):
        problems.append(f"theme: {shown(theme)}, expected printable text")
        theme = ""
    return Config(
        keys=_flat_keys(keys, "", problems),
        theme=theme,
        mouse=_setting(table, "mouse", True, "true or false", problems),
        ascii=_setting(table, "ascii", False, "true or false", problems),
        problems=tuple(shortened(inert(each)) for each in problems),
    )


def _setting(table: Mapping[str, Any], name: str, usual: _T, expected: str, problems: list[str]) -> _T:
    value = table.get(name, usual)
    if type(value) is type(usual):
        return value
    problems.append(f"{name}: {_brief(value)}, expected {expected}")
    return usual


def _flat_keys(table: Mapping[str, Any], before: str, problems: list[str]) -> dict[str, str]:
    """``windings.undo = "z"`` is two tables to TOML, one action to us."""
    keys: dict[str, str] = {}
    for name, value in table.items():
        action = before + name
        told = action if is_plain(action) else repr(action)
        if isinstance(value, dict):
            keys |= _flat_keys(value, f"{action}.", problems)
        elif isinstance(value, str):
            keys[action] = value
        elif isinstance(value, list) and value and all(isinstance(each, str) for each in value):
            keys[action] = ",".join(value)
        else:
            problems.append(f'keys.{told}: {_brief(value)}, expected a key such as "u" or a list of keys')
    return keys


def _near(name: str, names: tuple[str, ...]) -> str:
    near = difflib.get_close_matches(name, names, 1)
    return f", did you mean {near[0]}?" if near else f", expected one of {', '.join(names)}"


def _brief(value: Any) -> str:
    return shown(value) if isinstance(value, str) else shown(str(value))[1:-1]
