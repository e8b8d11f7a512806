"""A text file, or standard input, as a command takes it in."""

from __future__ import annotations

import sys
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.plain_text import inert
from coilbench.records.files import decoded, text_of


def file_name(file: str) -> str:
    """A file's name for a message: of an endless one the end, which tells most."""
    if file == "-":
        return "standard input"
    safe = inert(file)
    return safe if len(safe) <= 120 else "…" + safe[-119:]


def text_in(file: str, most_bytes: int, expected: str) -> str:
    """All of it; ``-`` is standard input. Raises InputProblem for what isn't text of at most ``most_bytes``."""
    shown = file_name(file)
    if file == "-":
        try:
            raw = sys.stdin.buffer.read(most_bytes + 1)
        except (OSError, ValueError) as problem:
            raise InputProblem(f"{shown}: {problem}, {expected}") from None
        return decoded(raw, shown, most_bytes, expected)
    return text_of(Path(file), most_bytes, expected, shown)
