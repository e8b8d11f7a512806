"""Asking and answering on standard input and output: plain lines for people, JSON lines for programs."""

from __future__ import annotations

import sys
from typing import Any

from coilbench.cli.output import json_line
from coilbench.plain_text import inert

_LONGEST_LINE = 4096  # characters of one answer


def say(text: str = "", *, ascii_only: bool = False) -> None:
    """One line for the person, typed text inert in it, out at once."""
    shown = inert(text)
    if ascii_only:
        shown = shown.replace("±", "+/-").replace("Ω", "ohm").encode("ascii", "backslashreplace").decode("ascii")
    print(shown, flush=True)


def read_line(*, echo: bool = False) -> str | None:
    """One line from standard input without its end; None at its end. Undecodable bytes stay unreadable text."""
    try:
        line = sys.stdin.readline(_LONGEST_LINE)
    except UnicodeDecodeError:
        return "\ufffd"
    if not line:
        return None
    if not sys.stdin.isatty() and echo:
        say(line.strip())  # piped answers are not on the screen otherwise
    cut = line
    while cut and not cut.endswith("\n") and len(cut) == _LONGEST_LINE:
        cut = sys.stdin.readline(_LONGEST_LINE)
    return line.strip()


def put_json(value: dict[str, Any]) -> None:
    """One JSON object on a line of its own, out at once."""
    print(json_line(value), flush=True)
