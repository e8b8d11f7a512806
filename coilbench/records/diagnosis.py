"""Versions, paths, terminal, settings and ports as plain text: what somebody who is asked for help needs to see."""

from __future__ import annotations

import os
import platform
import shutil
import sys
from collections.abc import Callable, Iterator
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from coilbench import __version__
from coilbench.plain_text import inert
from coilbench.records import paths
from coilbench.records.config import load_config

_PACKAGES = ("textual", "pyserial", "numpy", "pint", "platformdirs", "textual-plot")
_TERMINAL = ("TERM", "COLORTERM", "NO_COLOR", "TMUX", "SSH_TTY", "LANG", "LC_ALL")


def diagnosis(bin_path: Path | None = None) -> str:
    """The whole text, one fact a line. It holds no entry of the bin, and the home folder is written ``~``."""
    lines = [f"{name:<12} {_tidy(value)}" for name, value in _facts(bin_path)]
    return "\n".join(lines)


def _facts(bin_path: Path | None) -> Iterator[tuple[str, str]]:
    yield "coilbench", __version__
    yield "python", f"{platform.python_version()} ({platform.python_implementation()})"
    yield "system", platform.platform()
    for package in _PACKAGES:
        try:
            yield package, version(package)
        except PackageNotFoundError:
            yield package, "not installed"
    yield "bin", _file(lambda: bin_path or paths.bin_path())
    yield "config", _file(paths.config_path)
    yield "last board", _file(paths.board_log_path)
    size = shutil.get_terminal_size()
    yield "terminal", f"{size.columns}x{size.lines}, {'a terminal' if sys.__stdout__ and _is_terminal() else 'piped'}"
    yield "encoding", getattr(sys.stdout, "encoding", None) or "not known"
    for name in _TERMINAL:
        if name in os.environ:
            yield name, os.environ[name] or "set, empty"
    config = load_config()
    yield "theme", config.theme or "the usual"
    yield "mouse", "on" if config.mouse else "off"
    yield "drawings", "plain characters" if config.ascii else "box characters"
    for action, keys in config.keys.items():
        yield "key", f"{action} = {keys}"
    for problem in config.problems:
        yield "config fault", problem
    yield from _ports()


def _is_terminal() -> bool:
    try:
        return bool(sys.__stdout__ and sys.__stdout__.isatty())
    except ValueError:
        return False


def _file(where: Callable[[], Path]) -> str:
    try:
        path = where()
    except paths.NoHome as problem:
        return problem.happened
    try:
        return f"{path} ({path.stat().st_size} bytes)"
    except FileNotFoundError:
        return f"{path} (not there yet)"
    except OSError as problem:
        return f"{path} ({problem.strerror})"


def _ports() -> Iterator[tuple[str, str]]:
    try:
        from serial.tools.list_ports import comports

        found = sorted(comports())
    except Exception as problem:  # a driver's failure must not take the rest of the text with it
        yield "port", f"can't be listed: {problem}"
        return
    for port in found:
        yield "port", f"{port.device}: {port.description}"
    if not found:
        yield "port", "none found"


def _tidy(value: str) -> str:
    home = os.path.expanduser("~")
    if len(home) > 1:
        value = value.replace(home, "~")
    return inert(value)
