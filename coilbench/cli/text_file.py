"""A text file, or standard input, as a command takes it in."""

from __future__ import annotations

import sys
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.plain_text import inert


def file_name(file: str) -> str:
    """A file's name for a message: of an endless one the end, which tells most."""
    if file == "-":
        return "standard input"
    safe = inert(file)
    return safe if len(safe) <= 120 else "…" + safe[-119:]


def text_in(file: str, most_bytes: int, expected: str) -> str:
    """All of it; ``-`` is standard input. Raises InputProblem for what isn't text of at most ``most_bytes``."""
    shown = file_name(file)
    try:
        if file == "-":
            raw = sys.stdin.buffer.read(most_bytes + 1)
        else:
            path = Path(file)
            if path.is_dir():
                raise InputProblem(f"{shown} is a directory, {expected}")
            with path.open("rb") as stream:
                raw = stream.read(most_bytes + 1)
    except FileNotFoundError:
        raise InputProblem(f"{shown}: no such file, {expected}") from None
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or "can't be opened"
        raise InputProblem(f"{shown}: {reason}, {expected}") from None
    if len(raw) > most_bytes:
        size = f"{most_bytes // 1024} kB" if most_bytes < 1_000_000 else f"{most_bytes // 1_000_000} MB"
        raise InputProblem(f"{shown} is larger than {size}, {expected}")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = raw[: problem.start].count(b"\n") + 1
        odd = f"byte 0x{raw[problem.start]:02x} is not UTF-8"
        raise InputProblem(f"{shown}, line {line}: {odd}, {expected} in UTF-8") from None
